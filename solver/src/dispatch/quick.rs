//! The quick engine: dispatched plans to begin with, woven ones to end with.
//!
//! The dispatcher's plans say about when the last shipment is ready, and how late the others are. From there plans are looked
//! for along a *way* ([`Way`]): while something is late, from the due dates to how late shipments are, and then from what the
//! printers' minutes alone would take to the best plan's end. Floors are woven at places on it until one lacks little, and
//! what that still lacks is looked for by the neighbourhood search, a little work at a time. Aims that are met are brought
//! forward; those that are not are moved on by the printer minutes that are missing, and where that leads back to the best
//! plan, another floor is woven nearer to it.
//!
//! Boxes are packed after the fact. Where that makes a shipment late, or takes it past the end of a shift, operators are kept
//! free for the boxes that came too late, and the parts are aimed at sooner by as much time.
//!
//! Floors woven with other prices, and so with other luck, lack anything from nothing to four times as much at the same place,
//! and each costs a hundredth of the search that makes up for it: where one lacks little, a few more are woven there and the
//! best is kept. The search itself goes by the plate mix's prices. Those a weaver has learnt make a good floor of an empty
//! one, but on mixed orders they stop a search at two or three times as much missing.
//!
//! All effort is counted in steps of longest paths. Weaving a floor takes as many as there are printers and minutes to
//! plan, so the work grows with the runs and with nothing else.

use super::way::Way;
use super::weave::Weaver;
use super::{Manner, dispatch};
use crate::columns::reach::least_tail;
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::Search;
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// No manner of dispatching is begun once so many runs have been dispatched, or where there is no plan yet, so many.
const DISPATCHED: usize = 1_000;
const MOST_DISPATCHED: usize = 15_000;
/// Work in all: so many times that of weaving one floor, and so many steps per run, up to so many.
const FLOORS: u64 = 5;
const WORK_PER_RUN: u64 = 60_000;
const WORK: u64 = 55_000_000;
/// So many searches for less lateness may bring nothing before an earlier end is looked for.
const SEARCHES_IN_VAIN: u32 = 3;
/// Shipments that are late by no more than this are aimed at their due dates, others that were met by this part nearer.
const NEARLY: Min = 240;
const NEARER: Min = 8;
/// Floors that lack more than this are woven again elsewhere on the way, up to so many; in ten-thousandths of all needs.
const LITTLE: i64 = 250;
const LESSONS: usize = 4;
/// Those that lack less, but more than this, are woven again at the same place, for so much of the work in hundredths.
const ENOUGH: i64 = 50;
const AGAIN: u64 = 10;
/// Work of one try to meet aims: so many steps, and those of weaving one floor; tried again while the shortage falls by a
/// share (in hundredths).
const TRY: u64 = 2_000_000;
const FALLS: i64 = 15;
/// By how much a new floor's end lies before the best plan's, in ten-thousandths, to begin with and at least.
const STEP: i64 = 100;
const LEAST_STEP: i64 = 5;
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
/// Minutes after which a morning has shown something, and in which others are looked for.
const MORNING: Min = 60;
const GLANCE: Min = 5;

/// Finds plans, each handed to `keep`: dispatched in several manners, then woven. Once there is one, `stop` ends it.
pub fn quick(
    problem: &Problem<'_>,
    least_idle: bool,
    seed: u64,
    stop: &dyn Fn() -> bool,
    keep: &mut dyn FnMut(Merit, Schedule),
) {
    let price = mix::prices(problem);
    let needs = mix::total_needs(problem);
    let worth = needs.iter().zip(&price).map(|(n, p)| n * p).sum();
    let to_pack = vec![0; problem.orders.len()];
    let mut quick =
        Quick { problem, price, worth, least_idle, seed, best: None, to_pack, work: 0, budget: 0, stop, keep };
    let mut runs = 0;
    for manner in Manner::all(problem) {
        let most = if quick.best.is_some() { DISPATCHED } else { MOST_DISPATCHED };
        if runs > most || runs > 0 && stop() {
            break;
        }
        let floor = dispatch(problem, &quick.price, manner, &|| false);
        runs += floor.machines.iter().map(|m| m.runs.len()).sum::<usize>();
        quick.note(&floor);
        quick.budget = (WORK_PER_RUN * runs as u64).min(WORK);
    }
    if runs > 0 {
        quick.weave();
    }
}

struct Quick<'p, 'c> {
    problem: &'p Problem<'p>,
    /// What a copy of each part is worth, and all needs are.
    price: Vec<i64>,
    worth: i64,
    least_idle: bool,
    seed: u64,
    /// The best plan's merit and ready times.
    best: Option<(Merit, Vec<Min>)>,
    /// By shipment, boxes that were packed too late when there was no time set apart for them.
    to_pack: Vec<i64>,
    work: u64,
    budget: u64,
    stop: &'c dyn Fn() -> bool,
    keep: &'c mut dyn FnMut(Merit, Schedule),
}

