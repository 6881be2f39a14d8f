//! Against a brute force that shares nothing with the search, on random rooms with every rule in force.

mod brute;
mod farm;
mod known;

use super::{Found, search};
use crate::assemble::{Statement, plan};
use crate::problem::Problem;
use crate::schedule::Merit;
use farm::Dice;
use platewright_model::plan::Objective;

/// The plan that was found, with the bounds found for it, keeps every rule.
fn check(seed: u64, problem: &Problem<'_>, least_idle: bool, found: &Found) {
    let Some(schedule) = &found.best else { return };
    let statement = Statement {
        objective: if least_idle { Objective::LeastIdle } else { Objective::Soonest },
        late_bound: found.late_bound,
        bound: found.value_bound,
        engine: "exact".into(),
        seed: 0,
        notes: Vec::new(),
        prices: Vec::new(),
    };
    let report = platewright_checker::check(problem.instance, &plan(problem, schedule, statement));
    assert!(report.holds(), "seed {seed}: {:?}\n{schedule:#?}", report.breaches);
}

/// Searches a random room and compares; returns whether the case was decided by both.
fn compare(seed: u64, least_idle: bool, limit: usize) -> bool {
    let coarse = farm::coarse(&mut Dice::new(seed));
    let problem = Problem::new(&coarse.instance);
    let found = search(&problem, least_idle, None, 3_000_000, &|| false);
    check(seed, &problem, least_idle, &found);
    let Some(brute) = brute::best(&problem, least_idle, coarse.grid, coarse.loads, limit) else { return false };
    assert!(found.proven, "seed {seed}: not proven after {} states", found.nodes);
    let merit = found.best.as_ref().map(|s| s.merit(&problem, least_idle));
    let got = merit.map(|m| (m.late, m.value));
    let more_loads =
        found.best.as_ref().is_some_and(|s| s.runs.iter().filter(|r| r.load.is_some()).count() > coarse.loads);
    if more_loads {
        assert!(brute.is_none_or(|b| got < Some(b)), "seed {seed}: {got:?} against {brute:?}");
    } else {
        assert_eq!(got, brute, "seed {seed}");
    }
    if let Some((late, value)) = got {
        assert_eq!((found.late_bound, found.value_bound), (late, value), "seed {seed}");
        let best = Merit { late, value, ready_sum: 0, runs: 0 };
        let again = search(&problem, least_idle, Some(best), 3_000_000, &|| false);
        assert!(again.proven && again.best.is_none(), "seed {seed}: better than the best, or not proven");
        let worse = Merit { late, value: value + 1, ready_sum: 0, runs: 0 };
        let again = search(&problem, least_idle, Some(worse), 3_000_000, &|| false);
        let merit = again.best.map(|s| s.merit(&problem, least_idle));
        assert_eq!(merit.map(|m| (m.late, m.value)), Some((late, value)), "seed {seed}: from one minute worse");
    }
    true
}

#[test]
fn agrees_with_brute_force() {
    let decided = (0..300).filter(|&seed| compare(seed, false, 60_000)).count();
    assert!(decided >= 250, "only {decided} of 300 cases were small enough to compare");
}

#[test]
fn agrees_with_brute_force_on_idle_minutes() {
    let decided = (0..150).filter(|&seed| compare(seed, true, 60_000)).count();
    assert!(decided >= 100, "only {decided} of 150 cases were small enough to compare");
}

#[test]
fn proves_small_rooms_to_the_minute() {
    for seed in 0..40 {
        let instance = farm::fine(&mut Dice::new(seed), 6);
        let problem = Problem::new(&instance);
        let found = search(&problem, false, None, 2_000_000, &|| false);
        assert!(found.proven, "seed {seed}: not proven after {} states", found.nodes);
        check(seed, &problem, false, &found);
        let Some(schedule) = found.best else { continue };
        let merit = schedule.merit(&problem, false);
        assert_eq!((found.late_bound, found.value_bound), (merit.late, merit.value), "seed {seed}");
        let again = search(&problem, false, None, 2_000_000, &|| false);
        assert_eq!(again.best, Some(schedule), "seed {seed}: another plan the second time");
    }
}

#[test]
fn stops_when_told_and_keeps_its_bounds_true() {
    for seed in 0..40 {
        let instance = farm::fine(&mut Dice::new(seed), 6);
        let problem = Problem::new(&instance);
        let best = search(&problem, false, None, 2_000_000, &|| false);
        let early = search(&problem, false, None, 300, &|| false);
        check(seed, &problem, false, &early);
        let (Some(best), early_best) = (best.best, early.best) else { continue };
        let merit = best.merit(&problem, false);
        assert!(early.late_bound <= merit.late, "seed {seed}: bound {} above {}", early.late_bound, merit.late);
        if early_best.is_none_or(|s| s.merit(&problem, false).late == merit.late) {
            assert!(early.value_bound <= merit.value, "seed {seed}: bound {} above {}", early.value_bound, merit.value);
        }
    }
}
