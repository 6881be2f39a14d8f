//! How good plans are that are made in a moment.

use platewright_model::plan::Plan;
use platewright_model::tables;
use platewright_solver::EngineChoice::Quick;
use platewright_tests::trial::{Ask, Trial};
use std::path::Path;

/// A saved instance, and the bound that was proven for it.
fn saved(name: &str) -> (Trial, i64) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances").join(name);
    let instance = tables::read(&folder).unwrap_or_else(|faults| panic!("{name}: {faults}"));
    let expected = std::fs::read_to_string(folder.join("expected.toml")).expect("what the planner reached");
    let bound = expected.lines().find_map(|l| l.strip_prefix("bound_minutes = ")).and_then(|n| n.parse().ok());
    (Trial::of(name, instance), bound.expect("a bound"))
}

fn quick(trial: &Trial) -> Plan {
    trial.must_plan(Ask::soonest(Quick))
}

/// Within a twentieth of what is proven to be the least.
#[test]
fn kit_runs_are_near_their_bounds() {
    for name in ["kit-run", "three-weekly"] {
        let (trial, bound) = saved(name);
        let value = quick(&trial).claims.value.0;
        assert!(value * 100 <= bound * 105, "{name}: {value} against a bound of {bound}");
    }
}

/// A mixed week with due dates, materials, two groups, boxes and a release: nothing is late.
#[test]
fn a_busy_week_is_on_time() {
    let (trial, _) = saved("harbour-week");
    assert_eq!(quick(&trial).claims.late.0, 0);
}
