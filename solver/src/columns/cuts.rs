//! Whole runs: what fractions of runs would get for nothing.
//!
//! Take a part, a set of shipments, and the copies `d` they need of it beyond stock. Runs are whole, so for any whole
//! `k >= 1` dividing by `k` and rounding every copy count up keeps the inequality true, and the right side, whole on
//! the left, may be rounded up too (Chvátal and Gomory):
//!
//! ```text
//! sum over runs usable by the set's last deadline: ceil(copies / k)  >=  ceil(d / k)
//! ```
//!
//! The useful `k` are the copy counts of the plates themselves: 120 copies from plates of 25 are 5 runs, not 4.8.

use crate::demand::pack_tail;
use crate::problem::{Min, Problem};
use crate::spares;

/// One such inequality.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    /// The part.
    pub part: usize,
    /// The set of shipments.
    pub orders: Vec<usize>,
    /// How much a run of each mode counts.
    pub counts: Vec<i64>,
    /// How much is needed.
    pub need: i64,
}

impl Cut {
    /// By when a run's copies must be usable to count.
    pub fn usable_by(&self, problem: &Problem<'_>, deadlines: &[Min]) -> Min {
        self.orders.iter().map(|&o| deadlines[o] - pack_tail(problem, o, self.part)).max().unwrap_or(0)
    }
}

/// The cuts worth having: for each part, for the shipments due first, the first two and so on, and for each copy count
/// that occurs; those that say nothing new are left out.
pub fn cuts(problem: &Problem<'_>, deadlines: &[Min]) -> Vec<Cut> {
    let all: Vec<usize> = (0..problem.orders.len()).collect();
    cuts_among(problem, deadlines, &all)
}

/// The same among some of the shipments.
pub fn cuts_among(problem: &Problem<'_>, deadlines: &[Min], among: &[usize]) -> Vec<Cut> {
    let mut found = Vec::new();
    for part in 0..problem.finish.len() {
        let copies_of = |m: usize| problem.modes[m].yields.iter().find(|y| y.0 == part).map_or(0, |y| y.1);
        let mut orders: Vec<usize> =
            among.iter().copied().filter(|&o| problem.orders[o].needs.iter().any(|n| n.0 == part && n.1 > 0)).collect();
        orders.sort_by_key(|&o| (deadlines[o], o));
        let mut sizes: Vec<i64> = (0..problem.modes.len()).map(copies_of).filter(|&c| c > 0).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let by = |many: usize| orders[..many].iter().map(|&o| deadlines[o] - pack_tail(problem, o, part)).max();
        for many in 1..=orders.len() {
            let set = &orders[..many];
            // The same runs count for the next set, and it needs more of them.
            let next_says_more = many < orders.len() && by(many) == by(many + 1);
            let need: i64 =
                set.iter().flat_map(|&o| &problem.orders[o].least).filter(|n| n.0 == part).map(|n| n.1).sum();
            let net = need - problem.stock[part];
            if net <= 0 {
                continue;
            }
            for &k in &sizes {
                let mut whole = (net + k - 1) / k;
                let of_copies = whole;
                if many == 1 && Some(&k) == sizes.last() {
                    // Runs that may fail: the same inequality for one shipment, with the spare runs no plan goes without.
                    whole = whole.max(spares::least_runs(problem, set[0], part, k));
                }
                let says_nothing = net == whole * k && sizes.iter().all(|c| c % k == 0) && problem.stock[part] == 0;
                if says_nothing || next_says_more && whole == of_copies {
                    continue;
                }
                let counts = (0..problem.modes.len()).map(|m| (copies_of(m) + k - 1) / k).collect();
                found.push(Cut { part, orders: set.to_vec(), counts, need: whole });
            }
        }
    }
    found
}
