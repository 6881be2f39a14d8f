//! Large rooms and long campaigns: cells that make up the whole, slots that recur, windows of time.

use crate::{best_ready, breaches, instance, makespan, tiny};
use platewright_model::plan::Objective;
use platewright_model::{Count, Instance};
use platewright_solver::columns::bound::{Effort, Relaxation};
use platewright_solver::columns::ties::recurring;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::division::divide;
use platewright_solver::finish::finish;
use platewright_solver::problem::Problem;
use platewright_solver::{Answer, EngineChoice, Request, mix, solve};
use std::sync::atomic::AtomicBool;

/// The kit run in a room `times` as large, and `more` printers.
fn rooms(times: usize, more: usize) -> Instance {
    let mut large = instance("kit-run");
    let alike = large.printers[0].clone();
    for n in large.printers.len()..large.printers.len() * times + more {
        large.printers.push(platewright_model::instance::Printer { name: format!("Q{n}"), ..alike.clone() });
    }
    large.shifts.iter_mut().for_each(|row| row.operators = Count(row.operators.0 * times as u64));
    let lines = large.shipments.iter_mut().flat_map(|shipment| &mut shipment.lines);
    lines.for_each(|line| line.quantity = Count(line.quantity.0 * times as u64));
    large
}

/// The value and the bound of the planner's plan, which keeps all rules.
fn planned(instance: &Instance, seed: u64) -> (i64, i64) {
    let stop = AtomicBool::new(false);
    let request = Request {
        objective: Objective::Soonest,
        engine: EngineChoice::Auto,
        time_limit: None,
        seed,
        stop: &stop,
        progress: &|_| (),
        accept: &|plan| {
            let report = platewright_checker::check(instance, plan);
            assert!(report.breaches.is_empty(), "{:?}", report.breaches);
            true
        },
    };
    let Answer::Plan(plan) = solve(instance, &request) else { panic!("there is time enough") };
    (plan.claims.value.0, plan.claims.bound.0)
}

#[test]
fn a_cells_plan_in_every_cell_is_a_plan_of_the_whole_and_no_later() {
    for (times, more) in [(2, 0), (3, 0), (2, 3)] {
        let large = rooms(times, more);
        let whole = Problem::new(&large);
        let division = divide(&whole).unwrap_or_else(|| panic!("{times} rooms divide"));
        assert_eq!(division.cells, times);
        let manner = Manner { lag: 60, urgency: 100 };
        let floor = dispatch(&division.cell, &mix::prices(&division.cell), manner, &|| false);
        let (of_cell, plan) = finish(&floor, false).expect("a cell has a plan");
        let open = vec![whole.horizon; whole.orders.len()];
        let (of_whole, schedule) = finish(&division.copied(&whole, &plan, &open), false).expect("so has the whole");
        assert_eq!(of_whole.value, of_cell.value);
        assert_eq!(of_whole.runs, of_cell.runs * times as i64);
        let breaches = breaches(&whole, &schedule);
        assert!(breaches.is_empty(), "{times} rooms and {more} printers: {breaches:?}");
    }
}

#[test]
fn a_small_room_or_one_that_does_not_divide_has_no_cells() {
    assert!(divide(&Problem::new(&instance("kit-run"))).is_none());
    let mut odd = rooms(2, 0);
    odd.shifts.iter_mut().for_each(|row| row.operators = Count(3));
    assert!(divide(&Problem::new(&odd)).is_none(), "three operators make no two alike pairs");
}

#[test]
fn a_cell_has_the_bound_of_the_whole_where_operators_are_minutes() {
    let large = rooms(4, 0);
    let whole = Problem::new(&large);
    let division = divide(&whole).expect("four rooms divide");
    let bound = |problem: &Problem<'_>| {
        let relaxation = Relaxation::recurring_unchained(problem, &[problem.horizon], 17_000);
        relaxation.climb(0, 17_000, &[], None, relaxation.unrefined(400), &|_| false)
    };
    let (of_whole, of_cell) = (bound(&whole), bound(&division.cell));
    assert!(of_whole.closed && of_cell.closed);
    assert!((of_whole.makespan - of_cell.makespan).abs() <= 20, "{} and {}", of_whole.makespan, of_cell.makespan);
}

#[test]
fn slots_that_share_a_row_are_alike() {
    let instance = instance("kit-run");
    let problem = Problem::new(&instance);
    let relaxation = Relaxation::recurring(&problem, &[problem.horizon], 30 * 1440);
    let rows = relaxation.rows();
    assert_eq!(rows.ties, recurring(&rows.slots, 30 * 1440));
    assert!(rows.tied_rows(30 * 1440) * 3 < rows.slots.len(), "most slots recur: {}", rows.tied_rows(30 * 1440));
    for (slot, &tie) in rows.slots.iter().zip(&rows.ties) {
        let first = rows.slots[rows.ties.iter().position(|&t| t == tie).expect("a row has a slot")];
        assert_eq!(slot.1 - slot.0, first.1 - first.0);
        assert_eq!(rows.staff[slot.0 as usize], rows.staff[first.0 as usize]);
    }
}

#[test]
fn bounds_from_tied_slots_never_pass_the_proven_best_makespan() {
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let makespan = makespan(&best_ready(&name, &problem));
        let open = vec![problem.horizon; problem.orders.len()];
        for slot in [60, 7] {
            let effort = Effort { rounds: 200, finest: 1, coarsest: slot };
            let relaxation = Relaxation::new(&problem, &open, slot).tied(makespan);
            let bound = relaxation.climb(0, problem.horizon, &[], None, effort, &|_| false);
            assert!(bound.makespan <= makespan, "{name}, slots of {slot}: bound {} over {makespan}", bound.makespan);
            let columns = bound.columns.iter().map(|c| c.0.clone()).collect();
            let finer = relaxation.refine(&bound, problem.horizon, columns, effort, &|_| false);
            assert!(finer <= makespan, "{name}, finer than {slot}: bound {finer} over {makespan}");
        }
    }
}

/// Four printers and five shipments of some weeks: small enough to be quick, long enough for windows.
#[test]
fn a_campaign_is_planned_close_to_its_bound_and_by_the_rules() {
    let mut long = instance("kit-run");
    long.printers.truncate(4);
    long.farm.horizon_days = 90;
    long.shifts.iter_mut().for_each(|row| row.operators = Count(1));
    let whole = long.shipments[0].clone();
    long.shipments = (1..=5)
        .map(|n| {
            let mut shipment = whole.clone();
            shipment.name = format!("lot-{n}");
            shipment.lines[0].quantity = Count(50);
            shipment
        })
        .collect();
    let (value, bound) = planned(&long, 3);
    assert!(value >= 25 * 1440, "long enough for windows: {value}");
    assert!(bound * 100 >= value * 96, "{value} against {bound}");
}

/// One room's best plan takes 16,448 minutes, and that is proven (`instances/kit-run`): no more than six printers are kept in
/// step a day. Four rooms together keep 26 in step, and need not wait for the second plate of the last day.
#[test]
fn four_rooms_together_ship_sooner_than_one_by_itself_can() {
    let large = rooms(4, 0);
    let (value, bound) = planned(&large, 0);
    assert!(value < 16_448 && bound <= value, "{value} against {bound}");
    assert!(bound * 1000 >= value * 995, "{value} against {bound}");
}
