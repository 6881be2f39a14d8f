//! What the bound rests on: passes that agree, cuts that plans obey, prices that never exclude a plan that exists.

mod chains;
mod cuts;
mod days;
mod dive;
mod held;
mod idle;
mod in_step;
mod large;
mod mornings;
mod packing;
mod passes;
mod prices;
mod room;
mod sequence;
mod whole;

use platewright_model::Instance;
use platewright_model::plan::Objective;
use platewright_solver::assemble::{self, Statement};
use platewright_solver::complete;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::schedule::Schedule;
use std::path::{Path, PathBuf};

/// A saved instance.
fn instance(name: &str) -> Instance {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances").join(name);
    platewright_model::tables::read(&folder).unwrap_or_else(|faults| panic!("{name}: {faults}"))
}

/// When the shipments of the best plan are ready; searching everything finds and proves it.
fn best_ready(name: &str, problem: &Problem<'_>) -> Vec<Min> {
    let found = complete::search(problem, false, None, 2_000_000, &|| false);
    assert!(found.proven, "{name} is searched completely");
    found.best.unwrap_or_else(|| panic!("{name} has a plan")).ready_times(problem)
}

/// The rules that a schedule breaks, as the checker sees it.
fn breaches(problem: &Problem<'_>, schedule: &Schedule) -> Vec<String> {
    let statement = Statement {
        objective: Objective::Soonest,
        late_bound: 0,
        bound: 0,
        engine: "exact".to_string(),
        seed: 0,
        notes: Vec::new(),
        prices: Vec::new(),
    };
    let report = platewright_checker::check(problem.instance, &assemble::plan(problem, schedule, statement));
    report.breaches.iter().map(|breach| format!("{breach:?}")).collect()
}

/// The minute at which all shipments are ready.
fn makespan(ready: &[Min]) -> Min {
    ready.iter().copied().max().unwrap_or(0)
}

/// The names of all saved instances small enough to be searched completely.
fn tiny() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .expect("the instances are part of the project")
        .filter_map(|entry| entry.ok())
        .map(|entry: std::fs::DirEntry| -> PathBuf { entry.path() })
        .filter_map(|path| Some(path.file_name()?.to_str()?.to_string()))
        .filter(|name| name.starts_with("tiny-"))
        .collect();
    names.sort();
    assert!(names.len() >= 6, "the tiny instances are there: {names:?}");
    names
}
