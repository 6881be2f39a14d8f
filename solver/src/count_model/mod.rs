//! A model that others can solve: the instance as a mixed-integer program that counts.
//!
//! Time is cut into slots of `s` minutes. Nothing is named: the model counts, for each slot, how many loads and harvests
//! of each plate begin, how many plates wait, how many printers stand idle, how many boxes are begun, and whether a
//! shipment is still open. Its optimum is a **lower bound** on every plan, and with slots of one minute it is exact, so that
//! any solver can be held against this program's bounds and optima.
//!
//! # From a plan to the model
//!
//! Let a valid plan be given. Put every load, harvest and box into the slot in which it begins: minute `x` into slot
//! `floor(x / s)`. The model's rows are what this can be trusted to obey, so the plan is one of its solutions.
//!
//! | rows | why they hold |
//! | --- | --- |
//! | `plates` | A run loaded at `a` is harvested at `h >= a + d`, `d` its load, printing and cooling. The model knows only the slot of `a`, so it takes the first minute of the slot in which the load can begin, `a0 <= a`: the harvest is in no slot before `floor((a0 + d) / s)`. **Durations are rounded down.** Every run is harvested in the end |
//! | `printers` | In the same way a printer is free again from `floor((h0 + v) / s)`, `v` the harvest's minutes. With a changeover, idle printers are told apart by the material they hold |
//! | `minutes` | Rounding down would let a printer do more in a day than there is time for. So the true minutes of all runs whose harvest begins up to a slot fit the minutes that the printers have been up, but for the rest of one harvest on each, and what plates found on printers at the start took before |
//! | `crew` | Work begun in a slot is done in it, but for what is under way at its end: at most one task of each operator, and none where the shift ends |
//! | `night` | A load counts into a night if it prints into it wherever in its slot it begins |
//! | `supply`, `takes` | Copies are usable from `floor((h0 + v + f) / s)`, `f` the finishing time. A shipment that is no longer open, and a box that has been begun, have taken theirs. Copies of one part are as good as each other, unless shipments have releases: then they count by the release epoch of their load, in whose favour a slot that holds a release decides |
//! | `packed`, `order` | A shipment is open until its boxes are finished; the box that is filled in part is the last of its row |
//!
//! A load is there only in slots that have a minute in which it may begin: on shift to its end, clear of downtime until
//! ready, within the longest unattended printing, harvested within the horizon. In the same way harvests and boxes.
//!
//! # The objective
//!
//! `s * (slots in which any shipment is open)` is at most the makespan: ready at minute `m`, a shipment is open in
//! `floor(m / s)` slots. A slot in which it is open past due adds to its lateness what `s * slot` is late more than the slot
//! before. Lateness comes first, so a unit of it costs more than the longest makespan; the remarks at the top of the file
//! say what a unit is.
//!
//! # With slots of one minute
//!
//! Then nothing is rounded. The rows for a crew say minute by minute that no more tasks are under way than there are
//! operators, and that a task of no minutes has an operator who is not in the middle of another (`middle`, `moment`). From
//! a solution a plan can be read off: alike printers are interchangeable, flows of plates and printers take whole numbers
//! apart into histories, tasks of one pool are dealt out to people because interval graphs are perfect, and copies flow to
//! shipments in a network, which has whole solutions. So the optimum of the model is the optimum of `soonest` in its
//! first two steps, lateness and then makespan.
//!
//! Two rules are left out, and where a farm uses them the optimum is a bound at any slot: that one shipment waits for
//! another, and that spares are kept.
//!
//! A model of the counting kind with durations rounded *up* would describe plans instead of bounding them; it is some
//! percents longer than the best plan at half-hour slots, and is not written.

mod crew;
mod draft;
pub mod mps;
mod names;
mod orders;
mod places;
mod printers;
pub mod program;

use crate::problem::{Min, Problem};
use draft::Draft;
use places::Slots;
use platewright_model::Instance;
use program::Program;
use std::fmt;

/// Variables beyond which no model is written.
const MOST_VARIABLES: u64 = 5_000_000;

/// The count model of an instance.
#[derive(Debug, Clone)]
pub struct CountModel {
    /// The program, to be minimised.
    pub program: Program,
    /// What a reader of the file should know.
    remarks: Vec<String>,
}

