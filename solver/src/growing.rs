//! Linear programs that grow by columns, as HiGHS is set for them everywhere.
//!
//! One thread and a fixed seed, because the same columns must have the same prices every time; no presolve, which has
//! had wrong answers. The number of threads must be the same in every solve on one thread of the operating system.

use highs::{ColProblem, Model, Sense};

/// A program to be solved again and again as columns come in; none where the solver refuses it.
pub(crate) fn growing(problem: ColProblem, sense: Sense) -> Option<Model> {
    let mut model = problem.try_optimise(sense).ok()?;
    model.make_quiet();
    model.try_set_option("threads", 1).ok()?;
    model.try_set_option("parallel", "off").ok()?;
    model.try_set_option("random_seed", 1).ok()?;
    model.try_set_option("presolve", "off").ok()?;
    Some(model)
}
