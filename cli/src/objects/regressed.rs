//! The object of `regress`.

use platewright_report::regression::{Case, Reached};
use serde::Serialize;

/// What `regress --json` prints: `held` where nothing failed, else `failed`.
#[derive(Debug, Serialize)]
pub struct Regressed {
    outcome: &'static str,
    instances: Vec<Instance>,
}

#[derive(Debug, Serialize)]
struct Instance {
    instance: String,
    verdict: &'static str,
    now: Reached,
    was: Option<Reached>,
}

/// Every instance with its verdict.
pub fn cases(cases: &[Case]) -> Regressed {
    let instance = |case: &Case| Instance {
        instance: case.name.clone(),
        verdict: case.verdict.word(),
        now: case.now,
        was: case.was,
    };
    Regressed {
        outcome: if cases.iter().any(|case| case.verdict.fails()) { "failed" } else { "held" },
        instances: cases.iter().map(instance).collect(),
    }
}
