//! The plan with its names resolved against the instance and its times drawn in: what every rule reads.
//!
//! A name that the instance does not know stays unresolved; the rule that owns it says so, and the others pass over
//! what they cannot judge. A plate on a group that does not list it is judged further as on its first group, so that
//! one mistake is not told five times.

mod pairing;

use crate::past::Past;
use crate::roster::Roster;
use crate::span::{Span, near};
use platewright_model::instance::{
    Instance, KitId, MaterialId, PartId, PlateId, PlateOnGroup, PrinterId, Running, ShipmentId,
};
use platewright_model::plan::{Allocation, Plan, Run, Source, Task, Work};
use platewright_model::{Count, Instant, Minutes};
use std::collections::HashMap;

/// The plan, resolved.
#[derive(Debug)]
pub(crate) struct Book<'a> {
    /// The plan's runs, in its order.
    pub runs: Vec<Execution<'a>>,
    /// The plan's tasks, in its order.
    pub duties: Vec<Duty<'a>>,
    /// The rows of the plan's allocation, in its order.
    pub grants: Vec<Grant<'a>>,
    /// The plan's shipment rows, in its order.
    pub promises: Vec<Option<ShipmentId>>,
    /// Each printer's runs by the start of their stay, by the printer's position in the instance.
    pub on_printer: Vec<Vec<usize>>,
    /// Positions of the load and harvest tasks that no run calls for, in the plan's order.
    pub strays: Vec<usize>,
    /// The rows of `running.csv` that no run of the plan stands for.
    pub forgotten: Vec<&'a Running>,
}

/// A run of the plan.
#[derive(Debug)]
pub(crate) struct Execution<'a> {
    /// As the plan has it.
    pub row: &'a Run,
    pub printer: Option<PrinterId>,
    /// What it prints; for a run from `running.csv` what that table says is on the printer.
    pub plate: Option<PlateId>,
    /// The plate on the printer's group, where the group is one of the plate's.
    pub on: Option<&'a PlateOnGroup>,
    /// The same, or failing that the plate on its first group.
    pub as_if_on: Option<&'a PlateOnGroup>,
    pub origin: Origin<'a>,
    /// From the load's start, or the farm's, to the harvest's end; only the harvest where it came from nowhere.
    pub stay: Span,
    pub harvest: Span,
    /// The minutes in which it does print, from the plate's minutes and not from what the plan says.
    pub print: Option<Span>,
    /// When it is printed and cooled, likewise.
    pub true_ready: Option<Instant>,
    /// What its printer holds before it, where that is another material than its own.
    pub replaces: Option<MaterialId>,
    /// Whether the log has it loaded before the plan's `since`.
    pub already_loaded: bool,
    /// Its good copies, where the log has it taken off before the plan's `since`.
    pub good: Option<Vec<(PartId, Count)>>,
    /// Positions of its tasks.
    pub load_task: Option<usize>,
    pub harvest_task: Option<usize>,
}

/// How a run came onto its printer.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Origin<'a> {
    /// Loaded by the plan: from the load's start to the start of printing.
    Loaded(Span),
    /// There from the start.
    Running(&'a Running),
    /// The plan has no load for it and `running.csv` does not have it.
    Unexplained,
}

/// A task of the plan.
#[derive(Debug)]
pub(crate) struct Duty<'a> {
    /// As the plan has it.
    pub row: &'a Task,
    pub span: Span,
    /// From start to end; negative where the plan has it backwards.
    pub minutes: Minutes,
    /// The operator's number in the roster.
    pub operator: Option<usize>,
}

/// A row of the plan's allocation.
#[derive(Debug)]
pub(crate) struct Grant<'a> {
    /// As the plan has it.
    pub row: &'a Allocation,
    pub source: Giver,
    pub part: Option<PartId>,
    pub shipment: Option<ShipmentId>,
}

/// Where parts come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Giver {
    Stock,
    /// The run at that position.
    Run(usize),
    /// A name that no run has.
    Unknown,
}

/// The instance's names.
#[derive(Debug)]
pub(crate) struct Names<'a> {
    printers: HashMap<&'a str, PrinterId>,
    plates: HashMap<&'a str, PlateId>,
    parts: HashMap<&'a str, PartId>,
    kits: HashMap<&'a str, KitId>,
    shipments: HashMap<&'a str, ShipmentId>,
}