/// A model that nobody could solve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLarge {
    /// Minutes in a slot.
    slot: u16,
    /// How many variables it might have.
    variables: u64,
}

impl fmt::Display for TooLarge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let millions = self.variables / 1_000_000;
        write!(f, "the model at slots of {} min would have up to {millions} million variables", self.slot)
    }
}

impl std::error::Error for TooLarge {}

/// The model at slots of so many minutes; 0 counts as 1.
///
/// # Errors
/// It would have too many variables to be of use.
pub fn of(instance: &Instance, slot: u16) -> Result<CountModel, TooLarge> {
    let problem = Problem::new(instance);
    let slots = Slots::of(&problem, Min::from(slot.max(1)));
    let variables = size(&problem, slots);
    if variables > MOST_VARIABLES {
        return Err(TooLarge { slot, variables });
    }
    let mut draft = Draft::new(&problem, slots);
    draft.add_printers();
    draft.add_orders();
    draft.add_crew();
    let remarks = remarks(&draft);
    Ok(CountModel { program: draft.program, remarks })
}

impl CountModel {
    /// The text of the model in free MPS.
    pub fn mps(&self) -> String {
        mps::text(&self.program, "platewright", &self.remarks)
    }
}

/// No fewer than the variables, before any is made.
fn size(problem: &Problem<'_>, slots: Slots) -> u64 {
    let epochs = crate::demand::epochs(problem).len() as u64;
    let staffed: u64 = problem.pools.iter().map(|pool| ((pool.to - pool.from) / slots.length + 2) as u64).sum();
    let materials = if problem.changeover > 0 { problem.materials as u64 + 1 } else { 1 };
    let rooms = problem.terrains();
    let modes: u64 = rooms.iter().map(|room| problem.classes[room[0]].modes.len() as u64 + 1).sum();
    let boxes: u64 = problem.orders.iter().map(|order| 4 * order.boxes.len() as u64).sum();
    let needs: u64 = problem.orders.iter().map(|order| order.needs.len() as u64).sum();
    let given = if epochs > 1 { needs * epochs } else { 0 };
    let in_crew = staffed * (modes * (materials + 2 * epochs) + boxes + 1);
    in_crew + slots.count as u64 * (problem.orders.len() as u64 + given + problem.finish.len() as u64 * epochs + 1)
}

fn remarks(draft: &Draft<'_>) -> Vec<String> {
    let problem = draft.problem;
    let farm = &problem.instance.farm;
    let stamp = |minute: Min| farm.clock.stamp(problem.instant(minute)).to_rfc3339();
    let (price, unit) = draft.late_price();
    let length = draft.slots.length;
    let mut remarks = vec![
        format!("The count model of {}, to be minimised. Its optimum is a lower bound on every plan.", farm.name),
        format!("Slots of {length} min: slot k (s..k) begins k x {length} min after {}.", stamp(0)),
        format!("The objective is the makespan in minutes plus {price} for each unit of lateness."),
        format!("A unit is {} weighted minutes of lateness.", unit as f64 / 1000.0),
        "load: loads begun; harvest: harvests begun; waiting: ready plates left on printers after the slot's harvests;".to_owned(),
        "idle: printers without a plate; box: boxes begun; open: shipment not yet ready; unfinished: some shipment open;".to_owned(),
        "made: copies usable so far; w..: a pool of operators; n..: a night; e..: loaded after a release.".to_owned(),
    ];
    for (number, pool) in problem.pools.iter().enumerate() {
        let crew = &problem.instance.crews[pool.crew.index()];
        let (from, to, operators) = (stamp(pool.from), stamp(pool.to), pool.operators.len());
        remarks.push(format!("w{number}: {crew}, {operators} of it, {from} to {to}"));
    }
    for (number, night) in problem.nights.iter().enumerate() {
        remarks.push(format!("n{number}: nobody on shift {} to {}", stamp(night.0), stamp(night.1)));
    }
    if draft.epochs.len() > 1 {
        for (number, epoch) in draft.epochs.iter().enumerate().skip(1) {
            remarks.push(format!("e{number}: loaded from {} on", stamp((*epoch).max(0))));
        }
    }
    remarks
}
