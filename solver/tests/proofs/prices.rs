//! Whatever the prices, what they exclude is impossible.

use crate::passes::random_prices;
use crate::{best_ready, instance, makespan, tiny};
use platewright_solver::columns::bound::{Effort, Relaxation};
use platewright_solver::columns::idle::IdleBound;
use platewright_solver::columns::prices::{Prices, Rows};
use platewright_solver::columns::rounds::{Patience, within};
use platewright_solver::complete;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::finish::finish;
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};
use proptest::prelude::*;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// No prices that are drawn like this exclude a plan that is ready by a makespan.
pub fn none_excludes(
    name: &str,
    problem: &Problem<'_>,
    relaxation: &Relaxation<'_>,
    makespan: Min,
    draw: fn(&Problem<'_>, &Rows, &mut ChaCha8Rng) -> Prices,
) {
    for seed in 0..200 {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let prices = draw(problem, relaxation.rows(), &mut rng);
        let first = relaxation.first_not_excluded(&prices, makespan);
        assert!(first <= makespan, "{name}, seed {seed}: {first} is said to be the first, {makespan} exists");
    }
}

#[test]
fn random_prices_never_exclude_the_proven_best_makespan() {
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let ready = best_ready(&name, &problem);
        let makespan = makespan(&ready);
        // The best plan keeps its own ready times as deadlines: no prices may exclude it under them.
        for deadlines in [vec![problem.horizon; ready.len()], ready] {
            let relaxation = Relaxation::new(&problem, &deadlines, 30);
            none_excludes(&name, &problem, &relaxation, makespan, random_prices);
        }
    }
}

/// With a confidence the bound asks for the fewest spares of any plan, so no plan with spares may be excluded either.
#[test]
fn random_prices_never_exclude_a_plan_with_spares() {
    let mut tried = 0;
    for name in tiny() {
        let mut instance = instance(&name);
        instance.farm.horizon_days = 30;
        instance.parts.iter_mut().for_each(|part| part.reject_rate = 0.02);
        let plates = instance.plates.iter_mut().flat_map(|plate| &mut plate.on_groups);
        plates.enumerate().for_each(|(at, on)| on.failure_rate = [0.1, 0.02, 0.3][at % 3]);
        instance.farm.spares = Some(platewright_model::instance::Spares { confidence: 0.9 });
        let problem = Problem::new(&instance);
        let manner = Manner { lag: 60, urgency: 150 };
        let floors = (0..6).map(|level| {
            let problem = problem.clone().aimed(level);
            let floor = dispatch(&problem, &mix::prices(&problem), manner, &|| false);
            finish(&floor, false).map(|plan| plan.1.ready_times(&problem))
        });
        let Some(ready) = floors.flatten().next() else { continue };
        tried += 1;
        let makespan = makespan(&ready);
        for deadlines in [vec![problem.horizon; ready.len()], ready] {
            let relaxation = Relaxation::new(&problem, &deadlines, 30);
            none_excludes(&name, &problem, &relaxation, makespan, random_prices);
            let effort = Effort { rounds: 100, finest: 30, coarsest: 30 };
            let bound = relaxation.climb(0, makespan, &[], None, effort, &|_| false);
            assert!(bound.makespan <= makespan, "{name}: bound {} over {makespan}", bound.makespan);
        }
    }
    assert!(tried >= 8, "most tiny instances have a plan with spares: {tried}");
}

#[test]
fn climbed_bounds_never_pass_the_proven_best_makespan_at_any_slot() {
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let makespan = makespan(&best_ready(&name, &problem));
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
            let last = deadlines.iter().copied().max().unwrap_or(0);
            let relaxations = [
                Relaxation::new(&problem, &deadlines, 30),
                Relaxation::new(&problem, &deadlines, 5),
                Relaxation::recurring(&problem, &deadlines, last),
            ];
            for (at, mut relaxation) in relaxations.into_iter().enumerate() {
                let near = within(0.0);
                let patience = Patience { near: &near, rounds: 150, stop: &|| false };
                let bound = relaxation.least_idle(IdleBound::none(Vec::new()), &patience);
                assert!(
                    bound.minutes <= merit.value,
                    "{name}, relaxation {at}: {} over {}",
                    bound.minutes,
                    merit.value
                );
                let coarsest = relaxation.slot();
                let same = bound.prices.as_ref().and_then(|prices| relaxation.make_finer(prices, 3, coarsest));
                let Some(same) = same else { continue };
                // The same prices on finer slots prove no less.
                assert!(relaxation.idle_proven_by(&same) >= bound.minutes, "{name}, relaxation {at}");
                let known = IdleBound { prices: Some(same), ..bound };
                let bound = relaxation.least_idle(known, &patience);
                assert!(bound.minutes <= merit.value, "{name}, finer {at}: {} over {}", bound.minutes, merit.value);
                let mut rng = ChaCha8Rng::seed_from_u64(at as u64);
                for shake in 1..40 {
                    let mut prices = bound.prices.clone().expect("a bound has prices");
                    for of in
                        [&mut prices.need, &mut prices.cut, &mut prices.slot, &mut prices.night, &mut prices.morning]
                    {
                        of.iter_mut().for_each(|p| *p = *p * rng.random_range(100 - shake..=100 + shake) / 100);
                    }
                    let proven = relaxation.idle_proven_by(&prices);
                    assert!(proven <= merit.value, "{name}, shaken by {shake} %: {proven} over {}", merit.value);
                }
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
        let makespan = makespan(&best_ready(name, &problem));
        let open = vec![problem.horizon; problem.orders.len()];
        let effort = Effort { rounds: 60, finest: 30, coarsest: 30 };
        let relaxation = Relaxation::new(&problem, &open, 30);
        let climbed = relaxation.climb(0, problem.horizon, &[], None, effort, &|_| false);
        if let Some(mut prices) = climbed.prices {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            for of in [&mut prices.need, &mut prices.cut, &mut prices.slot, &mut prices.night, &mut prices.morning] {
                of.iter_mut().for_each(|p| *p = *p * rng.random_range(100 - shake..=100 + shake) / 100);
            }
            let first = relaxation.first_not_excluded(&prices, makespan);
            prop_assert!(first <= makespan, "{name}: {first} over {makespan}");
        }
    }
}
