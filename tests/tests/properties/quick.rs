//! How good plans are that are made in a moment.

use platewright_model::plan::Plan;
use platewright_model::tables;
use platewright_solver::EngineChoice::Quick;
use platewright_tests::mixed_weeks::mixed_week;
use platewright_tests::trial::{Ask, Trial};
use std::path::Path;

/// Seeds of the busiest mixed weeks of the first two dozen that can be on time.
const ON_TIME: [u64; 6] = [1, 8, 13, 21, 23, 24];

/// The tables of a folder of this package.
fn tables_in(folder: &str) -> Trial {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    Trial::of(folder, tables::read(&path).unwrap_or_else(|faults| panic!("{folder}: {faults}")))
}

/// A saved instance, and what the whole planner reached and proved for it.
fn saved(name: &str) -> (Trial, i64, i64) {
    let trial = tables_in(&format!("../instances/{name}"));
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances").join(name).join("expected.toml");
    let expected = std::fs::read_to_string(path).expect("what the planner reached");
    let figure = |key: &str| expected.lines().find_map(|l| l.strip_prefix(key)).and_then(|n| n.parse().ok());
    (trial, figure("value_minutes = ").expect("a value"), figure("bound_minutes = ").expect("a bound"))
}

fn quick(trial: &Trial) -> Plan {
    trial.must_plan(Ask::soonest(Quick))
}

/// Within a twentieth of what is proven to be the least.
#[test]
fn kit_runs_are_near_their_bounds() {
    for name in ["kit-run", "three-weekly"] {
        let (trial, _, bound) = saved(name);
        let value = quick(&trial).claims.value.0;
        assert!(value * 100 <= bound * 105, "{name}: {value} against a bound of {bound}");
    }
}

/// A mixed week with due dates, materials, two groups, boxes and a release: nothing is late, and its end is within a
/// twentieth of that of the plan the whole planner makes.
#[test]
fn a_busy_week_is_on_time() {
    let (trial, value, _) = saved("harbour-week");
    let claims = quick(&trial).claims;
    assert_eq!(claims.late.0, 0);
    assert!(claims.value.0 * 100 <= value * 105, "{} against {value}", claims.value.0);
}

/// One that is easily late: where boxes are not packed in time for Saturday noon, it is a day. `tests/outside/relatives.py
/// --kind mixed --seed 1` wrote its tables.
#[test]
fn a_week_with_boxes_to_pack_on_saturday_is_on_time() {
    assert_eq!(quick(&tables_in("tests/properties/mixed-week")).claims.late.0, 0);
}

/// Lateness first: where a week can be on time without much ado, it is.
#[test]
fn mixed_weeks_that_can_be_on_time_are() {
    for seed in ON_TIME {
        let trial = Trial::new(format!("mixed week {seed}"), &mixed_week(seed));
        assert_eq!(quick(&trial).claims.late.0, 0, "seed {seed}");
    }
}
