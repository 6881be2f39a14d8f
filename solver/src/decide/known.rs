//! A known plan put back on the floor, for a search to go on from.
//!
//! Whoever is asked for one shipment more has a plan for the others; to begin from an empty floor would be to find that
//! plan again first. Operators are booked anew: a run for which nobody is free in this farm is left out, and the search
//! makes good what is missing.

use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::{Min, Problem};
use platewright_model::Plan;
use platewright_model::plan::Run;
use std::collections::HashMap;

/// Books the plan's runs on an empty floor, in the order of their loads.
pub(super) fn put_back(floor: &mut Floor<'_>, plan: &Plan) {
    let problem = floor.problem;
    let mut printers: HashMap<&str, usize> = HashMap::new();
    for (at, machine) in floor.machines.iter().enumerate() {
        let printer = problem.classes[machine.class].printers[machine.slot];
        printers.insert(problem.instance.printers[printer.index()].name.as_str(), at);
    }
    for run in &plan.runs {
        let Some(&machine) = printers.get(run.printer.as_str()) else { continue };
        let Some(leg) = leg(problem, floor.machines[machine].class, run) else { continue };
        let at = floor.machines[machine].runs.len();
        floor.book(machine, at, leg);
    }
}

fn leg(problem: &Problem<'_>, class: usize, run: &Run) -> Option<Leg> {
    let class = &problem.classes[class];
    let is_plate = |&mode: &usize| problem.instance.plates[problem.modes[mode].plate.index()].name == run.plate;
    let running = class.running.as_ref().map(|on| on.mode);
    let mode = match &run.load {
        None => running.filter(is_plate),
        Some(_) => class.modes.iter().copied().find(is_plate),
    }?;
    let minute = |at: platewright_model::Instant| Min::try_from((at - problem.instance.farm.start).0).ok();
    let ready = minute(run.ready)?;
    Some(Leg {
        mode,
        load_from: match &run.load {
            Some(load) => Some(minute(load.from)?),
            None => None,
        },
        print_from: ready - problem.modes[mode].to_ready(),
        ready,
        harvest_from: minute(run.harvest_from)?,
        harvest_to: minute(run.harvest_to)?,
    })
}
