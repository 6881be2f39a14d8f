//! The quick engine: dispatched plans to begin with, woven ones to end with.
//!
//! The dispatcher's plans say about when the last shipment is ready, and how late the others are. From there a floor is
//! woven towards a *target*, an earlier end, and what it still lacks is looked for by the neighbourhood search, a little
//! work at a time. A target that is met is lowered; one that is not is raised by the printer minutes that are missing,
//! and where that leads back to the best plan, another floor is woven nearer to it.
//!
//! Due dates come first: while something is late, shipments are promised for their due dates, and where that does not
//! succeed, a share of the way from there to what the dispatcher reached. Boxes are packed after the fact, so a shipment
//! whose boxes come late is promised earlier by as much.
//!
//! All effort is counted in steps of longest paths. Weaving a floor takes as many as there are printers and minutes to
//! plan, so the work grows with the runs and with nothing else.

use super::weave::Weaver;
use super::{Manner, dispatch};
use crate::columns::reach::least_tail;
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::Search;
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// No manner of dispatching is begun once so many runs have been dispatched.
const DISPATCHED: usize = 15_000;
/// Work in all: so many times that of weaving one floor, and so many steps per run, up to so many.
const FLOORS: u64 = 5;
const WORK_PER_RUN: u64 = 60_000;
const WORK: u64 = 24_000_000;
/// Floors woven for their prices before one is searched on, each towards a target that the one before lacks this part of.
const LESSONS: usize = 2;
const LESSON_STEP: Min = 100;
/// Work of one try to meet a target: so many steps, and those of weaving one floor; tried again while the shortage falls
/// by a share (in hundredths).
const TRY: u64 = 1_000_000;
const FALLS: i64 = 15;
/// By how much a new floor's target lies before the best plan's end, in ten-thousandths: the first one's, the next
/// one's, and the least.
const FIRST_STEP: i64 = 400;
const STEP: i64 = 40;
const LEAST_STEP: i64 = 5;
/// The part of itself by which a target that was met is lowered, at first and at most.
const FIRST_PART: Min = 400;
const LAST_PART: Min = 50;
/// How often a target is missed on one floor.
const FAILURES: Min = 5;
/// How often it is missed before a night is let go by.
const PATIENCE: Min = 3;
/// Shares of the way from due to the dispatcher's ready time that are promised in turn, in hundredths.
const SHARES: [i64; 4] = [0, 25, 50, 75];
/// Minutes after which a morning has shown something.
const MORNING: Min = 60;
/// Most minutes that packing may take off a promise.
const MOST_SLACK: Min = 720;

/// Finds plans, each handed to `keep`: dispatched in several manners, then woven. Once there is one, `stop` ends it.
pub fn quick(
    problem: &Problem<'_>,
    least_idle: bool,
    seed: u64,
    stop: &dyn Fn() -> bool,
    keep: &mut dyn FnMut(Merit, Schedule),
) {
    let price = mix::prices(problem);
    let slack = vec![0; problem.orders.len()];
    let mut quick = Quick { problem, least_idle, seed, best: None, slack, work: 0, budget: 0, stop, keep };
    let mut runs = 0;
    for manner in Manner::all(problem) {
        if runs > DISPATCHED || runs > 0 && stop() {
            break;
        }
        let floor = dispatch(problem, &price, manner, &|| false);
        runs += floor.machines.iter().map(|m| m.runs.len()).sum::<usize>();
        quick.note(&floor);
        quick.budget = (WORK_PER_RUN * runs as u64).min(WORK);
    }
    if runs > 0 {
        quick.weave(&price);
    }
}

struct Quick<'p, 'c> {
    problem: &'p Problem<'p>,
    least_idle: bool,
    seed: u64,
    /// The best plan's merit and ready times.
    best: Option<(Merit, Vec<Min>)>,
    /// How much sooner each shipment's parts must be there, for its boxes to be packed in time.
    slack: Vec<Min>,
    work: u64,
    budget: u64,
    stop: &'c dyn Fn() -> bool,
    keep: &'c mut dyn FnMut(Merit, Schedule),
}

