//! Deadlines to aim at, and what lateness cannot be avoided.

use crate::columns::bound::Relaxation;
use crate::problem::{Min, Problem};
use crate::schedule::Schedule;

/// Rounds of columns for one shipment's, or one set of shipments', earliest moment.
const ROUNDS: usize = 150;

/// Deadlines for a less late plan: for shipments that are late, a share (in hundredths) of the way from due to ready;
/// for the others their due dates.
pub(super) fn between_due_and_ready(problem: &Problem<'_>, schedule: &Schedule, share: i64) -> Vec<Min> {
    let ready = schedule.ready_times(problem);
    problem
        .orders
        .iter()
        .zip(ready)
        .map(|(o, ready)| match o.due {
            Some(due) if o.weight > 0 => {
                let late = i64::from((ready - due).max(0));
                (i64::from(due) + late * share / 100).clamp(0, i64::from(problem.horizon)) as Min
            }
            _ => problem.horizon,
        })
        .collect()
}

/// A lower bound on the weighted lateness, in thousandths.
///
/// Each shipment alone in the room has an earliest moment, and so has each set of shipments due by some date: the last
/// of the set is no earlier. The first gives a sum over shipments, the second the least that one of the set must be
/// late; the larger of the two counts.
pub(super) fn lateness_bound(problem: &Problem<'_>, schedule: &Schedule, stop: &dyn Fn() -> bool) -> i64 {
    let ready = schedule.ready_times(problem);
    let dues: Vec<(Min, i64)> = problem
        .orders
        .iter()
        .map(|o| (o.due.unwrap_or(Min::MAX), if o.due.is_some() { o.weight } else { 0 }))
        .collect();
    let late = |order: usize, at: Min| i64::from((at - dues[order].0.min(at)).max(0)) * dues[order].1;
    let earliest = |orders: &[usize]| -> Min {
        let until = orders.iter().map(|&o| ready[o]).max().unwrap_or(0);
        let open = vec![problem.horizon; problem.orders.len()];
        let relaxation = Relaxation::recurring(problem, &open, until).only(orders);
        let effort = relaxation.unrefined(ROUNDS);
        relaxation.climb(0, until, &[], None, effort, &|_| stop()).makespan.min(until)
    };
    let mut alone = 0;
    for order in (0..problem.orders.len()).filter(|&o| late(o, ready[o]) > 0) {
        alone += late(order, earliest(&[order]));
    }
    let mut by_due: Vec<usize> = (0..problem.orders.len()).filter(|&o| dues[o].1 > 0).collect();
    by_due.sort_by_key(|&o| (dues[o].0, o));
    let mut together = 0;
    for many in 2..=by_due.len() {
        let set = &by_due[..many];
        let last = earliest(set);
        together = together.max(set.iter().map(|&o| late(o, last)).min().unwrap_or(0));
    }
    alone.max(together)
}
