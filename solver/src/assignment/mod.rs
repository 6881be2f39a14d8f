//! Rooms in which nothing but printer time counts: which jobs go to which printer.
//!
//! Where somebody is always there to load and harvest, nothing is down, and every part comes from one plate, a printer's
//! history is a set of runs in any order, over when their minutes are over ([`rooms`] says when that is so). What is left
//! of the problem is the oldest one of scheduling, `P||Cmax`: jobs to alike machines, the last one over as early as can
//! be. Turned round, it is bin packing: do the jobs fit into so many bins of `T` minutes? Four steps, each cheaper than
//! the next, and only as far as they are needed:
//!
//! 1. **Counting** ([`jobs`]) bounds the makespan from below, longest-first from above.
//! 2. **Dividing anew** ([`resplit`]) looks for an assignment at the bound: two or three machines at a time, whose jobs
//!    are divided by looking sums up in a row of bits. With many jobs a machine it nearly always finds one.
//! 3. **The climb** ([`climb`]) raises the bound by prices ([`prices`]) that a linear program over loads proposes
//!    ([`master`]): the cutting-stock relaxation of Gilmore and Gomory (*Operations Research* 9 (1961) 849–859, from
//!    memory), in which a load holds no job more often than there is. It is rarely below the optimum.
//! 4. **The tree** ([`tree`]) settles what is left, with few jobs a machine: it finds an assignment, or proves that there
//!    is none and the bound is a minute higher.
//!
//! Every no is said in integers: by counting, by prices that need not be trusted because any prices prove what they
//! prove, or by a tree whose branches are cut by such prices only. The linear program decides nothing.
//!
//! Longest-first: R. L. Graham, *SIAM Journal on Applied Mathematics* 17 (1969) 416–429. Which loads matter: after S.
//! Martello and P. Toth's dominance for bin packing (*Knapsack Problems*, 1990, chapter 8; both from memory).

pub mod climb;
pub mod jobs;
mod master;
mod place;
pub mod prices;
pub mod resplit;
mod rooms;
#[cfg(test)]
mod tests;
pub mod tree;

use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use jobs::{Jobs, Load};
use tree::Verdict;

/// Work of one search that divides anew, in words of bits,
const SPLIT_WORK: u64 = 40_000_000;
/// and of one tree, in nodes and drafts.
const TREE_WORK: u64 = 3_000_000;
/// Rounds of loads in a climb.
const ROUNDS: usize = 2_000;

/// An assignment of jobs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assigned {
    /// The best found, a load for each machine.
    pub loads: Vec<Load>,
    /// When it is over.
    pub makespan: i64,
    /// None is over before.
    pub bound: i64,
}

/// What was found for a room.
#[derive(Debug)]
pub struct Found {
    /// A plan over at the best makespan found.
    pub plan: Option<(Merit, Schedule)>,
    /// No plan that loses no time against due dates is over before.
    pub bound: i64,
}

/// Assigns the runs of a room to its printers; none where more than printer time counts. `until` is the makespan of a
/// plan that is not late, and nothing later is looked at.
pub fn search(problem: &Problem<'_>, until: Min, seed: u64, stop: &dyn Fn() -> bool) -> Option<Found> {
    let room = rooms::read(problem, until)?;
    let mut bound = 0;
    let mut loads = Vec::new();
    for group in &room.groups {
        let assigned = assign(&group.jobs, bound, seed, stop);
        bound = bound.max(assigned.bound);
        loads.push(assigned.loads);
    }
    let plan = place::plan(problem, &room, &loads);
    Some(Found { plan, bound: bound + i64::from(room.finish) })
}

/// Assigns jobs to machines. An assignment over by `enough` is as good as any.
pub fn assign(jobs: &Jobs, enough: i64, seed: u64, stop: &dyn Fn() -> bool) -> Assigned {
    let over = |loads: &[Load]| loads.iter().map(|l| jobs.length(l)).max().unwrap_or(0);
    let loads = resplit::longest_first(jobs);
    let mut best = Assigned { makespan: over(&loads), loads, bound: jobs.simple_bound() };
    let keep = |best: &mut Assigned, mut loads: Vec<Load>| {
        loads.resize(jobs.machines, Load::new());
        best.makespan = over(&loads);
        best.loads = loads;
    };
    let divide = |best: &Assigned, until: i64| resplit::search(jobs, &best.loads, until, seed, SPLIT_WORK, stop);
    if best.makespan <= best.bound.max(enough) {
        return best;
    }
    if let Some(found) = divide(&best, best.bound.max(enough)) {
        keep(&mut best, found);
        return best;
    }
    let climbed = climb::climb(jobs, best.bound, best.makespan, &best.loads, ROUNDS, stop);
    best.bound = climbed.bound;
    let mut target = best.bound.max(enough);
    let mut step = 1;
    while target < best.makespan && !stop() {
        let verdict = match divide(&best, target) {
            Some(found) => Verdict::Fits(found),
            None => tree::search(jobs, target, &climbed.prices, TREE_WORK, stop),
        };
        match verdict {
            Verdict::Fits(found) => {
                keep(&mut best, found);
                break;
            }
            Verdict::Never => {
                best.bound = best.bound.max(target + 1);
                target += 1;
            }
            // Nothing is known here. Further up it is easier, and how far up is not known either.
            Verdict::Unknown => {
                target += step;
                step *= 2;
            }
        }
    }
    best
}
