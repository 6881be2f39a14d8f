//! The search for few idle minutes: its floors are plans by the rules, and it knows what a plate is worth that nobody needs.

use crate::{breaches, instance, tiny};
use platewright_solver::complete;
use platewright_solver::finish::finish;
use platewright_solver::floor::Floor;
use platewright_solver::improve::Search;
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::schedule::{Merit, Schedule};

fn settled(problem: &Problem<'_>, deadlines: &[Min], work: u64) -> Option<(Merit, Schedule)> {
    let price = mix::prices(problem);
    let mut search = Search::new(Floor::new(problem, deadlines), price.clone(), 1).counting_idle();
    search.settle_in_paces(deadlines, work, &price, &|| false);
    let counted: i64 = search.floor.machines.iter().map(|m| m.runs.len() as i64).sum();
    finish(&search.floor, true).inspect(|plan| assert!(plan.0.runs <= counted))
}

#[test]
fn floors_settled_in_paces_are_plans_and_never_below_the_proven_fewest() {
    let (mut plans, mut best) = (0, 0);
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::for_least_idle(&instance);
        let found = complete::search(&problem, true, None, 2_000_000, &|| false);
        let Some(fewest) = found.best.filter(|_| found.proven) else { continue };
        let ready = fewest.ready_times(&problem);
        let Some((merit, schedule)) = settled(&problem, &ready, 20_000_000) else { continue };
        plans += 1;
        let breaches = breaches(&problem, &schedule);
        assert!(breaches.is_empty(), "{name}: {breaches:?}");
        assert_eq!(merit.value, schedule.idle_minutes(&problem), "{name}");
        let late = (schedule.merit(&problem, true).late, fewest.merit(&problem, true).late);
        let (ours, proven) = (merit.value, fewest.merit(&problem, true).value);
        assert!(late.0 != late.1 || ours >= proven, "{name}: {ours} is fewer than {proven}");
        best += usize::from(late.0 == late.1 && ours == proven);
    }
    assert!(plans >= 8 && best * 2 >= plans, "{best} of {plans} plans have the fewest");
}

/// What nobody needs prints through a wait; taken out, the printer would stand idle for as long.
#[test]
fn plates_that_nobody_needs_fill_waits() {
    let instance = instance("tiny-print-through-wait");
    let problem = Problem::for_least_idle(&instance);
    let best = complete::search(&problem, true, None, 2_000_000, &|| false).best.expect("it has a plan");
    let (merit, schedule) =
        settled(&problem, &best.ready_times(&problem), 20_000_000).expect("the search finds a plan");
    assert_eq!(merit.value, best.merit(&problem, true).value);
    let given = |run: usize| schedule.gives.iter().any(|give| give.run == Some(run));
    assert!((0..schedule.runs.len()).any(|run| !given(run)), "some run is for nobody");
}

#[test]
fn a_week_settled_in_paces_is_a_plan_and_the_same_each_time() {
    let instance = instance("harbour-week");
    let problem = Problem::for_least_idle(&instance);
    let deadlines: Vec<Min> = problem.orders.iter().map(|o| o.due.unwrap_or(problem.horizon)).collect();
    let (merit, schedule) = settled(&problem, &deadlines, 300_000_000).expect("the week has a plan");
    assert!(breaches(&problem, &schedule).is_empty());
    assert!(merit.value < 72_000, "{} idle minutes; 72,500 without paces", merit.value);
    assert_eq!(Some(merit), settled(&problem, &deadlines, 300_000_000).map(|plan| plan.0));
}
