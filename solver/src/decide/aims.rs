//! Which moment to aim at next, between one that was tried in vain and one that is known to do.
//!
//! Moments at which something is ready lie within shifts, and close to their ends: whoever needs the next shift needs all
//! of a night or a weekend more. So the ends of shifts are tried first, halving their number; between two of them the
//! staffed minutes are halved.

use crate::problem::{Min, Problem};

/// The next moment to aim at after `failed` and before `best`; none where less than `grain` staffed minutes lie between.
pub(super) fn next(problem: &Problem<'_>, failed: Min, best: Min, grain: Min) -> Option<Aim> {
    // Parts that are harvested as the shift ends are usable when they are finished.
    let finish = problem.finish.iter().copied().max().unwrap_or(0);
    let ends: Vec<Min> =
        problem.nights.iter().map(|n| n.0 + finish).filter(|&end| failed < end && end < best).collect();
    if let Some(&end) = ends.get(ends.len() / 2) {
        return Some(Aim::ShiftEnd(end));
    }
    let staffed = |minute: &Min| {
        let night = problem.nights.partition_point(|n| n.1 <= *minute);
        problem.nights.get(night).is_none_or(|n| *minute < n.0)
    };
    let open: Vec<Min> = (failed + 1..best).filter(staffed).collect();
    if open.len() < grain.max(1) as usize {
        return None;
    }
    open.get(open.len() / 2).copied().map(Aim::Within)
}

/// A moment to aim at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// A shift ends then.
    ShiftEnd(Min),
    /// In the midst of a shift.
    Within(Min),
}

impl Aim {
    /// The moment.
    pub(super) fn at(self) -> Min {
        match self {
            Aim::ShiftEnd(at) | Aim::Within(at) => at,
        }
    }
}
