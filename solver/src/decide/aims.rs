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
    between(&problem.nights, finish, (failed, best), grain)
}

fn between(nights: &[(Min, Min)], finish: Min, (failed, best): (Min, Min), grain: Min) -> Option<Aim> {
    let ends: Vec<Min> = nights.iter().map(|n| n.0 + finish).filter(|&end| failed < end && end < best).collect();
    if let Some(&end) = ends.get(ends.len() / 2) {
        return Some(Aim::ShiftEnd(end));
    }
    let is_staffed = |minute: &Min| {
        let night = nights.partition_point(|n| n.1 <= *minute);
        nights.get(night).is_none_or(|n| *minute < n.0)
    };
    let open: Vec<Min> = (failed + 1..best).filter(is_staffed).collect();
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_of_shifts_come_before_the_minutes_between_them() {
        // Shifts from 0 to 600 and from 1000 to 1600, and so on.
        let nights: Vec<(Min, Min)> = (0..5).map(|day| (day * 1000 + 600, day * 1000 + 1000)).collect();
        let next = |failed, best| between(&nights, 30, (failed, best), 5);
        assert_eq!(next(100, 4200), Some(Aim::ShiftEnd(2630)));
        assert_eq!(next(2630, 4200), Some(Aim::ShiftEnd(3630)));
        // After the end of a shift only minutes of the next are left, whatever lies between.
        assert_eq!(next(3630, 4201), Some(Aim::Within(4100)));
        assert_eq!(next(4100, 4201), Some(Aim::Within(4151)));
        assert_eq!(next(4196, 4201), None);
    }

    #[test]
    fn somebody_who_is_always_there_has_no_ends() {
        assert_eq!(between(&[], 0, (0, 101), 1), Some(Aim::Within(51)));
        assert_eq!(between(&[], 0, (99, 100), 1), None);
    }
}
