//! Plans taken for sequences: whatever is changed, what comes out is a plan by the rules, and sooner.

use crate::{best_ready, breaches, instance, makespan, tiny};
use platewright_solver::dispatch::quick;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::schedule::{Merit, Schedule};
use platewright_solver::sequence::{applies, improve};

/// The first plan that the quick engine thinks of, and often its worst.
fn first_plan(problem: &Problem<'_>) -> Option<(Merit, Schedule)> {
    let mut first = None;
    quick(problem, false, 3, &|| false, &mut |merit, plan| first = first.take().or(Some((merit, plan))));
    first
}

#[test]
fn sequences_end_sooner_by_the_rules_and_never_before_the_proven_best() {
    let mut sooner = 0;
    for name in
        tiny().into_iter().chain(["harbour-week", "evening-or-morning", "gap-first-lot-boxes"].map(String::from))
    {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let Some((merit, plan)) = first_plan(&problem).filter(|_| applies(&problem)) else { continue };
        let allowed = plan.ready_times(&problem);
        let allowed: Vec<Min> = allowed.iter().map(|_| makespan(&allowed)).collect();
        for seed in 0..3 {
            let Some((better, found)) = improve(&problem, &allowed, &plan, 0, seed, 400_000, &|| false) else {
                continue;
            };
            sooner += 1;
            assert_eq!(breaches(&problem, &found), Vec::<String>::new(), "{name}");
            assert!(better < merit, "{name}: {better:?} after {merit:?}");
            if name.starts_with("tiny-") {
                let best = makespan(&best_ready(&name, &problem));
                assert!(better.value >= i64::from(best), "{name}: {better:?} before {best}");
            }
        }
    }
    assert!(sooner >= 5, "{sooner} plans were found");
}

#[test]
fn no_shipment_is_later_than_it_may_be() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let (_, plan) = first_plan(&problem).expect("the demo has a quick plan");
    let allowed = plan.ready_times(&problem);
    if let Some((_, found)) = improve(&problem, &allowed, &plan, 0, 5, 4_000_000, &|| false) {
        let ready = found.ready_times(&problem);
        assert!(ready.iter().zip(&allowed).all(|(ready, allowed)| ready <= allowed), "{ready:?} and {allowed:?}");
    }
}

#[test]
fn the_same_seed_changes_the_same() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let (_, plan) = first_plan(&problem).expect("the demo has a quick plan");
    let open = vec![problem.horizon; problem.orders.len()];
    let once = improve(&problem, &open, &plan, 0, 9, 1_000_000, &|| false);
    assert_eq!(once, improve(&problem, &open, &plan, 0, 9, 1_000_000, &|| false));
    assert!(once.is_some(), "the quick engine's first plan can be bettered");
}
