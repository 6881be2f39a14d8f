//! What a dive has left: the smaller instance, and its relaxation.

use super::Dive;
use crate::columns::bound::Relaxation;
use crate::columns::master::Aim;
use crate::columns::prices::Rows;
use crate::columns::rounds::{Patience, Priced, within};
use crate::floor::Floor;
use crate::history::{Leg, Scratch};
use crate::problem::{Min, Problem};

/// A share within this part of what the prices allow is good enough to follow.
const CLOSE_ENOUGH: f64 = 0.01;
/// Rounds of columns for one relaxation, at most.
const MOST_ROUNDS: usize = 400;

impl Dive<'_> {
    /// Relaxes what is left, with the columns that can still be followed and new ones; says how many printers should
    /// follow each column.
    pub(super) fn relax_what_is_left(&mut self, scratch: &mut Scratch) -> Vec<f64> {
        let (floor, deadlines) = (&self.floor, &self.deadlines[..]);
        let until = deadlines.iter().copied().max().unwrap_or(0).min(floor.problem.horizon);
        let left = instance(floor, &self.free);
        let rows = rows(floor, &left, deadlines, until);
        let room = &floor.room;
        self.columns.retain(|c| {
            !left.classes[c.class].printers.is_empty()
                && c.legs.iter().all(|leg| {
                    let open = |(length, from, _)| room.can_start(length, from);
                    floor.tasks_of(leg).all(open) && has_place(floor, leg)
                })
        });
        let priced = Priced { problem: &left, room, rows: &rows, deadlines, until, aim: Aim::Share };
        let near = within(CLOSE_ENOUGH);
        let patience = Patience { near: &near, rounds: MOST_ROUNDS, stop: &|| false };
        let agreed = priced.agree(&mut self.columns, None, &patience, scratch);
        self.rounds += agreed.rounds as u64;
        agreed.weights
    }
}

/// Is there still a place in the nights a run prints into?
pub(super) fn has_place(floor: &Floor<'_>, leg: &Leg) -> bool {
    let print_to = leg.print_from + floor.problem.modes[leg.mode].print;
    leg.load_from.is_none() || print_to <= floor.room.print_limit(leg.print_from)
}

/// The printers without a history, and the copies still missing.
fn instance<'p>(floor: &Floor<'p>, free: &[usize]) -> Problem<'p> {
    let mut left = floor.problem.clone();
    for (c, class) in left.classes.iter_mut().enumerate() {
        class.printers.truncate(free.iter().filter(|&&m| floor.machines[m].class == c).count());
    }
    left.stock.fill(0);
    for order in &mut left.orders {
        order.least.clear();
    }
    for (part, lines) in floor.demand.lines.iter().enumerate() {
        for (line, &missing) in lines.iter().zip(floor.demand.missing_by_line(part)).filter(|l| *l.1 > 0) {
            let least = &mut left.orders[line.order].least;
            match least.iter_mut().find(|l| l.0 == part) {
                Some(of_part) => of_part.1 += missing,
                None => least.push((part, missing)),
            }
        }
    }
    for order in &mut left.orders {
        (order.needs, order.aims) = (order.least.clone(), order.least.clone());
    }
    left
}

/// The rows of what is left: operators have only the minutes that nothing has taken. Mornings ([`crate::columns::mornings`])
/// and chains are left out, because they count all printers.
fn rows(floor: &Floor<'_>, left: &Problem<'_>, deadlines: &[Min], until: Min) -> Rows {
    let mut rows = Relaxation::recurring_unchained(left, deadlines, until).rows().clone();
    rows.mornings.clear();
    rows.morning_ties.clear();
    for task in floor.tasks() {
        rows.staff[task.from as usize..task.to as usize].iter_mut().for_each(|staff| *staff -= 1);
    }
    rows
}
