//! Whatever the prices, what they exclude is impossible.

use crate::passes::random_prices;
use crate::{instance, tiny};
use platewright_solver::columns::bound::{Effort, Relaxation};
use platewright_solver::columns::idle::idle_bound;
use platewright_solver::complete;
use platewright_solver::problem::Problem;
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

#[test]
fn random_prices_never_exclude_the_proven_best_makespan() {
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let found = complete::search(&problem, false, None, 2_000_000, &|| false);
        let best = found.best.unwrap_or_else(|| panic!("{name} has a plan"));
        let ready = best.ready_times(&problem);
        let makespan = ready.iter().copied().max().unwrap_or(0);
        // The best plan keeps its own ready times as deadlines: no prices may exclude it under them.
        for deadlines in [vec![problem.horizon; ready.len()], ready.clone()] {
            let relaxation = Relaxation::new(&problem, &deadlines, 30);
            for seed in 0..200 {
                let mut rng = ChaCha8Rng::seed_from_u64(seed);
                let prices = random_prices(&problem, relaxation.rows(), &mut rng);
                let first = relaxation.first_not_excluded(&prices, makespan);
                assert!(first <= makespan, "{name}, seed {seed}: {first} is said to be the first, {makespan} exists");
            }
        }
    }
}

#[test]
fn climbed_bounds_never_pass_the_proven_best_makespan_at_any_slot() {
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let found = complete::search(&problem, false, None, 2_000_000, &|| false);
        let best = found.best.unwrap_or_else(|| panic!("{name} has a plan"));
        let makespan = best.ready_times(&problem).into_iter().max().unwrap_or(0);
        let open = vec![problem.horizon; problem.orders.len()];
        for slot in [60, 30, 7, 1] {
            let effort = Effort { rounds: 200, finest: slot, coarsest: slot };
            let bound = Relaxation::new(&problem, &open, slot).climb(0, problem.horizon, &[], None, effort, &|_| false);
            assert!(bound.makespan <= makespan, "{name}, slots of {slot}: bound {} over {makespan}", bound.makespan);
            assert!(bound.makespan > 0 || makespan == 0, "{name}: the bound says something");
        }
    }
}

#[test]
fn bounds_on_idle_minutes_never_pass_the_proven_fewest() {
    let mut proven = 0;
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::for_least_idle(&instance);
        let found = complete::search(&problem, true, None, 2_000_000, &|| false);
        let Some(best) = found.best.filter(|_| found.proven) else { continue };
        let merit = best.merit(&problem, true);
        // The best plan keeps both sets of deadlines, so under neither may a bound lie above its idle minutes.
        let ready = best.ready_times(&problem);
        for deadlines in [vec![problem.horizon; ready.len()], ready] {
            for slot in [30, 5] {
                let bound = idle_bound(&problem, &deadlines, &[], slot, 150, &|| false);
                assert!(bound <= merit.value, "{name}, slots of {slot}: {bound} over {}", merit.value);
            }
        }
        proven += 1;
    }
    assert!(proven >= 10, "most tiny instances are proven: {proven}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Prices near those the master likes are the dangerous ones: perturb them and look again.
    #[test]
    fn perturbed_prices_of_a_climb_never_exclude_a_plan_that_exists(seed in 0u64..1000, shake in 1i64..60) {
        let names = tiny();
        let name = &names[seed as usize % names.len()];
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let found = complete::search(&problem, false, None, 2_000_000, &|| false);
        let best = found.best.expect("tiny instances have plans");
        let makespan = best.ready_times(&problem).into_iter().max().unwrap_or(0);
        let open = vec![problem.horizon; problem.orders.len()];
        let effort = Effort { rounds: 60, finest: 30, coarsest: 30 };
        let relaxation = Relaxation::new(&problem, &open, 30);
        let climbed = relaxation.climb(0, problem.horizon, &[], None, effort, &|_| false);
        if let Some(mut prices) = climbed.prices {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            use rand::Rng;
            for p in prices.need.iter_mut().chain(&mut prices.cut).chain(&mut prices.slot).chain(&mut prices.night) {
                *p = *p * rng.random_range(100 - shake..=100 + shake) / 100;
            }
            let first = relaxation.first_not_excluded(&prices, makespan);
            prop_assert!(first <= makespan, "{name}: {first} over {makespan}");
        }
    }
}
