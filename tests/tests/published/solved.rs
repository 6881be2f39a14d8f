//! One case, planned and checked.

use platewright_model::plan::{Claims, Outcome};
use platewright_solver::EngineChoice::Auto;
use platewright_tests::machines::{Job, room};
use platewright_tests::trial::{Ask, Trial};

/// What the planner makes of a case, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Solved {
    /// The plan's makespan.
    pub value: i64,
    /// The bound on it.
    pub bound: i64,
    /// Whether the planner says that it is the best.
    pub proven: bool,
}

impl Solved {
    /// The best, and proven to be.
    pub fn optimum(value: i64) -> Solved {
        Solved { value, bound: value, proven: true }
    }

    fn of(claims: &Claims) -> Solved {
        Solved { value: claims.value.0, bound: claims.bound.0, proven: claims.outcome == Outcome::Optimal }
    }
}

/// Plans a case to its end.
pub fn solve(name: &str, machines: usize, operators: usize, jobs: &[Job]) -> Solved {
    let trial = Trial::new(name, &room(name, machines, operators, jobs));
    Solved::of(&trial.must_plan(Ask::soonest(Auto)).claims)
}
