//! Decisions: questions that are answered by planning again and again.
//!
//! What may be promised ([`earliest()`]), what would be needed for a wish ([`Planner::meets`] on a farm with more of
//! something), which plates are worth cutting (plans compared by [`merit`]) and what one more of anything gains
//! ([`onward()`]). Each answer rests on plans that the caller's check accepted, and on bounds; where a plan that
//! is known already would do in a changed farm too, it stays a candidate ([`Planner::carry`]), so that no answer gets
//! worse by adding something.

mod aims;
mod clash;
mod earliest;
mod known;
mod meet;
mod more;
mod onward;
mod tries;
mod wish;
mod wishes;

pub use clash::{Claim, clash};
pub use earliest::{Book, Earliest, earliest, soon_after};
pub use meet::Meets;
pub use more::More;
pub use onward::onward;
pub use wish::{Wish, smallest, wish};
pub use wishes::{Contradiction, Size};

use crate::engine::{Answer, EngineChoice, Progress, Request, solve, solve_for_dates};
use platewright_model::plan::{Objective, Outcome};
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// How questions are put to the engines, the same for every question of a decision.
pub struct Planner<'a> {
    /// By which engine.
    pub engine: EngineChoice,
    /// When to stop, for the whole decision.
    pub until: Option<Instant>,
    /// Seed of the random choices.
    pub seed: u64,
    /// Set from outside to end the search.
    pub stop: &'a AtomicBool,
    /// Told which question is being answered, and how the search for it stands.
    pub progress: &'a dyn Fn(&str, Option<Progress>),
    /// The caller's verdict on a plan.
    pub accept: &'a dyn Fn(&Instance, &Plan) -> bool,
}

impl Planner<'_> {
    /// Plans an instance.
    pub fn plan(&self, question: &str, instance: &Instance) -> Answer {
        self.request(question, instance, solve)
    }

    /// Plans an instance for its due dates alone. Where the plan is on time, that of [`Planner::plan`] is too; its makespan
    /// has no bound.
    pub fn plan_for_dates(&self, question: &str, instance: &Instance) -> Answer {
        self.request(question, instance, solve_for_dates)
    }

    fn request(&self, question: &str, instance: &Instance, solve: fn(&Instance, &Request<'_>) -> Answer) -> Answer {
        (self.progress)(question, None);
        let left = self.until.map(|until| until.saturating_duration_since(Instant::now()));
        let request = Request {
            objective: Objective::Soonest,
            engine: self.engine,
            time_limit: left.map(|left| left.max(Duration::from_millis(1))),
            seed: self.seed,
            stop: self.stop,
            progress: &|progress| (self.progress)(question, Some(progress)),
            accept: &|plan| (self.accept)(instance, plan),
        };
        solve(instance, &request)
    }

    /// Whether the time is up or somebody asked to stop.
    pub fn is_over(&self) -> bool {
        self.stop.load(Ordering::Relaxed) || self.until.is_some_and(|until| Instant::now() >= until)
    }

    /// A plan made for one instance as a plan for another, where it is valid there too. Its bounds are those given:
    /// what was proven for one instance need not hold for the other.
    pub fn carry(&self, plan: &Plan, to: &Instance, bound: Minutes, late_bound: WeightedMinutes) -> Option<Plan> {
        let mut carried = plan.clone();
        carried.instance_digest = to.digest();
        for (shipment, of) in carried.shipments.iter_mut().zip(&to.shipments) {
            shipment.due = of.due;
            shipment.late = of.due.map_or(Minutes::ZERO, |due| Minutes((shipment.ready - due).0.max(0)));
        }
        let claims = &mut carried.claims;
        claims.late = carried.shipments.iter().zip(&to.shipments).map(|(s, of)| of.weight.of_lateness(s.late)).sum();
        claims.bound = bound.min(claims.value);
        claims.late_bound = late_bound.min(claims.late);
        let optimal = claims.bound == claims.value && claims.late_bound == claims.late;
        claims.outcome = if optimal { Outcome::Optimal } else { Outcome::Feasible };
        // What the prices said was said of the other farm.
        claims.prices.clear();
        (self.accept)(to, &carried).then_some(carried)
    }

    /// The better of a new plan for a changed instance and the plan from before the change.
    pub fn better(&self, new: Plan, before: &Plan, changed: &Instance) -> Plan {
        if merit(&new) <= merit(before) {
            return new;
        }
        self.carry(before, changed, new.claims.bound, new.claims.late_bound).unwrap_or(new)
    }
}

/// What plans are compared by: lateness, makespan, sum of ready times, runs.
pub fn merit(plan: &Plan) -> (WeightedMinutes, Minutes, i64, u64) {
    let ready = plan.shipments.iter().map(|s| s.ready.0).sum();
    (plan.claims.late, plan.claims.makespan, ready, plan.claims.runs.0)
}
