//! The search on one floor: where aims are met it moves on towards better plans, else back towards the known one.

use super::aims::minutes;
use super::{NEARLY, Quick};
use crate::dispatch::way::Way;
use crate::improve::Search;
use crate::problem::Min;

/// Others that were met are aimed at by this part of the way nearer.
const NEARER: Min = 8;
/// Aims are tried again while the shortage falls by a share (in hundredths).
const FALLS: i64 = 15;
/// The part of the last aim by which aims that were met are brought forward, at first and at most.
const FIRST_PART: Min = 400;
const LAST_PART: Min = 50;
/// How often aims are missed on one floor, and how often they are met without a better plan.
const FAILURES: Min = 5;
const IN_VAIN: Min = 3;
/// How often more time is set apart for boxes that were packed too late: past a due date, or by more than so many minutes.
const UNPACKED: Min = 4;
const OVER: Min = 60;
/// How often they are missed before a night is let go by.
const PATIENCE: Min = 3;

impl Quick<'_, '_> {
    /// Searches on one floor: later on the way where aims are missed, further down where they are met.
    pub(super) fn search(&mut self, search: &mut Search<'_>, mut way: Way, low: Min, at: Min, work: u64) {
        let (mut failed, mut at) = (low, at);
        let (mut failures, mut in_vain, mut unpacked, mut part) = (0, 0, 0, FIRST_PART);
        let mut known = self.merit();
        while failures < FAILURES && in_vain < IN_VAIN {
            let intended = self.lowered(way.aims(at));
            let aims = self.unpacked(&intended);
            search.aim(&aims);
            search.floor.keep_for_packing(&self.to_pack, &intended);
            let last = aims.iter().copied().max().unwrap_or(0);
            let met = self.attempt(search, last, work);
            let done = if met { self.note(&search.floor) } else { None };
            if self.is_over() {
                return;
            }
            let Some(schedule) = done else {
                failures += 1;
                failed = failed.max(at);
                let missing = i64::from(minutes(last, search.shortage(), self.worth));
                let missing = if self.hurries { 2 * missing } else { missing };
                let meant = at + (missing * i64::from(failures + 1) / 2).max(2 * i64::from(failures)) as Min;
                // A night is worth some patience.
                let asleep = self.lowered(way.aims(meant)) == intended;
                at = if asleep && failures < PATIENCE { at } else { self.later(&way, at, meant) };
                if at >= way.length() {
                    at = failed + (way.length() - failed) / 2;
                    if failures == 1 || at <= failed {
                        return;
                    }
                }
                continue;
            };
            let ready = schedule.ready_times(self.problem);
            let over = ready.iter().zip(&intended).map(|(ready, aim)| ready - aim).max().unwrap_or(0);
            let costly = over > OVER || schedule.merit(self.problem, self.least_idle).late > self.late();
            if costly && unpacked < UNPACKED && self.pack_sooner(&schedule, &intended) {
                unpacked += 1;
                continue;
            }
            unpacked = 0;
            if self.merit() == known {
                in_vain += 1;
                failed = failed.max(at);
            } else {
                in_vain = 0;
                known = self.merit();
                way = match way {
                    Way::Due { .. } if self.late() == 0 => return,
                    Way::Due { .. } => {
                        let missed = way.aims(failed);
                        way = self.to_due();
                        failed = if failed > low { way.within(&missed).max(low) } else { low };
                        if failed == 0 && way.length() > 1 {
                            failed = low;
                        }
                        way
                    }
                    Way::End { promised, .. } => Way::End { promised, length: self.makespan() },
                };
            }
            let length = way.length();
            at = match way {
                Way::Due { .. } if failed < 0 && length <= NEARLY => 0,
                _ if failed > low => failed + (length - failed) / 2,
                Way::Due { .. } => length - (length / NEARER).max(1),
                Way::End { .. } => (at.min(length) - (last / part).max(1)).max(low + 1),
            };
            part = (part / 2).max(LAST_PART);
            if at <= failed {
                return;
            }
        }
    }

    /// Searches for what is missing, while the shortage falls.
    fn attempt(&mut self, search: &mut Search<'_>, last: Min, work: u64) -> bool {
        let mut short = i64::MAX;
        loop {
            let begun = search.work();
            let met = search.meet(last, work, self.stop);
            self.work += search.work() - begun;
            let now = search.shortage();
            if met || self.is_over() || now > short / 100 * (100 - FALLS) {
                return met;
            }
            short = now;
        }
    }
}
