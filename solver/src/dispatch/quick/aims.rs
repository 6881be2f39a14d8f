//! Aims: time set apart for boxes, and nights, in which nothing becomes ready.

use super::Quick;
use crate::columns::reach::least_tail;
use crate::dispatch::way::Way;
use crate::problem::Min;
use crate::schedule::Schedule;

/// Minutes after which a morning has shown something, and in which others are looked for.
const MORNING: Min = 60;
const GLANCE: Min = 5;

impl Quick<'_, '_> {
    /// Sets time apart for as many boxes more as a schedule packs later than intended; false where it packs none later.
    pub(super) fn pack_sooner(&mut self, schedule: &Schedule, intended: &[Min]) -> bool {
        let late = schedule.packed_late(intended);
        self.to_pack.iter_mut().zip(&late).for_each(|(boxes, late)| *boxes += late);
        late.iter().any(|&boxes| boxes > 0)
    }

    /// When the parts of shipments have to be there for the last boxes to be packed as intended.
    pub(super) fn unpacked(&self, intended: &[Min]) -> Vec<Min> {
        let before = |(&aim, &boxes): (&Min, &i64)| (aim - boxes as Min * self.problem.pack_box).max(0);
        intended.iter().zip(&self.to_pack).map(before).collect()
    }

    /// Aims, or sooner ones that are as good: nothing becomes ready in the stretch after them.
    pub(super) fn lowered(&self, mut aims: Vec<Min>) -> Vec<Min> {
        let tail = least_tail(self.problem);
        for aim in &mut aims {
            let at = *aim - tail;
            if let Some(night) = self.problem.nights.iter().find(|n| n.0 < at && at < n.1) {
                *aim = night.0 + tail;
            }
        }
        aims
    }

    /// A place no sooner than meant at which more can be ready than at another: where that is a night away, some minutes
    /// into the morning.
    pub(super) fn later(&self, way: &Way, than: Min, meant: Min) -> Min {
        let aims = self.lowered(way.aims(than));
        let mut at = meant;
        while at < way.length() && self.lowered(way.aims(at)) == aims {
            at += GLANCE;
        }
        if at > meant { at + MORNING } else { at }
    }
}

/// The minutes that all printers need for what is missing, where all needs take them until the target.
pub(super) fn minutes(target: Min, short: i64, worth: i64) -> Min {
    (i128::from(target) * i128::from(short) / i128::from(worth.max(1))) as Min
}