impl<'p> Quick<'p, '_> {
    /// Finishes a floor: its schedule, where it is a plan.
    fn note(&mut self, floor: &Floor<'_>) -> Option<Schedule> {
        let (merit, schedule) = finish(floor, self.least_idle)?;
        if self.best.as_ref().is_none_or(|b| merit < b.0) {
            self.best = Some((merit, schedule.ready_times(self.problem)));
            (self.keep)(merit, schedule.clone());
        }
        Some(schedule)
    }

    fn merit(&self) -> Option<Merit> {
        self.best.as_ref().map(|b| b.0)
    }

    fn late(&self) -> i64 {
        self.best.as_ref().map_or(i64::MAX, |b| b.0.late)
    }

    fn makespan(&self) -> Min {
        self.best.as_ref().map_or(self.problem.horizon, |b| b.1.iter().copied().max().unwrap_or(0))
    }

    fn is_over(&self) -> bool {
        self.work >= self.budget || (self.stop)()
    }

    /// From due dates to the best plan's ready times.
    fn to_due(&self) -> Way {
        let ready = self.best.as_ref().map_or(vec![self.problem.horizon; self.problem.orders.len()], |b| b.1.clone());
        Way::due(self.problem.no_later(0), &ready)
    }

    /// Weaves floors and searches on them until the work is done: towards the due dates while something is late, then
    /// towards an earlier end.
    fn weave(&mut self) {
        let mut weaver = Weaver::new(self.problem, &self.price);
        let mut in_vain = 0;
        while self.late() > 0 && in_vain < SEARCHES_IN_VAIN && !self.is_over() {
            let way = self.to_due();
            let first = if weaver.woven == 0 || way.length() <= NEARLY { 0 } else { way.length() / 2 };
            let late = self.late();
            self.round(&mut weaver, way, -1, first);
            in_vain = if self.late() < late { 0 } else { in_vain + 1 };
        }
        let printers: usize = self.problem.classes.iter().map(|c| c.printers.len()).sum();
        let least =
            (self.worth / mix::PRICE_UNIT as i64 / printers.max(1) as i64).min(i64::from(self.makespan())) as Min;
        let (mut step, mut first) = (STEP, true);
        while !self.is_over() {
            let end = self.makespan();
            let way = Way::End { promised: self.problem.no_later(self.late()), length: end };
            let back = ((i64::from(end) * step / 10_000) as Min).max(1);
            let at = if first { least + (end - least) / 2 } else { end - back };
            if !self.round(&mut weaver, way, least - 1, at.max(1)) && !first {
                step = (step / 2).max(LEAST_STEP);
            }
            first = false;
        }
    }

    /// Closes in on the first place on a way that plans reach, from after `low` on; says whether a better plan came of it.
    fn round(&mut self, weaver: &mut Weaver<'p>, way: Way, low: Min, first: Min) -> bool {
        let before = self.merit();
        self.to_pack.iter_mut().for_each(|boxes| *boxes /= 2);
        let Some((floor, at)) = self.woven(weaver, &way, low, first) else { return false };
        let mut search = Search::new(floor, self.price.clone(), self.seed.wrapping_add(self.work));
        if self.problem.classes.len() == 1 {
            search = search.downhill();
        }
        self.search(&mut search, way, low, at, TRY + weaver.work);
        self.merit() != before
    }

    /// A floor that lacks little, as far down a way as can be woven, and where that is.
    fn woven(&mut self, weaver: &mut Weaver<'p>, way: &Way, low: Min, first: Min) -> Option<(Floor<'p>, Min)> {
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

    /// Searches on one floor: later on the way where aims are missed, further down where they are met.
    fn search(&mut self, search: &mut Search<'_>, mut way: Way, low: Min, at: Min, work: u64) {
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

    /// Sets time apart for as many boxes more as a schedule packs later than intended; false where it packs none later.
    fn pack_sooner(&mut self, schedule: &Schedule, intended: &[Min]) -> bool {
        let late = schedule.packed_late(intended);
        self.to_pack.iter_mut().zip(&late).for_each(|(boxes, late)| *boxes += late);
        late.iter().any(|&boxes| boxes > 0)
    }

    /// When the parts of shipments have to be there for the last boxes to be packed as intended.
    fn unpacked(&self, intended: &[Min]) -> Vec<Min> {
        let before = |(&aim, &boxes): (&Min, &i64)| (aim - boxes as Min * self.problem.pack_box).max(0);
        intended.iter().zip(&self.to_pack).map(before).collect()
    }

    /// Aims, or sooner ones that are as good: nothing becomes ready in the stretch after them.
    fn lowered(&self, mut aims: Vec<Min>) -> Vec<Min> {
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
    fn later(&self, way: &Way, than: Min, meant: Min) -> Min {
        let aims = self.lowered(way.aims(than));
        let mut at = meant;
        while at < way.length() && self.lowered(way.aims(at)) == aims {
            at += GLANCE;
        }
        if at > meant { at + MORNING } else { at }
    }
}

/// The minutes that all printers need for what is missing, where all needs take them until the target.
fn minutes(target: Min, short: i64, worth: i64) -> Min {
    (i128::from(target) * i128::from(short) / i128::from(worth.max(1))) as Min
}
