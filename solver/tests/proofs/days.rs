//! Tables of days: whatever blocks are put together, the floor is a plan by the rules, and rounds and sweeps only help.

use crate::{breaches, instance};
use platewright_solver::columns::master::Column;
use platewright_solver::days::{Days, Turn};
use platewright_solver::finish::finish;
use platewright_solver::floor::Machine;
use platewright_solver::history::Leg;
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};

const DAY: Min = 1440;

/// A printer whose plate of every night is ready an hour after the shift begins.
fn an_hour_into_the_morning(problem: &Problem<'_>) -> Column {
    let night = |day: Min| {
        let (load_from, harvest_from) = (day * DAY + 900, (day + 1) * DAY + 60);
        let mode = &problem.modes[0];
        let (print_from, harvest_to) = (load_from + mode.load, harvest_from + mode.harvest);
        Leg { mode: 0, load_from: Some(load_from), print_from, ready: harvest_from, harvest_from, harvest_to }
    };
    Column { class: 0, legs: (0..11).map(night).collect() }
}

#[test]
fn a_table_becomes_a_plan_by_the_rules() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let price = mix::prices(&problem);
    for (turn, printers) in [(Turn::Reversed, 0.0), (Turn::Half, 20.0)] {
        let columns = [(an_hour_into_the_morning(&problem), printers)];
        let end = 16_600;
        let mut days = Days::new(&problem, end, &columns, &price, turn, 1).expect("alike printers, nothing but shifts");
        assert!(days.aim(end, &|| false));
        let mut missing = days.shortage();
        for sweeping in [false, false, true, true] {
            if sweeping {
                days.sweep(&|| false)
            } else {
                days.round(&|| false)
            }
            assert!(days.shortage() <= missing, "the table lacks more than before");
            missing = days.shortage();
        }
        assert_eq!(missing, 0, "{turn:?}: a hundredth more time than the best plan takes is enough");
        let floor = days.floor(&problem, &[end]);
        assert_eq!(floor.demand.shortage(&price), 0, "{turn:?}: the floor makes what the table says");
        let (_, schedule) = finish(&floor, false).expect("nothing is missing");
        let breaches = breaches(&problem, &schedule);
        assert!(breaches.is_empty(), "{turn:?}: {breaches:?}");
    }
}

#[test]
fn a_table_moves_to_another_end() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let price = mix::prices(&problem);
    let mut days = Days::new(&problem, 15_000, &[], &price, Turn::Half, 3).expect("alike printers, nothing but shifts");
    // A day more, a day less, an end in the night, and one so early in a shift that the last day is one with that before.
    for end in [16_700, 18_000, 16_600, 15_500, 16_000] {
        assert!(days.aim(end, &|| false));
        let floor = days.floor(&problem, &[end]);
        assert!(floor.machines.iter().flat_map(|m| &m.runs).all(|run| run.leg.harvest_to <= end), "{end}");
        let (table, whole) = (days.shortage(), floor.demand.shortage(&price));
        assert!(table <= whole, "{end}: the floor lacks {whole}, the table {table}");
    }
    assert!(!days.aim(2 * DAY, &|| false), "two days are no table");
}

#[test]
fn fractions_of_blocks_serve_no_worse_than_whole_ones() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let price = mix::prices(&problem);
    let mut days = Days::new(&problem, 15_000, &[], &price, Turn::Half, 4).expect("alike printers, nothing but shifts");
    for end in [17_000, 16_000] {
        assert!(days.aim(end, &|| false));
        let mut share = 0.0;
        for _ in 0..2 {
            days.round(&|| false);
            let now = days.share().expect("a program that can always be solved");
            assert!(now >= share - 1e-9, "{end}: more blocks make less, {now} after {share}");
            share = now;
        }
        // Needs are met by whole blocks only where fractions of them meet them.
        assert!(days.shortage() > 0 || share >= 1.0 - 1e-9, "{end}: {share}");
        assert_eq!(days.shortage() == 0, end == 17_000, "{end}: {share}");
    }
}

