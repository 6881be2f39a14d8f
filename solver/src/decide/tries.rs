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
use crate::problem::{Boxes, Min, Problem};
use crate::schedule::{Merit, Schedule};
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
    /// Where a whole night may be gained.
    pub(super) const LEAP: Work = Work { from_known: 200_000_000, from_empty: 0 };
    /// Where minutes are looked for near a known plan.
    pub(super) const NEAR: Work = Work { from_known: 30_000_000, from_empty: 0 };
}

/// Where packing takes a shipment past its deadline, its parts are aimed at sooner: by all the minutes of its packing, in
/// so many steps.
const PACKING_STEPS: usize = 3;

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

    /// What a plan for much the same farm comes to here, if it still covers all needs.
    pub(super) fn put_back(&self, known: &Plan) -> Option<Plan> {
        let mut floor = Floor::new(self.problem, &vec![self.problem.horizon; self.problem.orders.len()]);
        put_back(&mut floor, known);
        self.plan(&finish(&floor, false)?.1)
    }

    /// A plan whose parts are all there by the deadlines, if one is found: by the dispatcher, by a search aimed at them
    /// that goes on from a known plan, or by one from an empty floor. Packing may take it past them.
    pub(super) fn aim(&self, deadlines: &[Option<Min>], known: Option<&Plan>, work: Work) -> Option<Plan> {
        let on_time = |schedule: &&Schedule| {
            let ready = schedule.ready_times(self.problem);
            ready.iter().zip(deadlines).all(|(ready, by)| by.is_none_or(|by| *ready <= by))
        };
        if let Some(plan) = self.dispatched.iter().filter(on_time).find_map(|schedule| self.plan(schedule)) {
            return Some(plan);
        }
        // Who gets which copies, and whose boxes are packed first, follows the due dates.
        let mut dated = self.problem.clone();
        for (order, &by) in dated.orders.iter_mut().zip(deadlines) {
            (order.due, order.weight) = (by, 1000);
        }
        let horizon = self.problem.horizon;
        let aims: Vec<Min> = deadlines.iter().map(|d| d.unwrap_or(horizon).clamp(0, horizon)).collect();
        let from_known = known.and_then(|plan| {
            let mut floor = Floor::new(&dated, &aims);
            put_back(&mut floor, plan);
            self.search(floor, &aims, work.from_known)
        });
        from_known.or_else(|| self.search(Floor::new(&dated, &aims), &aims, work.from_empty))
    }

    fn search(&self, floor: Floor<'_>, deadlines: &[Min], work: u64) -> Option<Plan> {
        let dated = floor.problem;
        let Guide { price, night } = self.guide.clone();
        let mut search = Search::new(floor, price, self.planner.seed).with_nights(night);
        let mut aims = deadlines.to_vec();
        let mut best: Option<(Merit, Schedule)> = None;
        for _ in 0..=PACKING_STEPS {
            search.aim(&aims);
            let last = aims.iter().copied().max().unwrap_or(0);
            let left = work.saturating_sub(search.work());
            if left == 0 || !search.meet(last, left, &|| self.planner.is_over()) {
                break;
            }
            let Some((merit, schedule)) = finish(&search.floor, false) else { break };
            let ready = schedule.ready_times(dated);
            if best.as_ref().is_none_or(|best| merit < best.0) {
                best = Some((merit, schedule));
            }
            // Where its boxes are packed too late, a shipment's parts have to be there sooner.
            let mut is_met = true;
            for (at, order) in dated.orders.iter().enumerate().filter(|&(at, _)| ready[at] > deadlines[at]) {
                let boxes: i64 = order.boxes.iter().map(Boxes::count).sum();
                let packing = (boxes * i64::from(dated.pack_box)).min(i64::from(dated.horizon)) as Min;
                aims[at] = (aims[at] - packing / PACKING_STEPS as Min).max(0);
                is_met = packing == 0;
            }
            if is_met {
                break;
            }
        }
        self.plan(&best?.1)
    }

    /// The schedule as a plan, where it is accepted.
    fn plan(&self, schedule: &Schedule) -> Option<Plan> {
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
