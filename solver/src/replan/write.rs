//! A life that went on from the past, as a plan with names.

use super::Moment;
use crate::follow::script::{ANYBODY, Script};
use crate::follow::supply::From;
use crate::follow::trace::{Done, Lived};
use crate::problem::Min;
use crate::spares;
use platewright_model::plan::{Allocation, Claims, Load, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use platewright_model::{Count, Instant, Minutes, Plan, WeightedMinutes, roster};
use std::collections::BTreeMap;

pub(super) fn plan(moment: &Moment<'_>, script: &Script<'_>, old: &Plan, lived: &Lived) -> Plan {
    let (instance, problem) = (moment.room, script.problem);
    let instant = |minute: Min| problem.instant(minute);
    let name_of = |who: usize, before: &str| match script.people.get(who) {
        Some(person) => roster::operator_name(instance, person.crew, person.number),
        None => before.to_owned(),
    };
    let names = names(old, lived);
    let mut order: Vec<usize> = (0..lived.stays.len()).collect();
    let load_from = |stay: usize| lived.stays[stay].load.map_or(Min::MIN, |load| load.from);
    order.sort_by_key(|&stay| (load_from(stay), lived.stays[stay].printer, stay));

    let (mut runs, mut tasks) = (Vec::new(), Vec::new());
    for &at in &order {
        let stay = &lived.stays[at];
        let before = stay.job.and_then(|job| old.runs.get(job));
        let printer = instance.printers[stay.printer].name.clone();
        let plate = instance.plates[script.modes[stay.mode].plate.index()].name.clone();
        let harvest = stay.harvest.unwrap_or(Done { from: stay.ready, to: stay.ready, who: ANYBODY });
        let failed = stay.job.is_some_and(|job| moment.fates[job].ended.as_ref().is_some_and(|e| e.good.is_none()));
        let was = before.and_then(|run| run.load.as_ref()).map_or("", |load| load.loader.as_str());
        let loader = stay.load.map(|load| name_of(load.who, was));
        let harvester = name_of(harvest.who, before.map_or("", |run| run.harvester.as_str()));
        let run = names[at].clone();
        let mut task = |done: Done, operator: &str, work: Work| {
            tasks.push(Task { operator: operator.to_owned(), work, from: instant(done.from), to: instant(done.to) });
        };
        if let (Some(load), Some(loader)) = (stay.load, &loader) {
            task(load, loader, Work::Load { run: run.clone(), printer: printer.clone() });
        }
        if !failed {
            task(harvest, &harvester, Work::Harvest { run: run.clone(), printer: printer.clone() });
        }
        runs.push(Run {
            run,
            printer,
            plate,
            load: stay.load.zip(loader).map(|(load, loader)| Load {
                from: instant(load.from),
                print_from: instant(load.to),
                loader,
            }),
            ready: instant(stay.ready),
            harvest_from: instant(harvest.from),
            harvest_to: instant(harvest.to),
            harvester,
        });
    }
    for packed in &lived.packed {
        let packing = &script.boxes[packed.packing];
        let shipment = &instance.shipments[packing.order];
        let kit = instance.kits[shipment.lines[packing.line].kit.index()].name.clone();
        tasks.push(Task {
            operator: name_of(packed.done.who, ""),
            work: Work::Pack { shipment: shipment.name.clone(), kit },
            from: instant(packed.done.from),
            to: instant(packed.done.to),
        });
    }
    tasks.sort_by(|a, b| (a.from, &a.operator, a.to).cmp(&(b.from, &b.operator, b.to)));

    let allocation = allocation(script, old, lived, &names, &order);
    let shipments: Vec<ShipmentPlan> = lived
        .ready
        .iter()
        .zip(&instance.shipments)
        .map(|(ready, shipment)| {
            let ready = instant(ready.unwrap_or(problem.horizon));
            let late = shipment.due.map_or(Minutes::ZERO, |due| Minutes((ready - due).0.max(0)));
            ShipmentPlan { shipment: shipment.name.clone(), ready, due: shipment.due, late }
        })
        .collect();
    let claims = claims(moment, script, old, lived, (&runs, &tasks, &shipments, &allocation));
    Plan {
        instance_digest: moment.digest.clone(),
        objective: old.objective,
        since: Some(moment.at),
        labelled: old.labelled.clone(),
        runs,
        tasks,
        allocation,
        shipments,
        claims,
    }
}

/// The plan's runs keep their names; new ones get the numbers after the highest there is.
fn names(old: &Plan, lived: &Lived) -> Vec<String> {
    let number = |run: &Run| run.run.strip_prefix('R').and_then(|digits| digits.parse::<u64>().ok());
    let mut next = old.runs.iter().filter_map(number).max().unwrap_or(old.runs.len() as u64);
    let width = old.runs.iter().map(|run| run.run.len().saturating_sub(1)).max().unwrap_or(4).clamp(4, 9);
    let mut names = vec![String::new(); lived.stays.len()];
    let mut new: Vec<usize> = Vec::new();
    for (at, stay) in lived.stays.iter().enumerate() {
        match stay.job {
            Some(job) => names[at].clone_from(&old.runs[job].run),
            None => new.push(at),
        }
    }
    new.sort_by_key(|&at| (lived.stays[at].load.map(|load| load.from), lived.stays[at].printer));
    for at in new {
        next += 1;
        names[at] = format!("R{next:0width$}");
    }
    names
}

/// Who gets what. Copies of a slot that come as the old plan has them stay kit copies and spares as they were; else they
/// are told apart anew ([`spares::shares`]).
fn allocation(script: &Script<'_>, old: &Plan, lived: &Lived, names: &[String], order: &[usize]) -> Vec<Allocation> {
    let instance = script.problem.instance;
    let mut place_of_job = BTreeMap::new();
    let mut again = Vec::new();
    let mut place = vec![0; lived.stays.len()];
    for (rank, &at) in order.iter().enumerate() {
        place[at] = rank + 1;
    }
    for (at, stay) in lived.stays.iter().enumerate() {
        match stay.job {
            Some(job) => drop(place_of_job.insert(job, at)),
            None => again.push(at),
        }
    }
    // By slot, what it gets of each source, by the source's place in the plan.
    let mut counts: BTreeMap<usize, BTreeMap<usize, i64>> = BTreeMap::new();
    for gift in &lived.gifts {
        let stay = match gift.from {
            From::Stock => None,
            From::Job(job) => place_of_job.get(&job).copied(),
            From::Again(number) => again.get(number).copied(),
        };
        let of_slot = counts.entry(gift.slot).or_default();
        *of_slot.entry(stay.map_or(0, |at| place[at])).or_default() += gift.count;
    }
    let before = Before::of(old);
    let mut rows: Vec<(usize, usize, usize, Allocation)> = Vec::new();
    for (slot, of_slot) in counts {
        let slot = script.slots[slot];
        let (part, shipment) = (&instance.parts[slot.part].name, &instance.shipments[slot.order].name);
        let need = script.problem.orders[slot.order].needs.iter().find(|n| n.0 == slot.part).map_or(0, |n| n.1);
        let stay = |rank: usize| rank.checked_sub(1).map(|rank| order[rank]);
        let mut given: Vec<Given> = of_slot
            .into_iter()
            .filter(|of| of.1 > 0)
            .map(|(rank, copies)| Given {
                rank,
                source: stay(rank).map_or(Source::Stock, |at| Source::Run(names[at].clone())),
                usable: stay(rank).and_then(|at| lived.stays[at].harvest).map_or(0, |h| h.to),
                copies,
            })
            .collect();
        given.sort_by_key(|lot| (lot.usable, lot.rank));
        let usable = |given: &Given| (given.rank > 0).then(|| script.problem.instant(given.usable));
        let shares = before.shares(part, shipment, &given, usable).unwrap_or_else(|| {
            let copies: Vec<i64> = given.iter().map(|lot| lot.copies).collect();
            spares::shares(&copies, need)
        });
        for (lot, (count, spare)) in given.into_iter().zip(shares) {
            let row = Allocation {
                source: lot.source,
                part: part.clone(),
                shipment: shipment.clone(),
                count: Count(count.max(0) as u64),
                spare: Count(spare.max(0) as u64),
            };
            rows.push((lot.rank, slot.part, slot.order, row));
        }
    }
    rows.sort_by_key(|row| (row.0, row.1, row.2));
    rows.into_iter().map(|row| row.3).collect()
}

/// Copies of one source for one slot.
struct Given {
    /// 0 for stock, else one more than the run's place in the plan.
    rank: usize,
    source: Source,
    /// When its harvest ends.
    usable: Min,
    copies: i64,
}

/// Kit copies and spares of each source.
type Sources<'a> = BTreeMap<&'a Source, (u64, u64)>;

/// The old plan's allocation.
struct Before<'a> {
    /// By part and shipment.
    rows: BTreeMap<(&'a str, &'a str), Sources<'a>>,
    harvested: BTreeMap<&'a str, Instant>,
}

