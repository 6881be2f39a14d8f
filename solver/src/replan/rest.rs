//! The rest of the week as an instance of its own, for the planner, and its answer as a plan of the whole week.
//!
//! The planner is asked about what is left: what shipments still lack, from a moment when nobody is in the middle of a
//! task. The question may be a little off (boxes are left out, and a release is dropped once it lies before the moment),
//! because its answer is only a list of runs: it is lived from the true state of the room like any plan, and that keeps the rules.

use super::Moment;
use crate::follow::NotFollowed;
use platewright_model::instance::{After, Kit, KitItem, PrinterId, Running, Shipment, ShipmentId, ShipmentLine, Stock};
use platewright_model::plan::{Allocation, Plan, Source, Work};
use platewright_model::{Count, Instance, Instant, kits};
use std::collections::{BTreeMap, HashMap, HashSet};

/// The question: an instance that begins when nobody is in the middle of a task; none where nothing is left to do.
pub fn question(moment: &Moment<'_>, first: &Plan) -> Option<Instance> {
    let at = moment.at;
    let under_way = first.tasks.iter().filter(|task| task.from < at && at < task.to).map(|task| task.to);
    let start = under_way.max().unwrap_or(at);
    let mut rest = moment.room.clone();
    let gone = (start - rest.farm.start).0;
    rest.farm.start = start;
    rest.farm.horizon_days = u32::try_from((i64::from(rest.farm.horizon_days) * 1440 - gone) / 1440).ok()?.max(1);
    rest.log = Vec::new();
    let done: HashSet<&str> = first.runs.iter().filter(|r| r.harvest_to <= start).map(|r| r.run.as_str()).collect();

    let mut had: HashMap<(&str, &str), u64> = HashMap::new();
    let mut used: HashMap<(&str, &str), u64> = HashMap::new();
    for row in &first.allocation {
        if matches!(&row.source, Source::Run(run) if !done.contains(run.as_str())) {
            continue;
        }
        *had.entry((&row.shipment, &row.part)).or_default() += row.count.0;
        *used.entry((row.source.name(), &row.part)).or_default() += row.count.0;
    }
    rest.stock = free_copies(moment, first, &done, &used);
    rest.running = first
        .runs
        .iter()
        .filter(|run| !done.contains(run.run.as_str()) && run.load.as_ref().is_none_or(|load| load.from < start))
        .filter_map(|run| {
            let printer = rest.printers.iter().position(|p| p.name == run.printer)?;
            let plate = rest.plates.iter().position(|p| p.name == run.plate)?;
            let plate = platewright_model::instance::PlateId(plate as u32);
            Some(Running { printer: PrinterId(printer as u32), plate, ready: run.ready })
        })
        .collect();
    let mut last: BTreeMap<&str, (Instant, &str)> = BTreeMap::new();
    for run in first.runs.iter().filter(|run| done.contains(run.run.as_str())) {
        let entry = last.entry(&run.printer).or_insert((run.harvest_to, &run.plate));
        *entry = (*entry).max((run.harvest_to, &run.plate));
    }
    for printer in &mut rest.printers {
        if let Some((_, plate)) = last.get(printer.name.as_str()) {
            printer.material = rest.plates.iter().find(|p| p.name == *plate).map(|p| p.material);
        }
    }
    lacking(&mut rest, first, &had, start).then_some(rest)
}

/// Copies that are there and that nobody has.
fn free_copies(
    moment: &Moment<'_>,
    first: &Plan,
    done: &HashSet<&str>,
    used: &HashMap<(&str, &str), u64>,
) -> Vec<Stock> {
    let room = moment.room;
    let mut free: BTreeMap<platewright_model::instance::PartId, u64> = BTreeMap::new();
    let left = |source: &str, part: &str, has: u64| has.saturating_sub(used.get(&(source, part)).copied().unwrap_or(0));
    for stock in &room.stock {
        *free.entry(stock.part).or_default() +=
            left(Source::STOCK, &room.parts[stock.part.index()].name, stock.quantity.0);
    }
    for (at, run) in first.runs.iter().enumerate().filter(|(_, run)| done.contains(run.run.as_str())) {
        let plate = room.plates.iter().find(|p| p.name == run.plate);
        let group = room.printers.iter().find(|p| p.name == run.printer).map(|p| p.group);
        let Some(on) = plate.zip(group).and_then(|(plate, group)| plate.on(group)) else { continue };
        let good = moment.fates.get(at).and_then(|fate| fate.ended.as_ref()).map(|ended| &ended.good);
        for (part, copies) in &on.copies {
            let has = match good {
                Some(None) => 0,
                Some(Some(good)) => good.iter().find(|g| g.0 == *part).map_or(0, |g| g.1.0),
                None => copies.0,
            };
            *free.entry(*part).or_default() += left(&run.run, &room.parts[part.index()].name, has);
        }
    }
    free.into_iter().filter(|f| f.1 > 0).map(|(part, n)| Stock { part, quantity: Count(n) }).collect()
}

