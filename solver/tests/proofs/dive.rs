//! Floors dived for: whatever the relaxation proposes, what is booked is a plan by the rules.

use crate::{breaches, instance, tiny};
use platewright_solver::dive::Dive;
use platewright_solver::finish::finish;
use platewright_solver::floor::Floor;
use platewright_solver::improve::Search;
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};

fn dived<'p>(problem: &'p Problem<'p>, deadlines: &[Min], seed: u64) -> Floor<'p> {
    let mut dive = Dive::new(Floor::new(problem, deadlines), deadlines);
    dive.go_on(0, seed, &|| false);
    dive.floor
}

#[test]
fn what_is_dived_for_and_mended_is_a_plan_by_the_rules() {
    let mut plans = 0;
    for name in tiny().into_iter().chain(["harbour-week".to_string()]) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let open = vec![problem.horizon.min(16_000); problem.orders.len()];
        let mut search = Search::new(dived(&problem, &open, 1), mix::prices(&problem), 1);
        search.aim(&open);
        search.meet(open[0], 20_000_000, &|| false);
        let Some((_, schedule)) = finish(&search.floor, false) else { continue };
        plans += 1;
        let breaches = breaches(&problem, &schedule);
        assert!(breaches.is_empty(), "{name}: {breaches:?}");
    }
    assert!(plans >= 12, "most of the small rooms have a plan: {plans}");
}

#[test]
fn the_kit_run_dived_for_lacks_little() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let price = mix::prices(&problem);
    let whole: i64 = mix::total_needs(&problem).iter().zip(&price).map(|(n, p)| n * p).sum();
    let missing = |seed: u64| {
        let floor = dived(&problem, &[16_440], seed);
        assert!(floor.machines.iter().flat_map(|m| &m.runs).all(|r| r.leg.harvest_to <= 16_440));
        floor.demand.shortage(&price)
    };
    let first = missing(1);
    assert!(first * 100 < whole * 3, "{first} of {whole}");
    assert_eq!(first, missing(1), "the same seed makes the same choices");
}

#[test]
fn half_a_dive_leaves_half_of_the_printers_and_can_be_gone_on_with() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let deadlines = vec![10_000; problem.orders.len()];
    let mut half = Dive::new(Floor::new(&problem, &deadlines), &deadlines);
    half.go_on(12, 1, &|| false);
    let used = |dive: &Dive<'_>| dive.floor.machines.iter().filter(|m| !m.runs.is_empty()).count();
    assert!((11..=13).contains(&used(&half)), "{} printers follow a history", used(&half));
    for seed in [1, 2] {
        let mut whole = half.clone();
        whole.go_on(0, seed, &|| false);
        assert!(used(&whole) > used(&half));
        assert!(whole.rounds() > half.rounds());
        let kept = half
            .floor
            .machines
            .iter()
            .zip(&whole.floor.machines)
            .all(|(half, whole)| half.runs.is_empty() || half.runs == whole.runs);
        assert!(kept, "what was booked half way stays");
    }
}
