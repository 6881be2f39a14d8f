//! Pools: copies of one part that can serve the same needs.
//!
//! A copy is usable from some minute and was loaded at some minute; a need takes what is usable by its deadline and was
//! loaded after its release. So for each part a grid of deadlines and releases tells all copies apart that there is a reason
//! to tell apart. A column puts its copies into pools, and which needs they go to is the master's choice: were it the
//! column's, a master with other deadlines would have to find its columns again, one for each shipment. On mixed weeks of
//! four shipments that takes thirty rounds for each makespan of a climb, instead of three.

use super::prices::Need;
use crate::demand::pack_tail;
use crate::problem::{Min, Problem};

/// Copies of a part that can serve the same needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Pool {
    pub(super) part: usize,
    /// Usable by here.
    usable_by: Min,
    /// Loaded here or later.
    loaded_from: Min,
    /// The needs, by index.
    pub(super) serves: Vec<usize>,
    /// Copies that all of them take.
    pub(super) most: i64,
}

/// The pools of all parts, those of a part in order of deadline and then from the latest release on.
pub(super) fn pools(problem: &Problem<'_>, needs: &[Need], deadlines: &[Min]) -> Vec<Pool> {
    let usable_by = |n: &Need| deadlines[n.order] - pack_tail(problem, n.order, n.part);
    let release = |n: &Need| problem.orders[n.order].release;
    let mut found = Vec::new();
    for part in 0..problem.finish.len() {
        let of_part: Vec<usize> = (0..needs.len()).filter(|&n| needs[n].part == part).collect();
        let by = distinct(of_part.iter().map(|&n| usable_by(&needs[n])));
        let from = distinct(of_part.iter().map(|&n| release(&needs[n])));
        for (&by, &from) in by.iter().flat_map(|by| from.iter().rev().map(move |from| (by, from))) {
            let serves = |&n: &usize| by <= usable_by(&needs[n]) && release(&needs[n]) <= from;
            let serves: Vec<usize> = of_part.iter().copied().filter(serves).collect();
            let most = serves.iter().map(|&n| needs[n].copies).sum();
            if most > 0 {
                found.push(Pool { part, usable_by: by, loaded_from: from, serves, most });
            }
        }
    }
    found
}

/// The pool of copies of a part, the one that serves most.
pub(super) fn pool_of(pools: &[Pool], part: usize, loaded: Min, usable: Min) -> Option<usize> {
    pools.iter().position(|p| p.part == part && usable <= p.usable_by && p.loaded_from <= loaded)
}

fn distinct(minutes: impl Iterator<Item = Min>) -> Vec<Min> {
    let mut minutes: Vec<Min> = minutes.collect();
    minutes.sort_unstable();
    minutes.dedup();
    minutes
}