/// Makes every shipment one kit of what it lacks. False where nothing is lacking.
fn lacking(rest: &mut Instance, first: &Plan, had: &HashMap<(&str, &str), u64>, start: Instant) -> bool {
    let mut any = false;
    let ids = (0..).map(ShipmentId).take(rest.shipments.len());
    let needs: Vec<_> = ids.map(|id| kits::needs(rest, id)).collect();
    let mut lines = Vec::new();
    for (shipment, needs) in rest.shipments.iter().zip(needs) {
        let left = needs.into_iter().filter_map(|(part, need)| {
            let name = rest.parts[part.index()].name.as_str();
            let left = need.0.saturating_sub(had.get(&(shipment.name.as_str(), name)).copied().unwrap_or(0));
            (left > 0).then_some((KitItem::Part(part), Count(left)))
        });
        let items: Vec<_> = left.collect();
        any |= !items.is_empty();
        lines.push(items);
    }
    let mut kept: Vec<Shipment> = Vec::new();
    let place: Vec<Option<u32>> = lines
        .iter()
        .scan(0, |next, items: &Vec<_>| {
            let here = (!items.is_empty()).then_some(*next);
            *next += u32::from(here.is_some());
            Some(here)
        })
        .collect();
    for (mut shipment, items) in std::mem::take(&mut rest.shipments).into_iter().zip(lines) {
        if items.is_empty() {
            continue;
        }
        if let Some(after) = shipment.after {
            match place[after.shipment.index()] {
                Some(at) => shipment.after = Some(After { shipment: ShipmentId(at), ..after }),
                // The first lot has all it needs: what is known of when it is ready is a release.
                None => {
                    let opens = first.shipments[after.shipment.index()].ready + after.hold;
                    shipment.release = shipment.release.max(Some(opens));
                    shipment.after = None;
                }
            }
        }
        let kit = platewright_model::instance::KitId(rest.kits.len() as u32);
        rest.kits.push(Kit { name: format!("rest of {}", shipment.name), items });
        shipment.lines = vec![ShipmentLine { kit, quantity: Count(1), per_box: None }];
        shipment.release = shipment.release.filter(|release| *release > start);
        kept.push(shipment);
    }
    rest.shipments = kept;
    any
}

/// The planner's answer, lived from the true state of the room.
///
/// # Errors
/// The answer speaks of things that the instance does not have. `None` where some shipment is never ready.
pub fn answered(
    moment: &Moment<'_>,
    first: &Plan,
    question: &Instance,
    answer: &Plan,
) -> Result<Option<Plan>, NotFollowed> {
    let (whole, fates) = joined(moment, first, question, answer);
    let moment = Moment { room: moment.room, digest: moment.digest.clone(), at: moment.at, fates: &fates };
    super::live_on(&moment, &whole)
}

/// What is past or on its printer in the first candidate, and the answer's runs for the rest.
fn joined(
    moment: &Moment<'_>,
    first: &Plan,
    question: &Instance,
    answer: &Plan,
) -> (Plan, Vec<platewright_model::past::Fate>) {
    let started = |run: &platewright_model::plan::Run| run.load.as_ref().is_none_or(|load| load.from < moment.at);
    let mut whole = first.clone();
    let mut fates = Vec::new();
    whole.runs.clear();
    let mut names: HashMap<&str, String> = HashMap::new();
    let mut free: Vec<&platewright_model::plan::Run> = Vec::new();
    for (at, run) in first.runs.iter().enumerate() {
        let fate = moment.fates.get(at).cloned().unwrap_or_default();
        if !started(run) {
            free.push(run);
            continue;
        }
        let mut run = run.clone();
        let here = answer.runs.iter().find(|r| r.load.is_none() && r.printer == run.printer);
        if let Some(here) = here.filter(|_| fate.ended.is_none() && run.harvest_from >= moment.at) {
            run.harvest_from = here.harvest_from;
            run.harvest_to = here.harvest_to;
            run.harvester.clone_from(&here.harvester);
            names.insert(&here.run, run.run.clone());
        }
        whole.runs.push(run);
        fates.push(fate);
    }
    // A run that stays what it was keeps its name: first those that also stay where they were, then any of the plate.
    let mut named: Vec<Option<String>> = vec![None; answer.runs.len()];
    for place in [true, false] {
        for (at, run) in answer.runs.iter().enumerate().filter(|(_, run)| run.load.is_some()) {
            let fits = |old: &&platewright_model::plan::Run| {
                old.plate == run.plate && (!place || (old.printer == run.printer && old.load == run.load))
            };
            if named[at].is_none()
                && let Some(found) = free.iter().position(fits)
            {
                named[at] = Some(free.remove(found).run.clone());
            }
        }
    }
    let number = |name: &str| name.strip_prefix('R').and_then(|digits| digits.parse::<u64>().ok());
    let mut next = first.runs.iter().filter_map(|run| number(&run.run)).max().unwrap_or(0);
    for (run, name) in answer.runs.iter().zip(named).filter(|(run, _)| run.load.is_some()) {
        let name = name.unwrap_or_else(|| {
            next += 1;
            format!("R{next:04}")
        });
        names.insert(&run.run, name.clone());
        whole.runs.push(platewright_model::plan::Run { run: name, ..run.clone() });
        fates.push(platewright_model::past::Fate::default());
    }
    whole.allocation.retain(|row| match &row.source {
        Source::Stock => true,
        Source::Run(name) => {
            first.runs.iter().any(|r| r.run == *name && started(r) && r.harvest_to <= question.farm.start)
        }
    });
    // Spares that are there are stock to the planner as well.
    whole.allocation.iter_mut().for_each(|row| row.spare = Count(0));
    whole.allocation.retain(|row| row.count.0 > 0);
    let given = answer.allocation.iter().map(|row| Allocation {
        source: match &row.source {
            Source::Stock => Source::Stock,
            Source::Run(run) => Source::Run(names.get(run.as_str()).cloned().unwrap_or_else(|| run.clone())),
        },
        ..row.clone()
    });
    // Copies that were free are stock to the planner; who gets which of them is settled as the rest is lived.
    whole.allocation.extend(given.filter(|row| row.source != Source::Stock));
    // Boxes to come are packed when their parts are there: the old plan's minutes would hold them back.
    whole.tasks.retain(|task| matches!(task.work, Work::Pack { .. }) && task.from < moment.at);
    (whole, fates)
}
