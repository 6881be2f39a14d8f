//! Boxes that are packed late: every plan obeys what is said of them, and no price on them excludes a plan that exists.

use crate::passes::random_prices;
use crate::prices::none_excludes;
use crate::{best_ready, breaches, instance, makespan, tiny};
use platewright_model::{Count, Minutes};
use platewright_solver::columns::bound::Relaxation;
use platewright_solver::columns::packing::Packing;
use platewright_solver::columns::prices::{Prices, Rows};
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::finish::finish;
use platewright_solver::floor::Floor;
use platewright_solver::improve::Search;
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::schedule::Give;

#[test]
fn every_plan_has_the_rest_ready_before_a_mark_and_time_for_late_boxes_after_it() {
    let (mut looked_at, mut with_late) = (0, 0);
    for name in ["harbour-week", "tiny-packing", "gap-first-lot-boxes", "tiny-held-plate"] {
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let staff = Rows::new(&problem, &vec![problem.horizon; problem.orders.len()], 30).staff;
        let all: Vec<usize> = (0..problem.orders.len()).collect();
        for manner in Manner::all(&problem) {
            let floor = dispatch(&problem, &mix::prices(&problem), manner, &|| false);
            let Some((_, plan)) = finish(&floor, false) else { continue };
            let end = makespan(&plan.ready_times(&problem));
            let packing = Packing::new(&problem, &all, &staff, end);
            let kind_of =
                |order: usize, line: usize| problem.orders[..order].iter().map(|o| o.boxes.len()).sum::<usize>() + line;
            for mark in &packing.marks {
                let mut late = vec![0; packing.kinds.len()];
                let after = plan.boxes.iter().filter(|b| b.task.from >= mark.from);
                after.for_each(|b| late[kind_of(b.order, b.boxes)] += 1);
                for (at, &(part, copies)) in packing.parts.iter().enumerate() {
                    let ready = plan.runs.iter().filter(|r| r.harvest.to + problem.finish[part] <= mark.usable_by);
                    let of_part = |m: usize| problem.modes[m].yields.iter().filter(|y| y.0 == part).map(|y| y.1);
                    let made: i64 = ready.flat_map(|r| of_part(r.mode)).sum();
                    let in_late: i64 = packing.kinds.iter().zip(&late).map(|(k, n)| k.kit[at] * k.per_box * n).sum();
                    assert!(made + problem.stock[part] + in_late >= copies, "{name}: part {part} at {mark:?}");
                }
                let within = |from: Min, to: Min| i64::from((to.min(end) - from.max(mark.from)).max(0));
                let of_runs = plan.runs.iter().flat_map(|r| r.load.iter().chain([&r.harvest]));
                let handling: i64 = of_runs.map(|task| within(task.from, task.to)).sum();
                let boxes: i64 = late.iter().sum();
                let there: i64 = (mark.from..end).map(|minute| staff[minute as usize]).sum();
                assert!(handling + boxes * packing.minutes <= there, "{name}: operators from {mark:?}");
                looked_at += 1;
                with_late += usize::from(boxes > 0);
            }
        }
    }
    assert!(looked_at > 100 && with_late > 50, "{looked_at} marks, {with_late} with late boxes");
}

#[test]
fn no_prices_on_boxes_exclude_the_proven_best_makespan() {
    let mut with = 0;
    for name in tiny() {
        let mut instance = instance(&name);
        instance.farm.handling.pack_box = Minutes(9);
        instance.shipments.iter_mut().flat_map(|s| &mut s.lines).for_each(|line| line.per_box = Some(Count(2)));
        let problem = Problem::new(&instance);
        let ready = best_ready(&name, &problem);
        let makespan = makespan(&ready);
        for deadlines in [vec![problem.horizon; ready.len()], ready] {
            let mut relaxation = Relaxation::new(&problem, &deadlines, 30);
            let flat = Prices::flat(&problem, relaxation.rows());
            with += usize::from(relaxation.watch_packing(&flat, makespan).is_some());
            none_excludes(&name, &problem, &relaxation, makespan, random_prices);
            let effort = relaxation.unrefined(100);
            let bound = relaxation.climb(0, makespan, &[], None, effort, &|_| false);
            let bound = relaxation.climb_packed(bound, makespan, effort, &|_| false);
            assert!(bound.makespan <= makespan, "{name}: bound {} over {makespan}", bound.makespan);
        }
    }
    assert!(with >= 20, "nearly all tiny instances pack: {with}");
}

#[test]
fn late_boxes_lift_the_bound_of_a_week_that_ends_with_packing() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let open = vec![problem.horizon; problem.orders.len()];
    let mut relaxation = Relaxation::recurring(&problem, &open, 10_000);
    let effort = relaxation.unrefined(150);
    let bound = relaxation.climb(0, 10_000, &[], None, effort, &|_| false);
    let before = bound.makespan;
    let packed = relaxation.climb_packed(bound, 10_000, effort, &|_| false);
    assert!(packed.makespan > before + 10, "{} after {before}", packed.makespan);
}

#[test]
fn moves_that_leave_nothing_missing_pack_boxes_sooner() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let prices = mix::prices(&problem);
    let mut sooner = 0;
    for manner in Manner::all(&problem) {
        let Some((merit, plan)) = finish(&dispatch(&problem, &prices, manner, &|| false), false) else { continue };
        let usable = |give: &Give| plan.runs[give.run?].harvest.to.checked_add(problem.finish[give.part]);
        let parts_by = plan.gives.iter().filter_map(usable).max().unwrap_or(0) + problem.pack_box;
        let deadlines = vec![parts_by; problem.orders.len()];
        let mut search = Search::new(Floor::with_runs(&problem, &plan.runs, &deadlines), prices.clone(), 1);
        assert_eq!(search.shortage(), 0, "all parts are there by the last of them");
        let Some((packed, better)) = search.pack_sooner(&deadlines, 20_000_000, &|| false) else { continue };
        assert_eq!(breaches(&problem, &better), Vec::<String>::new());
        assert_eq!(search.shortage(), 0, "nothing is given up for it");
        sooner += usize::from(packed < merit);
    }
    assert!(sooner >= 1, "one of the dispatcher's plans is packed sooner: {sooner}");
}
