//! Every plan is valid and true: no rule broken, every figure what follows from the plan, bounds no higher than values,
//! `optimal` only where they meet, and the files as good as the plan.

use platewright_solver::EngineChoice::{self, Auto, Quick};
use platewright_tests::benches::bench;
use platewright_tests::kit_runs::kit_run;
use platewright_tests::trial::{Ask, Found, Trial};
use platewright_tests::weeks::{Size, week};
use std::ops::Range;

/// Plans the weeks of some seeds for both objectives; most must have a plan.
fn weeks(seeds: Range<u64>, size: Size, engine: EngineChoice, interrupt_after: Option<u32>) {
    let (mut planned, mut asked) = (0, 0);
    for seed in seeds {
        let trial = Trial::new(format!("{size:?} week, seed {seed}"), &week(seed, size));
        for ask in [Ask::soonest(engine), Ask::least_idle(engine)] {
            asked += 1;
            planned += u32::from(matches!(trial.plan(Ask { interrupt_after, seed, ..ask }), Found::Plan(_)));
        }
    }
    println!("{planned} of {asked} have a plan");
    assert!(4 * planned >= 3 * asked, "only {planned} of {asked} have a plan: does this try anything?");
}

/// The quick engine's plans of small weeks are valid and true.
#[test]
fn quick_on_tiny_weeks() {
    weeks(0..40, Size::Tiny, Quick, None);
}

/// The quick engine's plans of weeks of some forty runs are valid and true.
#[test]
fn quick_on_middling_weeks() {
    weeks(0..40, Size::Middling, Quick, None);
}

/// The quick engine's plans of weeks of some hundred and fifty runs are valid and true.
#[test]
fn quick_on_large_weeks() {
    weeks(0..24, Size::Large, Quick, None);
}

/// What the planner finds on its own terms for small weeks is valid and true.
#[test]
fn auto_on_tiny_weeks() {
    weeks(100..124, Size::Tiny, Auto, None);
}

/// Interrupted at any stage, the planner still gives a plan that is valid and true.
#[test]
fn interrupted_on_middling_weeks() {
    for after in [0, 1, 4, 9] {
        let first = 200 + 4 * u64::from(after);
        weeks(first..first + 4, Size::Middling, Auto, Some(after));
    }
}

/// Plans of the benches with a break are valid and true, and being so small they are proven to be the best.
#[test]
fn auto_on_benches() {
    for seed in 0..40 {
        let trial = Trial::new(format!("bench, seed {seed}"), &bench(seed));
        let claims = trial.must_plan(Ask::soonest(Auto)).claims;
        assert_eq!((claims.bound, claims.late_bound), (claims.value, claims.late), "{} is proven", trial.name);
        trial.must_plan(Ask::least_idle(Auto));
    }
}

/// Plans of the kit run's relatives, many runs on many printers, are valid and true.
#[test]
fn quick_on_kit_runs() {
    for (seed, printers, kits) in [(0, 5, 40), (1, 20, 200), (2, 50, 300), (3, 12, 150), (4, 100, 500)] {
        let trial = Trial::new(format!("kit run, seed {seed}"), &kit_run(seed, printers, kits));
        trial.must_plan(Ask::soonest(Quick));
        trial.must_plan(Ask::least_idle(Quick));
    }
}
