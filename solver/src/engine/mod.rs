//! The engines put together: quick first, then the bound, then the search towards it.
//!
//! `quick` dispatches in several manners and keeps the best. `exact` searches completely where the instance is small
//! enough; else it proves a bound by columns and searches with large neighbourhoods between the bound and the best
//! known plan: first for less lateness, then, no later, for the objective. `auto` is `exact` that says so where it had
//! to rest on `quick`. Whatever is found last is only given out if the caller accepts it; else the next best is.
//!
//! What is random comes from the seed, and what limits a search is counted work, so that a result can be repeated on
//! any machine; only a time limit or an interruption ends it elsewhere, and the plan then says so.

mod aims;
mod by_days;
mod campaign;
mod cells;
mod deadlines;
mod descent;
mod guide;
mod hunt;
mod idle;
mod in_step;
mod meet;
mod reasons;
mod rounds;
mod sequences;
mod stage;
mod threads;

pub use threads::allow as allow_threads;

pub(crate) use guide::Guide;

use crate::problem::Problem;
use platewright_model::plan::Objective;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};
use std::sync::atomic::AtomicBool;
use std::time::Duration;

/// Which engine is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EngineChoice {
    /// Exact, resting on quick where exact finds nothing.
    #[default]
    Auto,
    /// Bound and search.
    Exact,
    /// The dispatcher alone.
    Quick,
}

/// How the search stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress {
    /// The best plan's value.
    pub value: Option<Minutes>,
    /// The proven bound on it.
    pub bound: Option<Minutes>,
    /// The best plan's weighted lateness.
    pub late: Option<WeightedMinutes>,
    /// What is being done, in a word or two.
    pub phase: &'static str,
}

/// What is asked.
pub struct Request<'a> {
    /// What to minimise.
    pub objective: Objective,
    /// By which engine.
    pub engine: EngineChoice,
    /// Longest wall time; the result then says that it was cut short.
    pub time_limit: Option<Duration>,
    /// Seed of the random choices.
    pub seed: u64,
    /// Set from outside to end the search; the best plan so far is given.
    pub stop: &'a AtomicBool,
    /// Told how the search stands.
    pub progress: &'a dyn Fn(Progress),
    /// The caller's verdict on a plan; one that is refused is not given out.
    pub accept: &'a dyn Fn(&Plan) -> bool,
}

/// What came of it.
#[derive(Debug)]
pub enum Answer {
    /// A plan that the caller accepted.
    Plan(Box<Plan>),
    /// No plan.
    None {
        /// Whether none exists; else none was found.
        proven: bool,
        /// Why, in the planner's words.
        reasons: Vec<String>,
    },
}

/// Plans an instance.
pub fn solve(instance: &Instance, request: &Request<'_>) -> Answer {
    answer(instance, request, false)
}

/// Plans an instance as [`solve`] begins to, until nothing is late or what it does for less lateness is done. Where this
/// plan is on time that of [`solve`] is too, because it only goes on from it; of its makespan nothing is proven.
pub fn solve_for_dates(instance: &Instance, request: &Request<'_>) -> Answer {
    answer(instance, request, true)
}

fn answer(instance: &Instance, request: &Request<'_>, only_dates: bool) -> Answer {
    let problem = match request.objective {
        Objective::Soonest => Problem::new(instance),
        Objective::LeastIdle => Problem::for_least_idle(instance),
    };
    let limit = hunt::Limit::new(request);
    let stage = stage::set(problem, request, &limit);
    let mut hunt = hunt::Hunt::new(&stage, request, limit);
    hunt.begin();
    hunt.quick();
    if request.engine != EngineChoice::Quick {
        // The last line of defence: whatever goes wrong in a search, the plans found until then are whole.
        let run = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| hunt.exact(only_dates)));
        if run.is_err() {
            hunt.exact_failed();
        }
    }
    hunt.answer()
}