impl<'a> Names<'a> {
    pub fn of(instance: &'a Instance) -> Names<'a> {
        Names {
            printers: (0..).map(PrinterId).zip(&instance.printers).map(|(id, p)| (p.name.as_str(), id)).collect(),
            plates: (0..).map(PlateId).zip(&instance.plates).map(|(id, p)| (p.name.as_str(), id)).collect(),
            parts: (0..).map(PartId).zip(&instance.parts).map(|(id, p)| (p.name.as_str(), id)).collect(),
            kits: (0..).map(KitId).zip(&instance.kits).map(|(id, k)| (k.name.as_str(), id)).collect(),
            shipments: (0..).map(ShipmentId).zip(&instance.shipments).map(|(id, s)| (s.name.as_str(), id)).collect(),
        }
    }

    pub fn kit(&self, name: &str) -> Option<KitId> {
        self.kits.get(name).copied()
    }

    pub fn shipment(&self, name: &str) -> Option<ShipmentId> {
        self.shipments.get(name).copied()
    }
}

impl<'a> Book<'a> {
    pub fn of(instance: &'a Instance, plan: &'a Plan, names: &Names<'a>, roster: &Roster, past: &Past<'_>) -> Book<'a> {
        let mut running: HashMap<PrinterId, &Running> = instance.running.iter().map(|r| (r.printer, r)).collect();
        let mut runs: Vec<Execution> =
            plan.runs.iter().map(|row| execution(instance, row, names, &mut running)).collect();
        runs.iter_mut().for_each(|run| run.remember(past));
        let duties: Vec<Duty> = plan.tasks.iter().map(|row| duty(row, roster)).collect();
        let strays = pairing::pair(&mut runs, &duties);
        let on_printer = by_printer(instance, &runs);
        note_changeovers(instance, &mut runs, &on_printer);

        let mut by_name: HashMap<&str, usize> = HashMap::new();
        for (position, run) in runs.iter().enumerate() {
            by_name.entry(&run.row.run).or_insert(position);
        }
        let grants = plan.allocation.iter().map(|row| grant(row, names, &by_name)).collect();
        let promises = plan.shipments.iter().map(|row| names.shipment(&row.shipment)).collect();
        let forgotten = instance.running.iter().filter(|r| running.contains_key(&r.printer)).collect();
        Book { runs, duties, grants, promises, on_printer, strays, forgotten }
    }

    /// When what a row of the allocation gives is usable; none where the row's names are not known.
    pub fn usable(&self, instance: &Instance, grant: &Grant) -> Option<Instant> {
        let finish = instance.parts[grant.part?.index()].finish;
        match grant.source {
            Giver::Stock => Some(instance.farm.start),
            Giver::Run(position) => self.runs.get(position).map(|run| run.harvest.to + finish),
            Giver::Unknown => None,
        }
    }
}

impl Execution<'_> {
    /// Copies of each part on the plate; nothing where the plate is not known.
    pub fn copies(&self) -> &[(PartId, Count)] {
        self.as_if_on.map_or(&[], |on| &on.copies)
    }

    /// Copies of each part that it gives: those counted, or else all on the plate.
    pub fn yields(&self) -> &[(PartId, Count)] {
        self.good.as_deref().unwrap_or_else(|| self.copies())
    }

    /// Takes in what the log says of it.
    fn remember(&mut self, past: &Past<'_>) {
        let Some(fate) = past.of_run(&self.row.run) else { return };
        self.already_loaded = fate.loaded.is_some();
        if let Some(ended) = &fate.ended {
            self.good = self.as_if_on.map(|on| ended.good(on));
            self.print = self.print.map(|print| Span::new(print.from, print.to.min(ended.at).max(print.from)));
        }
    }

    /// What the plate is printed in, by its first part.
    pub fn material(&self, instance: &Instance) -> Option<MaterialId> {
        self.copies().first().and_then(|(part, _)| instance.parts.get(part.index())).map(|part| part.material)
    }

    /// Whether the plan decided on it, rather than found it on its printer.
    pub fn planned(&self) -> bool {
        !matches!(self.origin, Origin::Running(_)) && !self.already_loaded
    }
}