impl<'a> Before<'a> {
    fn of(old: &'a Plan) -> Before<'a> {
        let mut rows: BTreeMap<_, Sources<'_>> = BTreeMap::new();
        for row in &old.allocation {
            let of_slot = rows.entry((row.part.as_str(), row.shipment.as_str())).or_default();
            let cell = of_slot.entry(&row.source).or_default();
            *cell = (cell.0.saturating_add(row.count.0), cell.1.saturating_add(row.spare.0));
        }
        Before { rows, harvested: old.runs.iter().map(|run| (run.run.as_str(), run.harvest_to)).collect() }
    }

    /// Kit copies and spares as they were, where the same copies come at the same time.
    fn shares(
        &self,
        part: &str,
        shipment: &str,
        given: &[Given],
        usable: impl Fn(&Given) -> Option<Instant>,
    ) -> Option<Vec<(i64, i64)>> {
        let rows = self.rows.get(&(part, shipment)).filter(|rows| rows.len() == given.len())?;
        let as_before = |lot: &Given| {
            let &(count, spare) = rows.get(&lot.source)?;
            let then = match &lot.source {
                Source::Stock => None,
                Source::Run(run) => Some(*self.harvested.get(run.as_str())?),
            };
            (then == usable(lot) && i64::try_from(count + spare) == Ok(lot.copies))
                .then_some((count as i64, spare as i64))
        };
        given.iter().map(as_before).collect()
    }
}

fn claims(
    moment: &Moment<'_>,
    script: &Script<'_>,
    old: &Plan,
    lived: &Lived,
    (runs, tasks, shipments, allocation): (&[Run], &[Task], &[ShipmentPlan], &[Allocation]),
) -> Claims {
    let instance = moment.room;
    let makespan = lived.ready.iter().map(|ready| ready.unwrap_or(script.problem.horizon)).max().unwrap_or(0);
    let late = instance.shipments.iter().zip(shipments).map(|(s, row)| s.weight.of_lateness(row.late).0).sum();
    let made = |stay: &crate::follow::Stay| -> i64 {
        let whole = script.modes[stay.mode].yields.iter().map(|y| y.1).sum();
        match stay.job.and_then(|job| moment.fates[job].ended.as_ref()) {
            Some(ended) => ended.good.as_ref().map_or(0, |good| good.iter().map(|g| g.1.0 as i64).sum()),
            None => whole,
        }
    };
    let made: i64 = lived.stays.iter().map(made).sum();
    let given: i64 = allocation.iter().map(|row| row.count.0 as i64).sum();
    let surplus = script.problem.stock.iter().sum::<i64>() + made - given;
    let idle = Minutes(idle(moment, script, lived));
    let makespan = Minutes(i64::from(makespan));
    let moment_in_words = instance.farm.clock.stamp(moment.at).format("%Y-%m-%d %H:%M");
    Claims {
        outcome: Outcome::Feasible,
        value: if old.objective == Objective::LeastIdle { idle } else { makespan },
        bound: Minutes::ZERO,
        makespan,
        late: WeightedMinutes(late),
        late_bound: WeightedMinutes::ZERO,
        idle,
        surplus_parts: Count(surplus.max(0) as u64),
        runs: Count(runs.len() as u64),
        operator_minutes: tasks.iter().map(|task| task.to - task.from).sum(),
        engine: "replan".to_owned(),
        seed: old.claims.seed,
        notes: vec![format!("Planned anew from {moment_in_words}; no bound is proven for a week that has begun.")],
        prices: Vec::new(),
    }
}

/// Minutes in which printers with a run neither print nor are down, each from the start to its last harvest.
fn idle(moment: &Moment<'_>, script: &Script<'_>, lived: &Lived) -> i64 {
    let mut sum = 0;
    for (p, machine) in script.printers.iter().enumerate() {
        let mut busy = machine.down.clone();
        let mut last = None;
        for stay in lived.stays.iter().filter(|stay| stay.printer == p) {
            let mode = &script.modes[stay.mode];
            let end = stay.harvest.map_or(stay.ready, |harvest| harvest.to);
            last = last.max(Some(end));
            let print_to = stay.ready - mode.cool;
            let ended = stay.job.is_some_and(|job| moment.fates[job].ended.is_some());
            let to = if ended { print_to.min(end) } else { print_to };
            busy.push((stay.load.map_or(0, |load| load.to), to));
        }
        let Some(last) = last else { continue };
        busy.sort_unstable();
        let mut reached = 0;
        let mut used = 0;
        for (from, to) in busy {
            let (from, to) = (from.max(reached), to.min(last));
            used += i64::from((to - from).max(0));
            reached = reached.max(to);
        }
        sum += i64::from(last) - used;
    }
    sum
}

/// Whether two plans say the same of what is to be done and who gets what, in whatever order.
pub fn same(a: &Plan, b: &Plan) -> bool {
    let runs = |plan: &Plan| {
        let mut runs = plan.runs.clone();
        runs.sort_by(|a, b| a.run.cmp(&b.run));
        runs
    };
    let tasks = |plan: &Plan| {
        let mut tasks: Vec<_> =
            plan.tasks.iter().map(|t| (t.from, t.operator.clone(), t.to, format!("{:?}", t.work))).collect();
        tasks.sort();
        tasks
    };
    let allocation = |plan: &Plan| {
        let mut rows = plan.allocation.clone();
        rows.sort();
        rows
    };
    a.shipments == b.shipments && runs(a) == runs(b) && tasks(a) == tasks(b) && allocation(a) == allocation(b)
}
