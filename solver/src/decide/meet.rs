//! Can shipments be ready by given moments? Yes, with a plan; never, with a proof; or neither is known.

use super::Planner;
use super::known::put_back;
use crate::assemble::{self, Statement};
use crate::columns::bound::{Effort, Relaxation};
use crate::dispatch::{Manner, dispatch};
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::Search;
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::Schedule;
use platewright_model::plan::Objective;
use platewright_model::{Instance, Instant, Plan};

/// Rounds of columns for a proof.
const ROUNDS: usize = 120;
/// Work of one attempt, in steps of longest paths.
const WORK: u64 = 60_000_000;

/// The latest that each shipment may be ready, in the instance's order; none: whenever the horizon allows.
pub type Deadlines = [Option<Instant>];

/// An answer to "can they be met?".
#[derive(Debug)]
pub enum Meets {
    /// This plan does; it states no bound.
    Yes(Box<Plan>),
    /// No plan does: that is proven.
    Never,
    /// No plan was found, and none is excluded.
    NotFound,
}

impl Planner<'_> {
    /// Asks first for a proof that they cannot be met, then for a plan that meets them.
    /// The search goes on from a known plan, where there is one for much the same farm.
    pub fn meets(&self, question: &str, instance: &Instance, deadlines: &Deadlines, known: Option<&Plan>) -> Meets {
        (self.progress)(question, None);
        let problem = Problem::new(instance);
        let minutes = in_minutes(&problem, deadlines);
        if self.excludes(&problem, &minutes) {
            return Meets::Never;
        }
        self.attempt(&problem, &minutes, known).map_or(Meets::NotFound, |plan| Meets::Yes(Box::new(plan)))
    }

    /// Whether it is proven that no plan has every shipment ready by its deadline: each one's are met together or not at
    /// all, those without a deadline left out.
    pub(super) fn excludes(&self, problem: &Problem<'_>, deadlines: &[Option<Min>]) -> bool {
        let bound: Vec<usize> = (0..deadlines.len()).filter(|&o| deadlines[o].is_some()).collect();
        let Some(last) = bound.iter().filter_map(|&o| deadlines[o]).max() else { return false };
        if bound.iter().any(|&o| deadlines[o].is_some_and(|d| d < 0) && !problem.orders[o].needs.is_empty()) {
            return true;
        }
        let last = last.clamp(0, problem.horizon);
        let moments: Vec<Min> = deadlines.iter().map(|d| d.unwrap_or(problem.horizon)).collect();
        let slot = slot(last);
        let relaxation = Relaxation::new(problem, &moments, slot).only(&bound);
        let effort = Effort { rounds: ROUNDS, finest: slot, coarsest: slot };
        // The climb starts at its own end: either its prices exclude that, or they say nothing.
        relaxation.climb(last, last, &[], None, effort, &|_| self.is_over()).makespan > last
    }

    /// A plan that meets the deadlines, if one is found: by the dispatcher, by a search aimed at them that goes on from a
    /// known plan, or by one from an empty floor.
    pub(super) fn attempt(
        &self,
        problem: &Problem<'_>,
        deadlines: &[Option<Min>],
        known: Option<&Plan>,
    ) -> Option<Plan> {
        let aims: Vec<Min> = deadlines.iter().map(|d| d.unwrap_or(problem.horizon).clamp(0, problem.horizon)).collect();
        let price = mix::prices(problem);
        for manner in Manner::all(problem) {
            let done = finish(&dispatch(problem, &price, manner, &|| self.is_over()), false);
            if let Some(plan) = done.and_then(|done| self.kept(problem, done.1, deadlines)) {
                return Some(plan);
            }
        }
        let last = aims.iter().copied().max().unwrap_or(0);
        let from_known = known.map(|plan| {
            let mut floor = Floor::new(problem, &aims);
            put_back(&mut floor, plan);
            floor
        });
        from_known.into_iter().chain([Floor::new(problem, &aims)]).find_map(|floor| {
            let mut search = Search::new(floor, price.clone(), self.seed);
            search.aim(&aims);
            let met = search.meet(last, WORK, &|| self.is_over());
            if met { self.kept(problem, finish(&search.floor, false)?.1, deadlines) } else { None }
        })
    }

    /// The schedule as a plan, where it really meets the deadlines (packing may take it past them) and is accepted.
    fn kept(&self, problem: &Problem<'_>, schedule: Schedule, deadlines: &[Option<Min>]) -> Option<Plan> {
        let ready = schedule.ready_times(problem);
        if ready.iter().zip(deadlines).any(|(ready, deadline)| deadline.is_some_and(|d| *ready > d)) {
            return None;
        }
        let statement = Statement {
            objective: Objective::Soonest,
            late_bound: 0,
            bound: 0,
            engine: "exact".to_owned(),
            seed: self.seed,
            notes: Vec::new(),
            prices: Vec::new(),
        };
        let plan = assemble::plan(problem, &schedule, statement);
        (self.accept)(problem.instance, &plan).then_some(plan)
    }
}

/// Deadlines as minutes from the start.
pub(super) fn in_minutes(problem: &Problem<'_>, deadlines: &Deadlines) -> Vec<Option<Min>> {
    let start = problem.instance.farm.start;
    let minute = |at: Instant| (at - start).0.clamp(-1_000_000, i64::from(problem.horizon)) as Min;
    deadlines.iter().map(|d| d.map(minute)).collect()
}

/// Minutes of a slot of operator time: a master over months cannot carry half hours.
fn slot(until: Min) -> Min {
    match until / 1440 {
        0..=25 => 30,
        26..=50 => 60,
        _ => 120,
    }
}
