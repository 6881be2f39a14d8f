//! Can shipments be ready by given moments? Yes, with a plan; never, with a proof; or neither is known.

use super::Planner;
use super::tries::{Tries, Work};
use crate::columns::bound::{Effort, Relaxation};
use crate::problem::{Min, Problem};
use platewright_model::{Instance, Instant, Plan};

/// Rounds of columns for a proof.
const ROUNDS: usize = 120;

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
        let found = Tries::new(self, &problem).aim(&minutes, known, Work::WHOLE);
        let kept = |plan: &Plan| {
            let ready = plan.shipments.iter().map(|shipment| shipment.ready);
            ready.zip(deadlines).all(|(ready, deadline)| deadline.is_none_or(|by| ready <= by))
        };
        found.filter(kept).map_or(Meets::NotFound, |plan| Meets::Yes(Box::new(plan)))
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
}

/// Deadlines as minutes from the start.
pub(super) fn in_minutes(problem: &Problem<'_>, deadlines: &Deadlines) -> Vec<Option<Min>> {
    let start = problem.instance.farm.start;
    let minute = |at: Instant| (at - start).0.clamp(-1_000_000, i64::from(problem.horizon)) as Min;
    deadlines.iter().map(|d| d.map(minute)).collect()
}

/// Minutes of a slot of operator time: a master over months cannot carry half hours.
pub(super) fn slot(until: Min) -> Min {
    match until / 1440 {
        0..=25 => 30,
        26..=50 => 60,
        _ => 120,
    }
}