fn execution<'a>(
    instance: &'a Instance,
    row: &'a Run,
    names: &Names<'a>,
    running: &mut HashMap<PrinterId, &'a Running>,
) -> Execution<'a> {
    let start = instance.farm.start;
    let printer = names.printers.get(row.printer.as_str()).copied();
    let origin = match (&row.load, printer.and_then(|printer| running.get(&printer).copied())) {
        (Some(load), _) => Origin::Loaded(Span::new(near(load.from), near(load.print_from))),
        (None, Some(found)) => {
            // A printer holds one plate: a second run without a load has nothing to stand for.
            running.remove(&found.printer);
            Origin::Running(found)
        }
        (None, None) => Origin::Unexplained,
    };
    let plate = match origin {
        Origin::Running(found) => Some(found.plate),
        _ => names.plates.get(row.plate.as_str()).copied(),
    };
    let sheet = plate.map(|plate| &instance.plates[plate.index()]);
    let on = sheet.zip(printer).and_then(|(sheet, printer)| sheet.on(instance.printers[printer.index()].group));
    let as_if_on = on.or_else(|| sheet.and_then(|sheet| sheet.on_groups.first()));

    let harvest = Span::new(near(row.harvest_from), near(row.harvest_to));
    let (from, print, true_ready) = match origin {
        Origin::Loaded(load) => {
            let print = as_if_on.map(|on| Span::new(load.to, load.to + on.minutes));
            (load.from, print, print.zip(as_if_on).map(|(print, on)| print.to + on.cool))
        }
        Origin::Running(found) => {
            let print = as_if_on.map(|on| Span::new(start, found.ready - on.cool));
            (start.min(harvest.from), print, Some(found.ready))
        }
        Origin::Unexplained => (harvest.from, None, None),
    };
    Execution {
        row,
        printer,
        plate,
        on,
        as_if_on,
        origin,
        stay: Span::new(from, harvest.to),
        harvest,
        print,
        true_ready,
        replaces: None,
        already_loaded: false,
        good: None,
        load_task: None,
        harvest_task: None,
    }
}

fn duty<'a>(row: &'a Task, roster: &Roster) -> Duty<'a> {
    let (from, to) = (near(row.from), near(row.to));
    Duty { row, span: Span::new(from, to), minutes: to - from, operator: roster.operator(&row.operator) }
}

fn grant<'a>(row: &'a Allocation, names: &Names, by_name: &HashMap<&str, usize>) -> Grant<'a> {
    let source = match &row.source {
        Source::Stock => Giver::Stock,
        Source::Run(name) => by_name.get(name.as_str()).map_or(Giver::Unknown, |&position| Giver::Run(position)),
    };
    let part = names.parts.get(row.part.as_str()).copied();
    Grant { row, source, part, shipment: names.shipment(&row.shipment) }
}

fn by_printer(instance: &Instance, runs: &[Execution]) -> Vec<Vec<usize>> {
    let mut on_printer: Vec<Vec<usize>> = instance.printers.iter().map(|_| Vec::new()).collect();
    for (position, run) in runs.iter().enumerate() {
        if let Some(printer) = run.printer {
            on_printer[printer.index()].push(position);
        }
    }
    for positions in &mut on_printer {
        positions.sort_by_key(|&position| {
            let run = &runs[position];
            (matches!(run.origin, Origin::Loaded(_)), run.stay)
        });
    }
    on_printer
}

/// Follows what each printer holds. A blank material, or a plate that nobody knows, asks no changeover of the next run.
fn note_changeovers(instance: &Instance, runs: &mut [Execution], on_printer: &[Vec<usize>]) {
    for (printer, positions) in instance.printers.iter().zip(on_printer) {
        let mut holds = printer.material;
        for &position in positions {
            let run = &mut runs[position];
            let material = run.material(instance);
            if matches!(run.origin, Origin::Loaded(_)) {
                run.replaces = holds.filter(|held| material.is_some_and(|new| new != *held));
            }
            holds = material;
        }
    }
}

/// Which load or harvest a task is, of which run, on which printer; nothing for packing.
pub(crate) fn handling(work: &Work) -> Option<(&'static str, &str, &str)> {
    match work {
        Work::Load { run, printer } => Some(("load", run, printer)),
        Work::Harvest { run, printer } => Some(("harvest", run, printer)),
        Work::Pack { .. } => None,
    }
}