#[test]
fn a_table_counts_the_idle_minutes_of_its_floor() {
    let instance = instance("kit-run");
    let problem = Problem::for_least_idle(&instance);
    let worth = mix::prices(&problem);
    let dear: Vec<i64> = worth.iter().map(|price| price * 20).collect();
    for (turn, printers) in [(Turn::Reversed, 0.0), (Turn::Half, 20.0)] {
        let columns = [(an_hour_into_the_morning(&problem), printers)];
        let end = 21_000;
        let days = Days::new(&problem, end, &columns, &dear, turn, 1).expect("alike printers, nothing but shifts");
        let mut days = days.counting_idle(&worth);
        assert!(days.aim(end, &|| false));
        let mut cost = days.idle_minutes() + days.shortage() / 1000;
        for _ in 0..2 {
            days.round(&|| false);
            let now = days.idle_minutes() + days.shortage() / 1000;
            assert!(now <= cost, "{turn:?}: a round raises {cost} to {now}");
            cost = now;
        }
        days.sweep(&|| false);
        assert_eq!(days.shortage(), 0, "{turn:?}: there is time for everything");
        let floor = days.floor(&problem, &[end]);
        let late = |leg: &Leg| leg.load_from.is_some_and(|from| from / DAY < leg.ready / DAY) && leg.ready % DAY > 0;
        let into_morning = floor.machines.iter().flat_map(|m| &m.runs).filter(|run| late(&run.leg)).count();
        assert_eq!(into_morning > 0, printers > 0.0, "{turn:?}: {into_morning} plates print into a morning");
        let (_, schedule) = finish(&floor, true).expect("nothing is missing");
        let breaches = breaches(&problem, &schedule);
        assert!(breaches.is_empty(), "{turn:?}: {breaches:?}");
        let printed = |legs: &mut dyn Iterator<Item = Leg>| legs.map(|leg| problem.modes[leg.mode].print).sum::<Min>();
        let idle = |m: &Machine| {
            let end = m.runs.last().map_or(0, |run| run.leg.harvest_to);
            i64::from(end - printed(&mut m.runs.iter().map(|run| run.leg)))
        };
        let on_floor: i64 = floor.machines.iter().map(idle).sum();
        assert_eq!(on_floor, days.idle_minutes(), "{turn:?}: idle minutes of the floor and of the table");
        let in_plan = schedule.merit(&problem, true).value;
        assert!(in_plan <= on_floor, "{turn:?}: {in_plan} of the plan, {on_floor} of the floor");
    }
}

#[test]
fn the_same_seed_makes_the_same_table() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let price = mix::prices(&problem);
    let table = |seed: u64| {
        let mut days = Days::new(&problem, 15_000, &[], &price, Turn::Reversed, seed).expect("alike printers");
        assert!(days.aim(16_450, &|| false));
        days.round(&|| false);
        days.sweep(&|| false);
        days.floor(&problem, &[16_450]).runs()
    };
    assert_eq!(table(5), table(5));
}

#[test]
fn what_ties_days_together_is_no_table() {
    let week = instance("harbour-week");
    let problem = Problem::new(&week);
    assert!(Days::new(&problem, 15_000, &[], &mix::prices(&problem), Turn::Half, 0).is_none());
    let instance = instance("kit-run");
    let run = Problem::new(&instance);
    let price = mix::prices(&run);
    let none = |change: &dyn Fn(&mut Problem<'_>)| {
        let mut problem = run.clone();
        change(&mut problem);
        Days::new(&problem, 15_000, &[], &price, Turn::Half, 0).is_none()
    };
    assert!(!none(&|_| ()));
    assert!(none(&|problem| problem.night_printers = Some(20)));
    assert!(none(&|problem| problem.classes[0].downtime = vec![(3000, 3100)]));
    assert!(none(&|problem| problem.orders[0].release = 600));
    assert!(none(&|problem| problem.classes[0].printers.truncate(11)));
    assert!(none(&|problem| problem.nights.clear()));
    let two_days = Days::new(&run, 2 * DAY, &[], &price, Turn::Half, 0);
    assert!(two_days.is_none(), "a plan of two days is none of days");
}
