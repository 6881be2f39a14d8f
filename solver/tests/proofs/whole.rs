//! Whole plates: the totals they add up to, and that asking for them asks no plan for more.

use crate::{instance, tiny};
use platewright_solver::complete;
use platewright_solver::demand::Demand;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::finish::finish;
use platewright_solver::mix;
use platewright_solver::problem::Problem;
use platewright_solver::schedule::{PlacedRun, Schedule};
use platewright_solver::whole::rounded_up;
use std::collections::BTreeSet;

/// Every total of a part up to so many copies, one plate after another.
fn totals(problem: &Problem<'_>, part: usize, most: i64) -> BTreeSet<i64> {
    let of = |mode: usize| problem.modes[mode].yields.iter().filter(|y| y.0 == part).map(|y| y.1).sum::<i64>();
    let mut totals = BTreeSet::from([0]);
    for class in &problem.classes {
        for _ in class.printers.iter().filter(|_| class.running.is_some()) {
            let on_printer = class.running.as_ref().map_or(0, |on| of(on.mode));
            totals.extend(totals.clone().into_iter().map(|total| total + on_printer));
        }
    }
    let loadable: BTreeSet<i64> = problem.classes.iter().flat_map(|c| &c.modes).map(|&m| of(m)).collect();
    let mut open: Vec<i64> = totals.iter().copied().collect();
    while let Some(total) = open.pop() {
        for &copies in loadable.iter().filter(|&&n| n > 0) {
            if total + copies <= most && totals.insert(total + copies) {
                open.push(total + copies);
            }
        }
    }
    totals
}

#[test]
fn a_number_of_copies_is_rounded_up_to_the_next_total() {
    for name in tiny().into_iter().chain(["harbour-week".to_string()]) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        for part in (0..problem.finish.len()).filter(|&p| mix::total_needs(&problem)[p] > 0) {
            let totals = totals(&problem, part, 300);
            for copies in 1..150 {
                let next = totals.range(copies..).next();
                let Some(&next) = next else { continue };
                let part_name = &instance.parts[part].name;
                assert_eq!(rounded_up(&problem, part, copies), next, "{name}: {copies} of {part_name}");
            }
        }
        assert_eq!(rounded_up(&problem, 0, 0), 0);
        assert_eq!(rounded_up(&problem, 0, -5), -5);
    }
}

#[test]
fn beyond_what_is_listed_only_the_divisor_counts() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let part = |name: &str| instance.parts.iter().position(|p| p.name == name).expect("the demo has it");
    assert_eq!(rounded_up(&problem, part("cable-clip"), 1_000_001), 1_000_025);
    assert_eq!(rounded_up(&problem, part("hub-body"), 1_000_001), 1_000_001);
}

#[test]
fn every_plan_makes_what_whole_plates_are_asked_for() {
    for name in tiny().into_iter().chain(["harbour-week", "kit-run"].map(String::from)) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let plan: Option<Schedule> = if name.starts_with("tiny-") {
            complete::search(&problem, false, None, 2_000_000, &|| false).best
        } else {
            let floor = dispatch(&problem, &mix::prices(&problem), Manner { lag: 60, urgency: 150 }, &|| false);
            finish(&floor, false).map(|plan| plan.1)
        };
        let plan = plan.unwrap_or_else(|| panic!("{name} has a plan"));
        let mut demand = Demand::new(&problem, &plan.ready_times(&problem));
        plan.runs.iter().for_each(|r| demand.count(r.mode, r.load.map(|l| l.from), r.harvest.to, true));
        assert!(demand.is_met(), "{name}");
    }
}

/// A plan's demand with a plate more welcome: nothing is missing that was not, and what is welcome is all unmade until a
/// plate that nobody needs is there.
#[test]
fn a_plate_that_is_welcome_is_never_missed() {
    let mut filled = 0;
    for name in tiny().into_iter().chain(["harbour-week", "kit-run"].map(String::from)) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let price = vec![1; problem.finish.len()];
        let floor = dispatch(&problem, &mix::prices(&problem), Manner { lag: 60, urgency: 150 }, &|| false);
        let Some((_, plan)) = finish(&floor, false) else { continue };
        let runs = &plan.runs;
        for counted in [0, runs.len() / 2, runs.len()] {
            let mut demand = Demand::new(&problem, &plan.ready_times(&problem));
            let count = |demand: &mut Demand<'_>, run: &PlacedRun| {
                demand.count(run.mode, run.load.map(|l| l.from), run.harvest.to, true);
            };
            runs[..counted].iter().for_each(|run| count(&mut demand, run));
            let (missing, is_met, unmade) = (demand.shortage(&price), demand.is_met(), demand.unmade(&price));
            assert_eq!(unmade, 0, "{name}: nothing is welcome yet");
            demand.welcome_more();
            assert_eq!((demand.shortage(&price), demand.is_met()), (missing, is_met), "{name}, {counted} runs");
            let welcome = demand.unmade(&price);
            for run in runs.iter().filter(|run| run.load.is_some()) {
                count(&mut demand, run);
            }
            assert_eq!(demand.is_met(), demand.shortage(&price) == 0, "{name}, {counted} runs");
            if counted == runs.len() {
                assert!(demand.is_met(), "{name}: more than enough was made");
                assert!(demand.unmade(&price) <= welcome, "{name}");
                filled += usize::from(demand.unmade(&price) < welcome);
            }
        }
    }
    assert!(filled >= 10, "a second time all runs fills what is welcome: {filled}");
}
