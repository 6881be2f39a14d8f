//! PRINTER, READY, GROUP and MATERIAL: what one printer does, run after run.

use crate::book::{Execution, Origin};
use crate::breach::Breach;
use crate::case::Case;
use crate::span::near;
use platewright_model::instance::{MaterialId, PartId, PlateOnGroup};
use platewright_model::{Minutes, Rule};

/// A printer holds one plate at a time, from load start to harvest end, and at the start the one that `running.csv`
/// says, which is harvested like any other.
pub(super) fn printer(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let row = run.row;
        let breach = |message: String| Breach::of(Rule::Printer, message).run(&row.run).printer(&row.printer);
        if run.printer.is_none() {
            breaches.push(breach(format!("{} is on {:?}, and there is no such printer", row.run, row.printer)));
        }
        if let Origin::Running(found) = run.origin {
            let holds = &case.instance.plates[found.plate.index()].name;
            if *holds != row.plate {
                let message = format!("{} holds {holds} at the start, the plan says {:?}", row.printer, row.plate);
                breaches.push(breach(message).at(case.reach.from));
            }
        }
    }
    for found in &case.book.forgotten {
        let (printer, plate) = (case.printer(found.printer), &case.instance.plates[found.plate.index()].name);
        let message = format!("{printer} holds {plate} at the start, and no run of the plan harvests it");
        breaches.push(Breach::of(Rule::Printer, message).printer(printer).at(case.reach.from));
    }
    for positions in &case.book.on_printer {
        let mut holder: Option<&Execution> = None;
        for run in positions.iter().filter_map(|&position| case.book.runs.get(position)) {
            if let Some(other) = holder
                && let Some(both) = run.stay.overlap(other.stay)
            {
                let row = run.row;
                let message =
                    format!("{} has both {} and {} {}", row.printer, other.row.run, row.run, case.during(both));
                breaches.push(Breach::of(Rule::Printer, message).run(&row.run).printer(&row.printer).during(both));
            }
            if holder.is_none_or(|other| other.stay.to < run.stay.to) {
                holder = Some(run);
            }
        }
    }
    breaches
}

/// Printing starts when the load ends and lasts the plate's minutes, then the plate cools, and no harvest starts sooner.
/// When a run from `running.csv` is ready is for that table to say.
pub(super) fn ready(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let row = run.row;
        let breach = |message: String| Breach::of(Rule::Ready, message).run(&row.run).printer(&row.printer);
        let task = run.load_task.and_then(|task| case.book.duties.get(task));
        if let (Origin::Loaded(load), Some(task)) = (run.origin, task)
            && task.span.to != load.to
        {
            let message = format!(
                "{} on {} starts to print {}, its load ends {}",
                row.run,
                row.printer,
                case.at(load.to),
                case.at(task.span.to)
            );
            breaches.push(breach(message).at(load.to));
        }
        let stated = near(row.ready);
        // On a group that the plate does not list, only the plan itself says when the run is ready.
        let ready = run.true_ready.filter(|_| run.on.is_some()).unwrap_or(stated);
        if stated != ready {
            let message = format!(
                "{} on {} is ready {}, the plan says {}",
                row.run,
                row.printer,
                case.at(ready),
                case.at(stated)
            );
            breaches.push(breach(message).at(stated));
        }
        if run.harvest.from < ready {
            let message = format!(
                "{} on {} is harvested {}, it is ready {}",
                row.run,
                row.printer,
                case.at(run.harvest.from),
                case.at(ready)
            );
            breaches.push(breach(message).operator(&row.harvester).at(run.harvest.from));
        }
    }
    breaches
}

/// A plate runs only on groups it lists. That its minutes there hold is READY's to judge.
pub(super) fn group(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let row = run.row;
        let breach = |message: String| Breach::of(Rule::Group, message).run(&row.run).printer(&row.printer);
        match (run.plate, run.printer) {
            (None, _) => {
                breaches.push(breach(format!("{} prints {:?}, and there is no such plate", row.run, row.plate)))
            }
            (Some(plate), Some(printer)) if run.on.is_none() => {
                let group = &case.instance.groups[case.instance.printers[printer.index()].group.index()];
                let listed = case.instance.plates[plate.index()].on_groups.iter();
                let listed: Vec<&str> = listed.map(|on| case.instance.groups[on.group.index()].as_str()).collect();
                let message = format!(
                    "{} prints {} on {}, which is in group {group}; the plate is for {}",
                    row.run,
                    row.plate,
                    row.printer,
                    listed.join(", ")
                );
                breaches.push(breach(message));
            }
            _ => {}
        }
    }
    breaches
}

/// A run whose material differs from what its printer holds pays the changeover, and a plate holds one material.
pub(super) fn material(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let row = run.row;
        let breach = |message: String| Breach::of(Rule::Material, message).run(&row.run).printer(&row.printer);
        let Some(material) = run.material(case.instance) else { continue };
        let named = |material: MaterialId| &case.instance.materials[material.index()];
        let of = |part: PartId| case.instance.parts[part.index()].material;
        if let Some((other, _)) = run.copies().iter().find(|(part, _)| of(*part) != material) {
            let message = format!(
                "{} prints {}, which is in {}, with {} in {}",
                row.run,
                row.plate,
                named(material),
                case.part(*other),
                named(of(*other))
            );
            breaches.push(breach(message));
        }
        let (Some(held), Origin::Loaded(load)) = (run.replaces, run.origin) else { continue };
        let task = run.load_task.and_then(|task| case.book.duties.get(task));
        let minutes = task.map_or(load.minutes(), |task| task.minutes);
        if run.on.is_some_and(|on| skips_changeover(case, run, on, minutes)) {
            let message = format!(
                "{} needs {}, {} holds {}: its load leaves out the changeover of {}",
                row.run,
                named(material),
                row.printer,
                named(held),
                case.instance.farm.handling.changeover
            );
            let operator = task.map_or("", |task| &task.row.operator);
            breaches.push(breach(message).operator(operator).during(load));
        }
    }
    breaches
}

/// Whether a load takes what it would take without the changeover that it owes. Any other wrong length is HANDLING's.
pub(super) fn skips_changeover(case: &Case, run: &Execution, on: &PlateOnGroup, minutes: Minutes) -> bool {
    run.replaces.is_some() && case.instance.farm.handling.changeover > Minutes::ZERO && minutes == on.load
}
