//! The same question twice has the same answer, and a different seed or engine never a false one.

use platewright_solver::EngineChoice::{Auto, Exact, Quick};
use platewright_tests::benches::bench;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};

/// Asked twice, the quick engine gives the same plan.
#[test]
fn quick_repeats_itself() {
    for seed in 300..312 {
        let trial = Trial::new(format!("Middling week, seed {seed}"), &week(seed, Size::Middling));
        for ask in [Ask::soonest(Quick), Ask::least_idle(Quick)] {
            assert_eq!(trial.plan(ask).plan(), trial.plan(ask).plan(), "{}", trial.name);
        }
    }
}

/// Asked twice, the planner gives the same plan, whichever the seed of its choices.
#[test]
fn auto_repeats_itself() {
    for seed in 320..328 {
        let trial = Trial::new(format!("Tiny week, seed {seed}"), &week(seed, Size::Tiny));
        let ask = Ask { seed, ..Ask::soonest(Auto) };
        assert_eq!(trial.plan(ask).plan(), trial.plan(ask).plan(), "{}", trial.name);
    }
}

/// Where the best is proven, the seed of the choices does not change what is best.
#[test]
fn the_optimum_does_not_depend_on_the_seed() {
    for seed in 340..352 {
        let trial = Trial::new(format!("bench, seed {seed}"), &bench(seed));
        let of = |seed| trial.must_plan(Ask { seed, ..Ask::soonest(Exact) }).claims.value;
        assert_eq!(of(1), of(2), "{}", trial.name);
    }
}

/// Searching never ends in a worse plan than the quick engine's: less late, or as late and no later in the objective.
#[test]
fn auto_is_never_worse_than_quick() {
    for seed in 360..376 {
        let trial = Trial::new(format!("Tiny week, seed {seed}"), &week(seed, Size::Tiny));
        for [quick, auto] in [[Quick, Auto].map(Ask::soonest), [Quick, Auto].map(Ask::least_idle)] {
            if let Some(quick) = trial.plan(quick).plan() {
                let (quick, auto) = (quick.claims, trial.must_plan(auto).claims);
                assert!((auto.late, auto.value) <= (quick.late, quick.value), "{}: {auto:?} {quick:?}", trial.name);
            }
        }
    }
}
