//! Searches for plans of one farm that meet deadlines, one after the other.

use super::Planner;
use super::known::put_back;
use crate::assemble::{self, Statement};
use crate::dispatch::{Manner, dispatch};
use crate::engine::Guide;
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::Search;
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::Schedule;
use platewright_model::Plan;
use platewright_model::plan::Objective;

/// Work of one try, in steps of longest paths.
#[derive(Debug, Clone, Copy)]
pub(super) struct Work {
    /// From a known plan.
    pub(super) from_known: u64,
    /// From an empty floor, if that found nothing.
    pub(super) from_empty: u64,
}

impl Work {
    /// Where a yes or no counts.
    pub(super) const WHOLE: Work = Work { from_known: 60_000_000, from_empty: 60_000_000 };
    /// Where minutes are looked for near a known plan.
    pub(super) const NEAR: Work = Work { from_known: 30_000_000, from_empty: 0 };
}

/// Tries on one farm.
pub(super) struct Tries<'t> {
    planner: &'t Planner<'t>,
    problem: &'t Problem<'t>,
    guide: Guide,
    /// The dispatcher's schedules, which no deadline changes.
    dispatched: Vec<Schedule>,
}

impl<'t> Tries<'t> {
    /// Lets the dispatcher go first.
    pub(super) fn new(planner: &'t Planner<'t>, problem: &'t Problem<'t>) -> Tries<'t> {
        let price = mix::prices(problem);
        let stop = || planner.is_over();
        let done = |manner| finish(&dispatch(problem, &price, manner, &stop), false);
        let dispatched = Manner::all(problem).into_iter().filter_map(done).map(|done| done.1).collect();
        Tries { planner, problem, guide: Guide { price, night: Vec::new() }, dispatched }
    }

    /// With prices that a bound was proven by.
    pub(super) fn guided(mut self, guide: Guide) -> Tries<'t> {
        self.guide = guide;
        self
    }

    /// A plan that meets the deadlines, if one is found: by the dispatcher, by a search aimed at them that goes on from a
    /// known plan, or by one from an empty floor.
    pub(super) fn meet(&self, deadlines: &[Option<Min>], known: Option<&Plan>, work: Work) -> Option<Plan> {
        let horizon = self.problem.horizon;
        if let Some(plan) = self.dispatched.iter().find_map(|schedule| self.kept(schedule, deadlines)) {
            return Some(plan);
        }
        let aims: Vec<Min> = deadlines.iter().map(|d| d.unwrap_or(horizon).clamp(0, horizon)).collect();
        let from_known = known.and_then(|plan| {
            let mut floor = Floor::new(self.problem, &aims);
            put_back(&mut floor, plan);
            self.search(floor, &aims, deadlines, work.from_known)
        });
        from_known.or_else(|| self.search(Floor::new(self.problem, &aims), &aims, deadlines, work.from_empty))
    }

    fn search(&self, floor: Floor<'t>, aims: &[Min], deadlines: &[Option<Min>], work: u64) -> Option<Plan> {
        if work == 0 {
            return None;
        }
        let last = aims.iter().copied().max().unwrap_or(0);
        let Guide { price, night } = self.guide.clone();
        let mut search = Search::new(floor, price, self.planner.seed).with_nights(night);
        search.aim(aims);
        let met = search.meet(last, work, &|| self.planner.is_over());
        if met { self.kept(&finish(&search.floor, false)?.1, deadlines) } else { None }
    }

    /// The schedule as a plan, where it really meets the deadlines (packing may take it past them) and is accepted.
    fn kept(&self, schedule: &Schedule, deadlines: &[Option<Min>]) -> Option<Plan> {
        let ready = schedule.ready_times(self.problem);
        if ready.iter().zip(deadlines).any(|(ready, deadline)| deadline.is_some_and(|d| *ready > d)) {
            return None;
        }
        let statement = Statement {
            objective: Objective::Soonest,
            late_bound: 0,
            bound: 0,
            engine: "exact".to_owned(),
            seed: self.planner.seed,
            notes: Vec::new(),
            prices: Vec::new(),
        };
        let plan = assemble::plan(self.problem, schedule, statement);
        (self.planner.accept)(self.problem.instance, &plan).then_some(plan)
    }
}
