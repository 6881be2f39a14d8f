//! The coming shift, for whoever leads it: how much there is, what comes first, and what the next crew will find.

use crate::crew::{Shift, crew_hours};
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::phases::{Names, phases};
use crate::wall::Wall;
use platewright_model::plan::{Task, Work};
use platewright_model::{Instance, Instant, Plan, roster};
use std::collections::{HashMap, HashSet};

/// So many of its tasks are listed; the shift sheet has all.
const LISTED: usize = 24;

/// The first shift that is not over.
#[derive(Debug)]
pub(super) struct Coming {
    /// Crew and times: `early, Mon 2 Mar 07:00 to 15:00`.
    pub(super) crew: String,
    pub(super) when: String,
    pub(super) words: Vec<String>,
    pub(super) tasks: Table,
}

/// The shift that is on at an instant or comes next after it; none where nobody comes any more.
pub(super) fn coming(instance: &Instance, plan: &Plan, at: Instant) -> Option<Coming> {
    let mut shifts: Vec<Shift> = crew_hours(instance, plan).into_iter().flat_map(|row| row.shifts).collect();
    shifts.retain(|shift| shift.span.to > at);
    shifts.sort_by_key(|shift| (shift.span.from, shift.crew));
    let shift = *shifts.first()?;
    let crew = instance.crews.get(shift.crew.index())?;
    let people: HashSet<String> =
        (1..=roster_size(instance, shift)).map(|n| roster::operator_name(instance, shift.crew, n)).collect();
    let tasks: Vec<&Task> = plan
        .tasks
        .iter()
        .filter(|t| people.contains(&t.operator) && t.from >= shift.span.from && t.from < shift.span.to)
        .collect();
    Some(Coming {
        crew: shown(crew),
        when: Wall::of(instance).span(shift.span.from, shift.span.to),
        words: words(instance, plan, shift, &tasks),
        tasks: table(instance, plan, &tasks),
    })
}

/// The highest number that anybody of the crew has.
fn roster_size(instance: &Instance, shift: Shift) -> u32 {
    roster::stretches(instance).iter().filter(|s| s.crew == shift.crew).map(|s| s.operator).max().unwrap_or(0)
}

fn words(instance: &Instance, plan: &Plan, shift: Shift, tasks: &[&Task]) -> Vec<String> {
    let count = |is: fn(&Work) -> bool| tasks.iter().filter(|t| is(&t.work)).count();
    let number = |count: usize, one: &str, many: &str| format!("{count} {}", if count == 1 { one } else { many });
    let (harvests, loads, boxes) = (
        count(|w| matches!(w, Work::Harvest { .. })),
        count(|w| matches!(w, Work::Load { .. })),
        count(|w| matches!(w, Work::Pack { .. })),
    );
    let mut words = vec![format!(
        "{} on shift: {}, {} and {}.",
        number(shift.operators.0 as usize, "person", "people"),
        number(harvests, "plate to take off", "plates to take off"),
        number(loads, "to load", "to load"),
        number(boxes, "box to pack", "boxes to pack"),
    )];
    let end = shift.span.to;
    let runs = phases(instance, plan);
    let printing = runs.iter().filter(|run| run.printing.from <= end && end < run.printing.to).count();
    let mut left = format!(
        "When it ends at {}, {} of {} printers are printing",
        Wall::of(instance).time(end),
        printing,
        instance.printers.len()
    );
    if let Some(next) = next_staffed(instance, end) {
        let ready =
            runs.iter().filter(|run| run.load.from < end && run.blocked.from >= end && run.blocked.from <= next);
        left.push_str(&format!(
            ", and {} ready by {}, when the next people come",
            number(ready.count(), "of them is", "of them are"),
            Wall::of(instance).say(next)
        ));
    }
    words.push(left + ".");
    words
}

/// When somebody is on shift at or after an instant: none where nobody is any more, or where somebody is on all along.
fn next_staffed(instance: &Instance, at: Instant) -> Option<Instant> {
    roster::unattended(instance).into_iter().find(|(from, to)| *from <= at && at < *to).map(|(_, to)| to)
}

fn table(instance: &Instance, plan: &Plan, tasks: &[&Task]) -> Table {
    let names = Names::of(instance);
    let of_run: HashMap<&str, _> = plan.runs.iter().map(|run| (run.run.as_str(), run)).collect();
    let wall = Wall::of(instance);
    let heads = ["time", "who", "what", "printer", "bay", "plate or box"];
    let mut table = Table::new("What comes first", &heads);
    for task in tasks.iter().take(LISTED) {
        let (what, printer, plate) = match &task.work {
            Work::Load { run, printer } => ("load", printer.as_str(), of_run.get(run.as_str())),
            Work::Harvest { run, printer } => ("harvest", printer.as_str(), of_run.get(run.as_str())),
            Work::Pack { .. } => ("pack", "", None),
        };
        let bay = plate
            .and_then(|run| names.plate_of(run))
            .and_then(|(printer, _, _)| instance.printers.get(printer.index()));
        table.row([
            Cell::Head(wall.time(task.from)),
            Cell::name(&task.operator),
            Cell::Words(what.to_owned()),
            Cell::name(printer),
            Cell::name(bay.and_then(|p| p.bay.as_deref()).unwrap_or_default()),
            match &task.work {
                Work::Pack { shipment, kit } => Cell::name(&format!("{shipment}, {kit}")),
                _ => Cell::name(plate.map_or("", |run| run.plate.as_str())),
            },
        ]);
    }
    if tasks.len() > LISTED {
        table.note = Some(format!("{} more follow in this shift; tasks.csv has all.", tasks.len() - LISTED));
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn the_coming_shift_is_the_first_that_is_not_over() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let monday = coming(&instance, &plan, at(0, 7, 0)).unwrap();
        assert_eq!((monday.crew.as_str(), monday.when.as_str()), ("day", "Mon 2 Mar 07:00 to 17:00"));
        assert_eq!(
            monday.words,
            [
                "1 person on shift: 1 plate to take off, 1 to load and 0 boxes to pack.",
                "When it ends at 17:00, 1 of 3 printers are printing, and 1 of them is ready by Tue 3 Mar 07:00, when the \
                 next people come."
            ]
        );
        assert_eq!(monday.tasks.rows.len(), 2);
        let tuesday = coming(&instance, &plan, at(0, 17, 0)).unwrap();
        assert_eq!(tuesday.when, "Tue 3 Mar 07:00 to 17:00");
        assert!(coming(&instance, &plan, at(9, 0, 0)).is_none());
    }
}
