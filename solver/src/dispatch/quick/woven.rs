//! Where on a way a floor can be woven that lacks little.

use super::aims::minutes;
use super::{FLOORS, Quick};
use crate::dispatch::way::Way;
use crate::dispatch::weave::Weaver;
use crate::floor::Floor;
use crate::problem::Min;

/// Floors that lack more than this are woven again elsewhere on the way, up to so many; in ten-thousandths of all needs.
const LITTLE: i64 = 250;
const LESSONS: usize = 4;
/// Those that lack less, but more than this, are woven again at the same place, for so much of the work in hundredths.
const ENOUGH: i64 = 50;
const AGAIN: u64 = 10;

impl<'p> Quick<'p, '_> {
    /// A floor that lacks little, as far down a way as can be woven, and where that is.
    pub(super) fn woven(
        &mut self,
        weaver: &mut Weaver<'p>,
        way: &Way,
        low: Min,
        first: Min,
    ) -> Option<(Floor<'p>, Min)> {
        let (mut below, mut above, mut at) = (low, way.length(), first);
        let (mut lessons, mut again) = (0, 0);
        let mut kept: Option<(Floor<'p>, Min, i64)> = None;
        loop {
            let intended = self.lowered(way.aims(at));
            let aims = self.unpacked(&intended);
            let last = aims.iter().copied().max().unwrap_or(0);
            let floor = weaver.weave(&aims, last);
            self.work += weaver.work;
            if weaver.woven == 1 {
                self.budget += FLOORS * weaver.work;
            }
            let short = floor.demand.shortage(&self.price);
            let share = 10_000 * short / self.worth.max(1);
            if short == 0 {
                self.note(&floor);
            }
            let better = |k: &(Floor<'p>, Min, i64)| match (share <= LITTLE, k.2 <= LITTLE) {
                (true, true) => (at, share) < (k.1, k.2),
                (false, false) => share < k.2,
                (ours, _) => ours,
            };
            if kept.as_ref().is_none_or(better) {
                kept = Some((floor, at, share));
            }
            lessons += 1;
            if self.is_over() {
                break;
            }
            if short > 0 && kept.as_ref().is_some_and(|k| k.1 == at && k.2 <= LITTLE) {
                again += weaver.work;
                if kept.as_ref().is_some_and(|k| k.2 <= ENOUGH) || again > self.budget * AGAIN / 100 {
                    break;
                }
                continue;
            }
            if lessons >= LESSONS {
                break;
            }
            if short == 0 {
                above = at;
                at = below + (at - below) / 2;
            } else {
                below = at;
                let meant = at + minutes(last, short, self.worth).max(1);
                let next = self.later(way, at, meant);
                at = if next < above { next } else { below + (above - below) / 2 };
            }
            if at <= below || at >= above || self.lowered(way.aims(at)) == intended {
                break;
            }
        }
        kept.map(|k| (k.0, k.1))
    }
}
