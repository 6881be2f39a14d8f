//! Where a round of attempts begins and ends, and which minutes are worth aiming at.
//!
//! A plan ends where somebody is on shift: with a harvest, or with a box packed. Between the end of one shift and the
//! beginning of the next there is nothing to aim at, and the last minute before such a gap is worth more attempts than
//! any other.

use crate::problem::{Min, Problem};

/// The part of the way from the bound to the best plan at which the first aim lies.
const UP: Min = 24;

/// Where a round of attempts begins and ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct Aims {
    /// The bound on the makespan.
    pub(super) low: Min,
    /// The first aim.
    pub(super) first: Min,
    /// The makespan of the best plan known.
    pub(super) best: Min,
    /// Work of an attempt, and of the round.
    pub(super) attempt: u64,
    pub(super) work: u64,
    /// Whether an earlier round has already looked for plans in the shift that the best one ends in.
    pub(super) again: bool,
}

impl Aims {
    /// From a bound on, a little of the way up to the best plan.
    pub(super) fn from(low: Min, best: Min, attempt: u64, work: u64) -> Aims {
        Aims { low, first: low + (best - low) / UP, best, attempt, work, again: false }
    }
}

/// The gaps in which no plan ends: from the last minute in which one can to the last in which none can.
fn gaps<'p>(problem: &'p Problem<'_>) -> impl Iterator<Item = (Min, Min)> + 'p {
    let unpacked = problem.orders.iter().filter(|o| o.boxes.is_empty());
    let finish = unpacked.flat_map(|o| o.needs.iter().map(|n| problem.finish[n.0])).max().unwrap_or(0);
    problem.nights.iter().map(move |&(from, to)| (from + finish, to)).filter(|gap| gap.0 < gap.1)
}

/// The last minute up to an aim in which a plan can end.
pub(super) fn settled(problem: &Problem<'_>, aim: Min) -> Min {
    gaps(problem).find(|gap| gap.0 < aim && aim <= gap.1).map_or(aim, |gap| gap.0)
}

/// The last minute that is out of reach where an aim is.
pub(super) fn beyond(problem: &Problem<'_>, aim: Min) -> Min {
    gaps(problem).find(|gap| gap.0 <= aim && aim <= gap.1).map_or(aim, |gap| gap.1)
}

/// The aim after another that is meant to be some minute: the end of the first shift in between, if there is one.
pub(super) fn next(problem: &Problem<'_>, after: Min, meant: Min) -> Min {
    gaps(problem).map(|gap| gap.0).find(|&end| after < end && end < meant).unwrap_or(settled(problem, meant))
}
