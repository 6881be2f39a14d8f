//! The plan's tasks of one shift, put together into stops.

use super::shift::CrewShift;
use super::window::{Window, Windows};
use super::{BoxStop, Into, MaterialNeed, Off, OffPart, On, Stop};
use crate::ledger::Ledger;
use crate::phases::Names;
use crate::span::Span;
use platewright_model::instance::{MaterialId, PartId, PlateId, Printer, PrinterId};
use platewright_model::plan::{Run, Source, Task, Work};
use platewright_model::{Count, Instance, Instant, Minutes, Plan, roster};
use std::collections::{HashMap, HashSet};

/// A harvest and a load by one operator at one printer are one stop when no more than this lies between them.
const ONE_STOP: Minutes = Minutes(5);

/// Where a printer stands in the order of walking: its bay's first row in `printers.csv`, then its own.
pub(super) type Place = (usize, usize);

/// A stop as the plan has it.
#[derive(Debug, Clone)]
pub(super) struct Planned {
    pub operator: String,
    pub span: Span,
    pub place: Place,
    pub window: Window,
    pub stop: Stop,
}

/// All work of a shift.
#[derive(Debug)]
pub(super) struct ShiftWork {
    /// By operator, in order of time.
    pub stops: Vec<Planned>,
    /// Starts of work that is no stop.
    pub busy: Vec<(String, Instant)>,
    pub boxes: Vec<BoxStop>,
    pub materials: Vec<MaterialNeed>,
}

/// The crew's tasks that begin in the shift, or at its very end if they take no minutes and their operator goes then.
pub(super) fn work(instance: &Instance, plan: &Plan, ledger: &Ledger, shift: &CrewShift) -> ShiftWork {
    let crew: HashSet<&str> = shift.operators.iter().map(String::as_str).collect();
    let stretches = roster::stretches(instance);
    let goes_on = |task: &Task| {
        let mut on = stretches.iter().filter(|on| on.from <= task.from && task.from < on.to);
        on.any(|on| roster::operator_name(instance, on.crew, on.operator) == task.operator)
    };
    let last = |task: &Task, s: &Span| task.from == s.to && task.to == s.to && !goes_on(task);
    let in_span = |task: &Task, s: &Span| s.from <= task.from && task.from < s.to || last(task, s);
    let in_shift = |task: &&Task| crew.contains(task.operator.as_str()) && shift.spans.iter().any(|s| in_span(task, s));
    let mut tasks: Vec<&Task> = plan.tasks.iter().filter(in_shift).collect();
    // At one minute what takes none comes first; of those a harvest before the load after it.
    let rank = |task: &Task| matches!(task.work, Work::Load { .. });
    tasks.sort_by(|a, b| (&a.operator, a.from, a.to, rank(a)).cmp(&(&b.operator, b.from, b.to, rank(b))));
    let room = Room::of(instance, plan, ledger);
    let mut stops: Vec<Planned> = Vec::new();
    let mut tasks = tasks.into_iter().peekable();
    let (mut busy, mut boxes) = (Vec::new(), Vec::new());
    while let Some(task) = tasks.next() {
        match &task.work {
            Work::Pack { .. } => {
                busy.push((task.operator.clone(), task.from));
                boxes.extend(room.box_stop(task));
            }
            Work::Load { run, .. } => stops.extend(room.load(task, run)),
            Work::Harvest { run, printer } => {
                let follows = tasks.next_if(|next| {
                    next.operator == task.operator
                        && next.from - task.to <= ONE_STOP
                        && matches!(&next.work, Work::Load { printer: there, .. } if there == printer)
                });
                let loaded = follows.and_then(|next| match &next.work {
                    Work::Load { run, .. } => Some((next, run.as_str())),
                    _ => None,
                });
                stops.extend(room.harvest(task, run, loaded));
            }
        }
    }
    boxes.sort_by(|a, b| (a.span.from, &a.operator).cmp(&(b.span.from, &b.operator)));
    ShiftWork { materials: room.materials(&stops), stops, busy, boxes }
}

