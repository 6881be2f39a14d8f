//! The room as the crew leaves it, and what the next crew finds.

use super::shift::CrewShift;
use crate::phases::Names;
use crate::span::Span;
use platewright_model::instance::PrinterId;
use platewright_model::plan::Run;
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::HashMap;

/// How far beyond the next crew's coming the handover looks.
const SOON: Minutes = Minutes(60);

/// Every printer at the shift's last minute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// Loaded in this shift and not ready by its end: these must be on.
    pub must_be_on: Vec<OnPrinter>,
    /// Loaded before this shift and not ready by its end.
    pub still_on: Vec<OnPrinter>,
    /// Ready, or about to be harvested by somebody else.
    pub waiting: Vec<OnPrinter>,
    /// Nothing on it.
    pub empty: Vec<String>,
    /// Down, and empty.
    pub down: Vec<String>,
}

/// A run on its printer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnPrinter {
    /// The printer's name.
    pub printer: String,
    /// The run's name.
    pub run: String,
    /// The plate's name.
    pub plate: String,
    /// When it is ready.
    pub ready: Instant,
    /// When the plan has it harvested.
    pub harvest: Instant,
}

/// What waits for the next crew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Handover {
    /// Who is on then, by name; a crew that is on already when this one leaves is meant too.
    pub crews: Vec<String>,
    /// When they come, or when this crew leaves where they are on already.
    pub at: Instant,
    /// Ready by then and still on their printers, in order of ready.
    pub ready: Vec<OnPrinter>,
    /// Ready in the hour after.
    pub soon: Vec<OnPrinter>,
}

/// The room at the end of the shift.
pub fn left(instance: &Instance, plan: &Plan, shift: &CrewShift) -> Left {
    let end = shift.to();
    let mut left =
        Left { must_be_on: Vec::new(), still_on: Vec::new(), waiting: Vec::new(), empty: Vec::new(), down: Vec::new() };
    let on = on_at(instance, plan, end);
    for ((id, printer), run) in (0..).map(PrinterId).zip(&instance.printers).zip(on) {
        let Some(run) = run else {
            let is_down = instance.downtime.iter().any(|row| row.printer == id && row.from <= end && end < row.to);
            if is_down {
                left.down.push(printer.name.clone())
            } else {
                left.empty.push(printer.name.clone())
            }
            continue;
        };
        let loaded = run.load.as_ref().is_some_and(|load| load.from >= shift.from());
        let list = match (run.ready > end, loaded) {
            (true, true) => &mut left.must_be_on,
            (true, false) => &mut left.still_on,
            (false, _) => &mut left.waiting,
        };
        list.push(on_printer(run));
    }
    left
}

/// What the next crew finds; none where nobody comes before the plan ends.
pub fn handover(instance: &Instance, plan: &Plan, shift: &CrewShift) -> Option<Handover> {
    let end = shift.to();
    let plan_end = Span::of_plan(instance, plan).to;
    let stretches = roster::stretches(instance);
    let mut later: Vec<_> = stretches.iter().filter(|s| s.to > end).collect();
    later.sort_by_key(|s| s.from.max(end));
    let at = later.first().map(|s| s.from.max(end)).filter(|at| *at < plan_end)?;
    let mut crews: Vec<String> = Vec::new();
    for stretch in later.iter().filter(|s| s.from.max(end) == at) {
        let name = instance.crews.get(stretch.crew.index()).cloned().unwrap_or_default();
        if !crews.contains(&name) {
            crews.push(name);
        }
    }
    let mut ready: Vec<OnPrinter> = Vec::new();
    let mut soon: Vec<OnPrinter> = Vec::new();
    for run in on_at(instance, plan, at).into_iter().flatten() {
        if run.ready <= at {
            ready.push(on_printer(run));
        } else if run.ready <= at + SOON {
            soon.push(on_printer(run));
        }
    }
    // By place in the room within one minute, since the printers come in the order of their table.
    ready.sort_by_key(|on| on.ready);
    soon.sort_by_key(|on| on.ready);
    Some(Handover { crews, at, ready, soon })
}

/// The run that each printer has on at a minute, from its load to its harvest; printers in the order of their table.
fn on_at<'p>(instance: &Instance, plan: &'p Plan, at: Instant) -> Vec<Option<&'p Run>> {
    let names = Names::of(instance);
    let begun = |run: &&Run| run.load.as_ref().is_none_or(|load| load.from < at) && at < run.harvest_to;
    let on: HashMap<usize, &Run> =
        plan.runs.iter().filter(begun).filter_map(|run| Some((names.plate_of(run)?.0.index(), run))).collect();
    (0..instance.printers.len()).map(|printer| on.get(&printer).copied()).collect()
}

fn on_printer(run: &Run) -> OnPrinter {
    OnPrinter {
        printer: run.printer.clone(),
        run: run.run.clone(),
        plate: run.plate.clone(),
        ready: run.ready,
        harvest: run.harvest_from,
    }
}
