//! A known plan put back on the floor, for a search to go on from.
//!
//! Whoever is asked for one shipment more has a plan for the others; to begin from an empty floor would be to find that
//! plan again first. Operators are booked anew, and where handling takes other minutes here, a load ends and a harvest
//! begins when it did: a run for which nobody is free in this farm is left out, and the search makes good what is
//! missing.

use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::Min;
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
        let Some(leg) = leg(floor, machine, run) else { continue };
        let at = floor.machines[machine].runs.len();
        floor.book(machine, at, leg);
    }
}

/// The run behind those that its printer has on this floor.
fn leg(floor: &Floor<'_>, machine: usize, run: &Run) -> Option<Leg> {
    let (problem, machine) = (floor.problem, &floor.machines[machine]);
    let class = &problem.classes[machine.class];
    let is_plate = |&mode: &usize| problem.instance.plates[problem.modes[mode].plate.index()].name == run.plate;
    let running = class.running.as_ref().map(|on| on.mode);
    let of = match &run.load {
        None => running.filter(is_plate),
        Some(_) => class.modes.iter().copied().find(is_plate),
    }?;
    let mode = &problem.modes[of];
    let minute = |at: platewright_model::Instant| Min::try_from((at - problem.instance.farm.start).0).ok();
    let ready = minute(run.ready)?;
    let print_from = ready - mode.to_ready();
    let before = machine.runs.last();
    let material = before.map_or(class.material, |run| Some(problem.modes[run.leg.mode].material));
    let change = if material.is_some_and(|material| material != mode.material) { problem.changeover } else { 0 };
    let load_from = run.load.as_ref().map(|_| print_from - mode.load - change);
    let harvest_from = minute(run.harvest_from)?;
    let is_free = load_from.is_none_or(|from| from >= before.map_or(0, |run| run.leg.harvest_to));
    is_free.then_some(Leg {
        mode: of,
        load_from,
        print_from,
        ready,
        harvest_from,
        harvest_to: harvest_from + mode.harvest,
    })
}
