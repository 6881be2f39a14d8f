//! A first lot before the rest: shipments that come after another one.
//!
//! For the room, "nothing is loaded for the rest before the first lot is ready and has been looked over" is a release
//! that the plan itself decides: the first lot's ready time plus the hold. Everything else here knows releases as fixed
//! minutes, and stays that way, because two fixed minutes enclose the one that is open:
//!
//! - **For the search**, the first lot is promised for a minute `d`: its copies count only if they make `d`, and the rest
//!   is released at `d` plus the hold. Whatever comes of it keeps the rule, since the first lot is ready by `d`. The
//!   promise is the earliest that a search for the first lot alone finds.
//! - **For the bound**, let `b` be a minute before which no plan has the first lot ready: proven for the first lot alone,
//!   which can only be hindered by the rest. In every plan the rest is loaded at `b` plus the hold or later. So the
//!   instance with the rest released there, and the rule forgotten, has all plans of the instance and more: its bounds
//!   are bounds.
//!
//! Where the two minutes meet, as they do where the first lot is small, nothing is lost by either. Chains of lots are
//! taken in order, each with the releases that come of those before.

use crate::problem::{Min, Problem};
use crate::schedule::Schedule;

/// Shipments that others come after, each after those that it comes after itself; none where no shipment waits.
pub fn leads(problem: &Problem<'_>) -> Vec<usize> {
    let depth = |order: usize| {
        let mut depth = 0;
        let mut at = order;
        while let Some((first, _)) = problem.orders[at].after {
            (at, depth) = (first, depth + 1);
        }
        depth
    };
    let mut leads: Vec<usize> = problem.orders.iter().filter_map(|o| o.after).map(|a| a.0).collect();
    leads.sort_unstable_by_key(|&o| (depth(o), o));
    leads.dedup();
    leads
}

/// A shipment and those it comes after.
pub fn line_of(problem: &Problem<'_>, order: usize) -> Vec<usize> {
    let mut line = vec![order];
    while let Some((first, _)) = line.last().and_then(|&o| problem.orders[o].after) {
        line.push(first);
    }
    line
}

/// Releases what comes after a shipment that is ready at a minute.
pub fn release_after(problem: &mut Problem<'_>, first: usize, ready: Min) {
    let horizon = problem.horizon;
    for order in problem.orders.iter_mut() {
        if let Some((_, hold)) = order.after.filter(|a| a.0 == first) {
            // Even a ready time of 0 is after whatever stood on a printer at the start was loaded.
            order.release = order.release.max(ready.saturating_add(hold).clamp(0, horizon + 1));
        }
    }
}

/// Whether every shipment's runs are loaded after the one that it comes after was ready and held.
pub fn holds(problem: &Problem<'_>, schedule: &Schedule) -> bool {
    if problem.orders.iter().all(|o| o.after.is_none()) {
        return true;
    }
    let ready = schedule.ready_times(problem);
    schedule.gives.iter().all(|give| {
        let (Some(run), Some((first, hold))) = (give.run, problem.orders[give.order].after) else { return true };
        schedule.runs[run].load.is_some_and(|load| load.from >= ready[first] + hold)
    })
}
