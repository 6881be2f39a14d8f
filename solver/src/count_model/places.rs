//! In which slots a task can begin, and the minutes of the slot in which it can.

use crate::problem::{Min, Mode, Problem};

/// A pool and a slot in which a task can begin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) pool: usize,
    pub(super) slot: usize,
    /// The first minute of the slot at which it can.
    pub(super) first: Min,
    /// The last.
    pub(super) last: Min,
    /// For a load: the nights it prints into, at whichever of these minutes it begins.
    pub(super) nights: Vec<usize>,
}

/// The grid of slots.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slots {
    /// Minutes in a slot.
    pub(super) length: Min,
    /// How many slots the horizon has.
    pub(super) count: usize,
}

impl Slots {
    /// Slots of so many minutes up to the horizon, whose own minute still counts: a task of no minutes may stand there.
    pub(super) fn of(problem: &Problem<'_>, length: Min) -> Slots {
        Slots { length, count: (problem.horizon / length) as usize + 1 }
    }

    /// The slot of a minute; minutes before the start count to the first.
    pub(super) fn at(&self, minute: Min) -> usize {
        (minute.max(0) / self.length) as usize
    }

    /// The first minute of a slot.
    pub(super) fn from(&self, slot: usize) -> Min {
        slot as Min * self.length
    }
}

/// Where a mode can be loaded, its load taking so many minutes.
pub(super) fn of_load(
    problem: &Problem<'_>,
    slots: Slots,
    mode: &Mode,
    load: Min,
    downtime: &[(Min, Min)],
    night_room: &[Option<i64>],
) -> Vec<Place> {
    let nights = |minute: Min| {
        let (from, to) = (minute + load, minute + load + mode.print);
        let first = problem.nights.partition_point(|night| night.1 <= from);
        let last = problem.nights.partition_point(|night| night.0 < to);
        first..last.max(first)
    };
    let can = |minute: Min| {
        let ready = minute + load + mode.to_ready();
        ready + mode.harvest <= problem.horizon
            && is_clear(downtime, minute, ready)
            && problem.night_length_allows(minute + load, mode.print)
            && nights(minute).all(|night| night_room[night].is_none_or(|places| places > 0))
    };
    let mut places = places(problem, slots, load, can);
    for place in &mut places {
        let feasible = (place.first..=place.last).filter(|minute| can(*minute));
        let common = feasible.map(nights).reduce(|a, b| a.start.max(b.start)..a.end.min(b.end));
        place.nights = common.into_iter().flatten().collect();
    }
    places
}

/// Where a task of so many minutes can be done, clear of downtime.
pub(super) fn of_task(problem: &Problem<'_>, slots: Slots, length: Min, downtime: &[(Min, Min)]) -> Vec<Place> {
    places(problem, slots, length, |minute| is_clear(downtime, minute, minute + length))
}

fn places(problem: &Problem<'_>, slots: Slots, length: Min, can: impl Fn(Min) -> bool) -> Vec<Place> {
    let mut places: Vec<Place> = Vec::new();
    for (pool, on) in problem.pools.iter().enumerate() {
        for minute in on.from.max(0)..=on.to - length {
            if !can(minute) {
                continue;
            }
            let slot = slots.at(minute);
            match places.last_mut() {
                Some(place) if place.pool == pool && place.slot == slot => place.last = minute,
                _ => places.push(Place { pool, slot, first: minute, last: minute, nights: Vec::new() }),
            }
        }
    }
    places
}

fn is_clear(downtime: &[(Min, Min)], from: Min, to: Min) -> bool {
    downtime[downtime.partition_point(|down| down.1 <= from)..].first().is_none_or(|down| down.0 >= to)
}
