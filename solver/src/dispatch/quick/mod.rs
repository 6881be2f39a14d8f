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

mod aims;
mod search;
mod woven;

use super::way::Way;
use super::weave::Weaver;
use super::{Manner, dispatch};
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::{Gait, Search};
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
/// Where more runs than this are planned, the floors' share of the work is for the first woven plan alone, aims that are
/// missed before it is known are moved on twice as far, and there is less work in all.
const MANY: usize = 10_000;
const WORK_FOR_MANY: u64 = 50_000_000;
/// So many searches for less lateness may bring nothing before an earlier end is looked for.
const SEARCHES_IN_VAIN: u32 = 3;
/// Shipments that are late by no more than this are aimed at their due dates.
const NEARLY: Min = 240;
/// By how much a new floor's end lies before the best plan's, in ten-thousandths, to begin with and at least.
const STEP: i64 = 100;
const LEAST_STEP: i64 = 5;
/// Work of one try to meet aims: so many steps, and those of weaving one floor.
const TRY: u64 = 2_000_000;

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
    let mut quick = Quick {
        problem,
        price,
        worth,
        least_idle,
        seed,
        best: None,
        to_pack,
        hurries: false,
        work: 0,
        budget: 0,
        stop,
        keep,
    };
    let mut runs = 0;
    for manner in Manner::all(problem) {
        let most = if quick.best.is_some() { DISPATCHED } else { MOST_DISPATCHED };
        if runs > most || runs > 0 && stop() {
            break;
        }
        let floor = dispatch(problem, &quick.price, manner, &|| false);
        let dispatched = floor.machines.iter().map(|m| m.runs.len()).sum::<usize>();
        runs += dispatched;
        quick.hurries = dispatched > MANY;
        quick.note(&floor);
        quick.budget = (WORK_PER_RUN * runs as u64).min(if quick.hurries { WORK_FOR_MANY } else { WORK });
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
    /// Whether there are many runs and no woven plan yet.
    hurries: bool,
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
            if self.hurries && self.work > 0 {
                self.hurries = false;
                self.budget = self.budget.min(WORK_FOR_MANY);
            }
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
            search = search.in_gait(Gait::Downhill);
        }
        self.search(&mut search, way, low, at, TRY + weaver.work);
        self.merit() != before
    }
}
