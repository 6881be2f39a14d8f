//! Plans with spares and with a first lot before the rest are valid and true, and their bounds are bounds.

use platewright_solver::EngineChoice::{Auto, Quick};
use platewright_tests::trial::{Ask, Found, Trial};
use platewright_tests::weeks::{Size, risky_week};

/// Plans the weeks of some seeds; most must have a plan.
fn weeks(seeds: std::ops::Range<u64>, size: Size, engine: platewright_solver::EngineChoice) {
    let (mut planned, mut asked) = (0, 0);
    for seed in seeds {
        let trial = Trial::new(format!("risky {size:?} week, seed {seed}"), &risky_week(seed, size));
        asked += 1;
        planned += u32::from(matches!(trial.plan(Ask { seed, ..Ask::soonest(engine) }), Found::Plan(_)));
    }
    println!("{planned} of {asked} have a plan");
    assert!(3 * planned >= 2 * asked, "only {planned} of {asked} have a plan: does this try anything?");
}

#[test]
fn quick_on_risky_tiny_weeks() {
    weeks(0..60, Size::Tiny, Quick);
}

#[test]
fn quick_on_risky_middling_weeks() {
    weeks(100..130, Size::Middling, Quick);
}

#[test]
fn auto_on_risky_tiny_weeks() {
    weeks(200..230, Size::Tiny, Auto);
}

/// More confidence never takes fewer runs of one plate, and the bound stays below.
#[test]
fn more_confidence_takes_more_runs() {
    let folder = platewright_tests::program::instances().join("spares-two-of-three");
    let mut instance = platewright_model::tables::read(&folder).expect("the instance");
    let mut runs = Vec::new();
    for confidence in [0.0, 0.8, 0.95, 0.99, 0.999] {
        instance.farm.spares = Some(platewright_model::instance::Spares { confidence });
        let stop = std::sync::atomic::AtomicBool::new(false);
        let accept = |plan: &platewright_model::Plan| platewright_checker::check(&instance, plan).holds();
        let request = platewright_solver::Request {
            objective: platewright_model::plan::Objective::Soonest,
            engine: Auto,
            time_limit: None,
            seed: 0,
            stop: &stop,
            progress: &|_| {},
            accept: &accept,
        };
        let platewright_solver::Answer::Plan(plan) = platewright_solver::solve(&instance, &request) else {
            panic!("a plan for {confidence}")
        };
        assert_eq!(plan.claims.bound, plan.claims.value, "{confidence} is proven");
        runs.push(plan.claims.runs.0);
    }
    // Of k plates two must succeed: 0.81, 0.972, 0.9963, 0.99954.
    assert_eq!(runs, [2, 2, 3, 4, 5]);
}