struct Room<'p> {
    instance: &'p Instance,
    names: Names<'p>,
    windows: Windows<'p>,
    runs: HashMap<&'p str, &'p Run>,
    /// The lots that a run fills, with the position of its fill.
    lots: HashMap<&'p str, Vec<(usize, usize)>>,
    boxes: HashMap<(&'p str, &'p str, &'p str, Instant), usize>,
    ledger: &'p Ledger,
    places: Vec<Place>,
    /// Runs whose load begins with a changeover.
    changed: HashSet<&'p str>,
}

impl<'p> Room<'p> {
    fn of(instance: &'p Instance, plan: &'p Plan, ledger: &'p Ledger) -> Room<'p> {
        let mut lots: HashMap<&str, Vec<(usize, usize)>> = HashMap::new();
        for (at, lot) in ledger.lots.iter().enumerate() {
            for (position, fill) in lot.fills.iter().enumerate() {
                if let Source::Run(run) = &fill.source {
                    lots.entry(run).or_default().push((at, position));
                }
            }
        }
        let mut boxes = HashMap::new();
        for (at, packed) in ledger.boxes.iter().enumerate() {
            if let Some(packing) = &packed.packing {
                let key = (packed.shipment.as_str(), packed.kit.as_str(), packing.operator.as_str(), packing.from);
                boxes.insert(key, at);
            }
        }
        Room {
            instance,
            names: Names::of(instance),
            windows: Windows::of(instance, plan, ledger),
            runs: plan.runs.iter().map(|run| (run.run.as_str(), run)).collect(),
            lots,
            boxes,
            ledger,
            places: places(instance),
            changed: changed(instance, plan),
        }
    }

    fn box_stop(&self, task: &Task) -> Option<BoxStop> {
        let Work::Pack { shipment, kit } = &task.work else { return None };
        let packed = *self.boxes.get(&(shipment.as_str(), kit.as_str(), task.operator.as_str(), task.from))?;
        Some(BoxStop { operator: task.operator.clone(), span: Span { from: task.from, to: task.to }, packed })
    }

    fn load(&self, task: &Task, run: &str) -> Option<Planned> {
        let run = *self.runs.get(run)?;
        self.planned(task.operator.clone(), Span { from: task.from, to: task.to }, run, {
            (self.windows.load(run, task.from, false), None, Some(self.on(run)?))
        })
    }

    fn harvest(&self, task: &Task, run: &str, loaded: Option<(&Task, &str)>) -> Option<Planned> {
        let run = *self.runs.get(run)?;
        let mut span = Span { from: task.from, to: task.to };
        let mut window = self.windows.harvest(run, loaded.is_some());
        let mut on = None;
        if let Some((load, next)) = loaded {
            let next = *self.runs.get(next)?;
            window = window.then(load.from - task.from, self.windows.load(next, load.from, true));
            span.to = load.to;
            on = self.on(next);
        }
        self.planned(task.operator.clone(), span, run, (window, Some(self.off(run)), on))
    }

    fn planned(
        &self,
        operator: String,
        span: Span,
        run: &Run,
        (window, off, on): (Window, Option<Off>, Option<On>),
    ) -> Option<Planned> {
        let (printer, _, _) = self.names.plate_of(run)?;
        let stop = Stop {
            printer: run.printer.clone(),
            bay: self.instance.printers.get(printer.index())?.bay.clone(),
            at: span.from,
            earliest: window.earliest,
            latest: window.latest,
            off,
            on,
        };
        Some(Planned { operator, span, place: *self.places.get(printer.index())?, window, stop })
    }

    fn on(&self, run: &Run) -> Option<On> {
        let (_, plate, _) = self.names.plate_of(run)?;
        Some(On {
            run: run.run.clone(),
            plate: run.plate.clone(),
            material: self.material(plate).to_owned(),
            changeover: self.changed.contains(run.run.as_str()),
            ready: run.ready,
        })
    }

    fn material(&self, plate: PlateId) -> &str {
        let material = self.instance.plates.get(plate.index()).map(|plate| plate.material);
        material.and_then(|id| self.instance.materials.get(id.index())).map_or("", String::as_str)
    }

    fn off(&self, run: &Run) -> Off {
        let mut parts = Vec::new();
        for &(part, copies) in self.names.plate_of(run).into_iter().flat_map(|(_, _, plate)| &plate.copies) {
            let Some(part) = self.instance.parts.get(part.index()) else { continue };
            parts.push(OffPart { part: part.name.clone(), count: copies, into: self.into(run, &part.name) });
        }
        Off { run: run.run.clone(), plate: run.plate.clone(), ready: run.ready, parts }
    }

    fn into(&self, run: &Run, part: &str) -> Vec<Into> {
        let fills = self.lots.get(run.run.as_str()).into_iter().flatten();
        fills
            .filter_map(|&(at, position)| {
                let lot = self.ledger.lots.get(at).filter(|lot| lot.part == part)?;
                let count: Count = lot.fills.get(position)?.count();
                Some(Into { lot: at, count, begins: position == 0, closes: position + 1 == lot.fills.len() })
            })
            .collect()
    }

    fn materials(&self, stops: &[Planned]) -> Vec<MaterialNeed> {
        let mut needs: Vec<MaterialNeed> = Vec::new();
        for on in stops.iter().filter_map(|planned| planned.stop.on.as_ref()) {
            let at = needs.iter().position(|need| need.material == on.material).unwrap_or_else(|| {
                let material = on.material.clone();
                needs.push(MaterialNeed { material, loads: 0, changeovers: 0, grams: Some(0.0) });
                needs.len() - 1
            });
            let grams = self.grams(&on.run);
            if let Some(need) = needs.get_mut(at) {
                need.loads += 1;
                need.changeovers += usize::from(on.changeover);
                need.grams = need.grams.zip(grams).map(|(sum, more)| sum + more);
            }
        }
        let order = |need: &MaterialNeed| self.instance.materials.iter().position(|name| *name == need.material);
        needs.sort_by_key(order);
        needs
    }

    fn grams(&self, run: &str) -> Option<f64> {
        let (_, _, plate) = self.names.plate_of(self.runs.get(run)?)?;
        let grams =
            |(part, copies): &(PartId, Count)| Some(self.instance.parts.get(part.index())?.grams? * copies.0 as f64);
        plate.copies.iter().map(grams).sum()
    }
}

fn places(instance: &Instance) -> Vec<Place> {
    let mut first: HashMap<&str, usize> = HashMap::new();
    for (at, printer) in instance.printers.iter().enumerate() {
        if let Some(bay) = &printer.bay {
            first.entry(bay).or_insert(at);
        }
    }
    let bay = |printer: &Printer| first.get(printer.bay.as_ref()?.as_str()).copied();
    instance.printers.iter().enumerate().map(|(at, printer)| (bay(printer).unwrap_or(at), at)).collect()
}

/// The runs before which the material on their printer is another.
fn changed<'p>(instance: &Instance, plan: &'p Plan) -> HashSet<&'p str> {
    let names = Names::of(instance);
    let mut on: HashMap<PrinterId, Option<MaterialId>> =
        (0..).map(PrinterId).zip(&instance.printers).map(|(id, printer)| (id, printer.material)).collect();
    let mut runs: Vec<&Run> = plan.runs.iter().collect();
    runs.sort_by_key(|run| (run.harvest_from, run.ready));
    let mut changed = HashSet::new();
    for run in runs {
        let Some((printer, plate, _)) = names.plate_of(run) else { continue };
        let Some(material) = instance.plates.get(plate.index()).map(|plate| plate.material) else { continue };
        if let Some(Some(before)) = on.insert(printer, Some(material))
            && before != material
            && run.load.is_some()
        {
            changed.insert(run.run.as_str());
        }
    }
    changed
}