impl<'p> Quick<'p, '_> {
    /// Finishes a floor: its merit and ready times, where it is a plan.
    fn note(&mut self, floor: &Floor<'_>) -> Option<(Merit, Vec<Min>)> {
        let (merit, schedule) = finish(floor, self.least_idle)?;
        let found = (merit, schedule.ready_times(self.problem));
        if self.best.as_ref().is_none_or(|b| found.0 < b.0) {
            self.best = Some(found.clone());
            (self.keep)(merit, schedule);
        }
        Some(found)
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

    fn due(&self, order: usize) -> Option<Min> {
        self.problem.orders[order].due.filter(|_| self.problem.orders[order].weight > 0)
    }

    /// The stretch around a target in which nothing more becomes ready than at its beginning.
    fn night(&self, target: Min) -> Option<(Min, Min)> {
        let at = target - least_tail(self.problem);
        self.problem.nights.iter().find(|n| n.0 < at && at < n.1).map(|n| (n.0 - at + target, n.1 - at + target))
    }

    /// A target, or a sooner one that is as good.
    fn lowered(&self, target: Min) -> Min {
        self.night(target).map_or(target, |n| n.0)
    }

    /// A target, or a later one at which somebody has been there again.
    fn raised(&self, target: Min) -> Min {
        self.night(target).map_or(target, |n| n.1 + MORNING).min(self.problem.horizon)
    }

    /// Weaves floors and searches on them until the work is done.
    fn weave(&mut self, price: &[i64]) {
        let orders = self.problem.orders.len();
        let horizon = self.problem.horizon;
        let known = self.best.as_ref().map_or(vec![horizon; orders], |b| b.1.clone());
        let mut weaver = Weaver::new(self.problem, price);
        for share in SHARES {
            let late = self.late();
            if late == 0 || self.is_over() {
                break;
            }
            let between = |due: Min, ready: Min| due + (i64::from((ready - due).max(0)) * share / 100) as Min;
            let promised = (0..orders).map(|o| self.due(o).map_or(horizon, |due| between(due, known[o]))).collect();
            self.round(&mut weaver, promised, self.makespan());
            if self.late() < late {
                break;
            }
        }
        let mut step = if weaver.woven == 0 { FIRST_STEP } else { STEP };
        while !self.is_over() {
            let late = self.late().min(i64::from(horizon) * 1000);
            let latest = |o: usize, due: Min| i64::from(due) + late / self.problem.orders[o].weight;
            let promised = (0..orders)
                .map(|o| self.due(o).map_or(horizon, |due| latest(o, due).min(i64::from(horizon)) as Min))
                .collect();
            let end = i64::from(self.makespan());
            let improved = self.round(&mut weaver, promised, (end - end * step / 10_000) as Min);
            step = if improved { step.min(STEP) } else { (step.min(STEP) / 2).max(LEAST_STEP) };
        }
    }

    /// Weaves a floor towards a target and promises and searches on it; says whether a better plan came of it.
    fn round(&mut self, weaver: &mut Weaver<'p>, promised: Vec<Min>, target: Min) -> bool {
        let needs = mix::total_needs(self.problem);
        let mut target = self.lowered(target.min(self.problem.horizon));
        let (floor, prices, worth) = loop {
            let floor = weaver.weave(&self.aims(&promised, target), target);
            let prices = weaver.prices(target);
            self.work += weaver.work;
            if weaver.woven == 1 {
                self.budget += FLOORS * weaver.work;
            }
            let worth: i64 = needs.iter().zip(&prices).map(|(n, p)| n * p).sum();
            if weaver.woven > LESSONS || self.is_over() {
                break (floor, prices, worth);
            }
            if floor.demand.is_met() {
                self.note(&floor);
            }
            let missing = minutes(target, floor.demand.shortage(&prices), worth);
            target = self.lowered((target + missing - target / LESSON_STEP).min(self.problem.horizon));
        };
        let before = self.best.as_ref().map(|b| b.0);
        let mut search = Search::new(floor, prices, self.seed.wrapping_add(self.work));
        if self.problem.classes.len() == 1 {
            search = search.downhill();
        }
        let (mut failed, mut failures, mut part) = (0, 0, FIRST_PART);
        while failures < FAILURES {
            search.aim(&self.aims(&promised, target));
            let met = self.attempt(&mut search, target, TRY + weaver.work);
            let done = if met { self.note(&search.floor) } else { None };
            if self.is_over() {
                break;
            }
            let Some((merit, ready)) = done else {
                failures += 1;
                failed = failed.max(target);
                let missing = minutes(target, search.shortage(), worth);
                let step = i64::from(missing) * i64::from(failures + 1) / 2;
                let next =
                    (i64::from(target) + step.max(2 * i64::from(failures))).min(i64::from(self.problem.horizon)) as Min;
                // A night is worth some patience.
                target = if failures < PATIENCE { self.lowered(next).max(target) } else { self.raised(next) };
                if target >= self.makespan() && (self.late() == 0 || failures > 1) {
                    break;
                }
                continue;
            };
            if merit.late > 0 && self.tighten(&promised, &ready) {
                failures += 1;
                continue;
            }
            let last = ready.iter().copied().max().unwrap_or(0);
            if last > target {
                failed = failed.max(target);
            }
            let last = last.min(self.makespan());
            target = self.lowered(if failed > 0 { failed + (last - failed) / 2 } else { last - (last / part).max(1) });
            part = (part / 2).max(LAST_PART);
            if target <= failed {
                break;
            }
        }
        self.best.as_ref().map(|b| b.0) != before
    }

    /// What to aim at so that shipments are ready as promised and by the target.
    fn aims(&self, promised: &[Min], target: Min) -> Vec<Min> {
        promised.iter().zip(&self.slack).map(|(&p, &slack)| (p - slack).clamp(0, target)).collect()
    }

    /// Makes room for the packing that made shipments later than promised; false where there is nothing to make.
    fn tighten(&mut self, promised: &[Min], ready: &[Min]) -> bool {
        let before = self.slack.clone();
        for (slack, (&promised, &ready)) in self.slack.iter_mut().zip(promised.iter().zip(ready)) {
            *slack = (*slack + (ready - promised).max(0)).min(MOST_SLACK);
        }
        self.slack != before
    }

    /// Searches for what is missing, while the shortage falls.
    fn attempt(&mut self, search: &mut Search<'_>, target: Min, work: u64) -> bool {
        let mut short = i64::MAX;
        loop {
            let begun = search.work();
            let met = search.meet(target, work, self.stop);
            self.work += search.work() - begun;
            let now = search.shortage();
            if met || self.is_over() || now > short / 100 * (100 - FALLS) {
                return met;
            }
            short = now;
        }
    }
}

/// The minutes that all printers need for what is missing, where all needs take them until the target.
fn minutes(target: Min, short: i64, worth: i64) -> Min {
    (i128::from(target) * i128::from(short) / i128::from(worth.max(1))) as Min
}
