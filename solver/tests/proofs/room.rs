//! The room's counts after any booking are those of a room counted anew.

use crate::instance;
use platewright_solver::floor::Floor;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::room::Room;
use platewright_solver::schedule::PlacedTask;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Can a task start at a minute, as told by the tasks that are booked?
fn counted(problem: &Problem<'_>, booked: &[PlacedTask], minute: Min, minutes: Min) -> bool {
    problem.pools.iter().enumerate().any(|(p, pool)| {
        let here = || booked.iter().filter(|task| task.pool == p);
        let busy = |m: Min| here().filter(|task| task.from <= m && m < task.to).count();
        let across = |m: Min| here().filter(|task| task.from < m && m < task.to).count();
        let is_pinned = |m: Min| here().any(|task| task.from == m && task.to == m);
        let operators = pool.operators.len();
        let on_shift = minute >= pool.from && minute + minutes <= pool.to;
        on_shift
            && (minutes > 0 || across(minute) < operators)
            && (minute..minute + minutes).all(|m| busy(m) < operators)
            && (minute + 1..minute + minutes).all(|m| !is_pinned(m) || across(m) + 1 < operators)
    })
}

#[test]
fn booking_and_unbooking_leaves_the_same_starts_as_counting_by_minute() {
    for pack_box in [6, 0] {
        let mut instance = instance("harbour-week");
        instance.farm.handling.pack_box = platewright_model::Minutes(pack_box);
        let problem = Problem::new(&instance);
        let mut room = Room::new(&problem);
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let mut booked = Vec::new();
        for step in 0..600 {
            if !booked.is_empty() && rng.random_bool(0.4) {
                let at = rng.random_range(0..booked.len());
                room.unbook(booked.swap_remove(at));
            } else {
                let length = rng.random_range(0..room.lengths.len());
                let minute = rng.random_range(0..3 * 1440);
                let open = room.can_start(length, minute);
                let task = room.book(length, minute);
                assert_eq!(open, task.is_some(), "step {step}: what is open can be booked, and nothing else");
                booked.extend(task);
            }
            if step % 50 == 0 {
                for (length, &minutes) in room.lengths.clone().iter().enumerate() {
                    for minute in 0..3 * 1440 {
                        let open = room.can_start(length, minute);
                        let anew = counted(&problem, &booked, minute, minutes);
                        assert_eq!(anew, open, "step {step}, minute {minute}, {minutes} long, boxes of {pack_box}");
                    }
                }
            }
        }
    }
}

#[test]
fn a_task_of_no_minutes_and_one_that_spans_it_need_two_operators() {
    let mut instance = instance("tiny-one-operator");
    instance.farm.handling.pack_box = platewright_model::Minutes(0);
    let problem = Problem::new(&instance);
    assert_eq!(problem.pools[0].operators.len(), 1, "the instance has one operator");
    let mut room = Room::new(&problem);
    let nothing = room.of_box;
    let load = room.of_mode[0].load;
    let minutes = room.lengths[load];
    assert!(minutes > 1);
    let begun = problem.pools[0].from;
    let pin = room.book(nothing, begun + 10).expect("the operator is free");
    assert!(!room.can_start(load, begun + 11 - minutes), "no load across it");
    assert!(room.can_start(load, begun + 10), "one may begin there");
    assert!(room.can_start(load, begun + 10 - minutes), "and one may end there");
    room.unbook(pin);
    let spanning = room.book(load, begun + 11 - minutes).expect("free again");
    assert!(!room.can_start(nothing, begun + 10), "nothing in the middle of a load");
    room.unbook(spanning);
    assert!(room.can_start(nothing, begun + 10));
}

#[test]
fn what_is_kept_for_packing_is_free_again_for_packing_only() {
    let instance = instance("harbour-week");
    let problem = Problem::new(&instance);
    let deadlines = [3_420, 7_440, 7_560];
    let mut floor = Floor::new(&problem, &deadlines);
    for boxes in [[0, 0, 3], [2, 1, 4]] {
        floor.keep_for_packing(&boxes, &deadlines);
        let kept: Vec<_> = floor.tasks().copied().collect();
        assert_eq!(kept.len() as i64, boxes.iter().sum::<i64>(), "each time anew");
        assert!(kept.iter().all(|task| task.to - task.from == problem.pack_box && task.to <= 7_560));
        // On Saturday there is one operator, so that nothing else can be begun then.
        let last = 7_560 - problem.pack_box;
        assert!(!floor.room.can_start(floor.room.of_box, last));
        assert!(floor.room_to_pack().can_start(floor.room.of_box, last));
    }
}
