//! What a pass works with: modes, lanes, ranges that are shut, and the tables.

use super::chains::Track;
use super::{Leave, Steps, Tariff, Window};
use crate::problem::{Class, Min, Problem};
use crate::room::{Length, Room};

/// A number that tables are kept in.
///
/// Sums may wrap around and never do: what histories are worth stays within a quarter of the type ([`Pass::magnitude`]) and
/// what is no history within a half. Loops that looked out for it would take one number at a time instead of several.
pub(super) trait Worth: Copy + Ord + std::fmt::Debug {
    /// No history; sums with prices stay far below every real value.
    const NEVER: Self;
    /// Anything below is no history.
    const HARDLY: Self;
    fn of(value: i64) -> Self;
    fn wide(self) -> i64;
    fn plus(self, other: Self) -> Self;
    fn minus(self, other: Self) -> Self;
}

impl Worth for i32 {
    const NEVER: i32 = -(1 << 29);
    const HARDLY: i32 = -(1 << 28);
    fn of(value: i64) -> i32 {
        value as i32
    }
    fn wide(self) -> i64 {
        i64::from(self)
    }
    fn plus(self, other: i32) -> i32 {
        self.wrapping_add(other)
    }
    fn minus(self, other: i32) -> i32 {
        self.wrapping_sub(other)
    }
}

impl Worth for i64 {
    const NEVER: i64 = -(1 << 61);
    const HARDLY: i64 = -(1 << 60);
    fn of(value: i64) -> i64 {
        value
    }
    fn wide(self) -> i64 {
        self
    }
    fn plus(self, other: i64) -> i64 {
        self.wrapping_add(other)
    }
    fn minus(self, other: i64) -> i64 {
        self.wrapping_sub(other)
    }
}

/// The values of all states of a window, less the idle price from its start.
#[derive(Debug, Default)]
pub(super) struct Tables<T> {
    /// By kind of material and minute of the window.
    pub(super) empty: Vec<T>,
    /// By lane and minute.
    pub(super) ready: Vec<T>,
    /// A block of each group of loads, one after another.
    pub(super) loads: Vec<T>,
    /// A block of one mode's loads.
    pub(super) block: Vec<T>,
    /// The idle price from the window's start to each minute, where idle minutes have one.
    pub(super) idle: Vec<T>,
    /// By chain that has a price, where it lies in the window.
    pub(super) tracks: Vec<Option<Track<T>>>,
}

/// A mode as the pass runs it.
pub(super) struct Gear {
    pub(super) mode: usize,
    pub(super) load: Min,
    pub(super) change: Min,
    pub(super) print: Min,
    pub(super) to_ready: Min,
    pub(super) kind: usize,
    pub(super) loadable: bool,
    /// By epoch of the load: the lane it leads to, and what a run is worth beyond it.
    pub(super) lanes: Vec<Option<(usize, i64)>>,
    /// Starts of a load, without and with changeover, that are shut or have a price.
    pub(super) barred: [Vec<Barred>; 2],
}

/// Starts of a load that have a price; none: that are shut.
#[derive(Debug, Clone, Copy)]
pub(super) struct Barred {
    pub(super) from: Min,
    pub(super) to: Min,
    pub(super) price: Option<i64>,
}

/// Loads that are open at the same minutes and lead from the same materials.
pub(super) struct Group<'a> {
    pub(super) minutes: Min,
    pub(super) change: bool,
    pub(super) kind: usize,
    pub(super) length: Length,
    pub(super) open: &'a [u8],
    pub(super) gears: Vec<usize>,
}

/// Ready plates that differ by no more than a constant.
pub(super) struct Lane<'a> {
    pub(super) length: Length,
    pub(super) harvest: Min,
    pub(super) kind: usize,
    pub(super) open: &'a [u8],
    /// What a harvest that starts up to a minute adds; after the last, what any later one adds.
    pub(super) steps: Steps,
    pub(super) after_steps: i64,
}

/// One pass over a window.
pub(super) struct Pass<'a> {
    pub(super) problem: &'a Problem<'a>,
    pub(super) room: &'a Room<'a>,
    pub(super) class: &'a Class,
    pub(super) tariff: &'a Tariff,
    pub(super) window: Window,
    pub(super) gears: Vec<Gear>,
    pub(super) lanes: Vec<Lane<'a>>,
    pub(super) groups: Vec<Group<'a>>,
    pub(super) kinds: usize,
    /// Minutes of the window, its end included.
    pub(super) minutes: usize,
    /// No load leads to a ready plate sooner.
    pub(super) shortest: Min,
}

impl<'a> Pass<'a> {
    pub(super) fn new(
        room: &'a Room<'a>,
        class: &'a Class,
        tariff: &'a Tariff,
        window: Window,
        held: &[usize],
    ) -> Pass<'a> {
        let problem = room.problem;
        let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
        let mut pass = Pass {
            problem,
            room,
            class,
            tariff,
            window,
            gears: Vec::with_capacity(class.modes.len()),
            lanes: Vec::new(),
            groups: Vec::new(),
            kinds,
            minutes: (window.to - window.from).max(0) as usize + 1,
            shortest: Min::MAX,
        };
        for mode in class.modes.iter().chain(held.iter().filter(|m| !class.modes.contains(m))).copied() {
            pass.add(mode, held.contains(&mode));
        }
        pass
    }

    fn add(&mut self, mode: usize, held: bool) {
        let m = &self.problem.modes[mode];
        let kind = if self.kinds == 1 { 0 } else { m.material };
        let printed = self.tariff.idle * i64::from(m.print);
        let carries = self.tariff.carriers && (self.kinds > 1 || self.tariff.idle > 0);
        let mut lanes = Vec::with_capacity(self.tariff.epochs.len());
        let mut worth_loading = false;
        for (epoch, steps) in self.tariff.value[mode].iter().enumerate() {
            let worth = carries || steps.last().is_some_and(|s| s.0 >= self.window.from);
            worth_loading |= worth;
            lanes.push((worth || (epoch == 0 && held)).then(|| {
                let (lane, base) = self.lane(mode, kind, steps);
                (lane, base + printed)
            }));
        }
        let loadable = worth_loading && self.class.modes.contains(&mode);
        let lengths = &self.room.of_mode[mode];
        let gear = Gear {
            mode,
            load: m.load,
            change: m.load + self.problem.changeover,
            print: m.print,
            to_ready: m.to_ready(),
            kind,
            loadable,
            lanes,
            barred: [Vec::new(), Vec::new()],
        };
        if !loadable {
            self.gears.push(gear);
            return;
        }
        let barred =
            [false, true].map(|change| if change && self.kinds == 1 { Vec::new() } else { self.barred(&gear, change) });
        self.shortest = self.shortest.min(m.load + gear.to_ready);
        let at = self.gears.len();
        self.gears.push(Gear { barred, ..gear });
        self.group(at, lengths.load, m.load, false, kind);
        if self.kinds > 1 {
            self.group(at, lengths.change, m.load + self.problem.changeover, true, kind);
        }
    }

    fn group(&mut self, gear: usize, length: Length, minutes: Min, change: bool, kind: usize) {
        let same = |g: &&mut Group<'_>| g.minutes == minutes && g.change == change && g.kind == kind;
        match self.groups.iter_mut().find(same) {
            Some(group) => group.gears.push(gear),
            None => {
                let open = self.room.starts(length);
                self.groups.push(Group { minutes, change, kind, length, open, gears: vec![gear] })
            }
        }
    }

    /// The lane for plates of a mode whose harvest is worth so much, and what they are worth beyond it.
    fn lane(&mut self, mode: usize, kind: usize, steps: &[(Min, i64)]) -> (usize, i64) {
        let length = self.room.of_mode[mode].harvest;
        let harvest = self.problem.modes[mode].harvest;
        let first = steps.partition_point(|s| s.0 < self.window.from);
        let base = steps.get(first).map_or(0, |s| s.1);
        let latest = self.window.to - harvest;
        let mut relative: Steps = Vec::new();
        let mut after_steps = -base;
        for &(until, value) in &steps[first..] {
            if until >= latest {
                after_steps = value - base;
                break;
            }
            relative.push((until, value - base));
        }
        let same =
            |l: &Lane<'_>| l.length == length && l.kind == kind && l.after_steps == after_steps && l.steps == relative;
        let at = self.lanes.iter().position(same).unwrap_or_else(|| {
            let open = self.room.starts(length);
            self.lanes.push(Lane { length, harvest, kind, open, steps: relative, after_steps });
            self.lanes.len() - 1
        });
        (at, base)
    }

    /// Starts of a mode's loads that come too late, run into downtime or into a night that does not take them, or pay for one.
    fn barred(&self, gear: &Gear, change: bool) -> Vec<Barred> {
        let load = if change { gear.change } else { gear.load };
        let length = load + gear.to_ready;
        let mut barred = Vec::new();
        let mut add = |from: Min, to: Min, price: Option<i64>| {
            let (from, to) = (from.max(self.window.from), to.min(self.window.to));
            if from < to {
                barred.push(Barred { from, to, price });
            }
        };
        if let Some(from) = self.class.loads_until {
            add(from, Min::MAX, None);
        }
        for &(down_from, down_to) in &self.class.downtime {
            add(down_from - length + 1, down_to, None);
        }
        let bind = self.problem.night_minutes.is_some() || self.problem.night_printers.is_some();
        let priced = !self.tariff.night.is_empty();
        if bind || priced {
            for k in self.room.night_after(self.window.from)..self.problem.nights.len() {
                let night = self.problem.nights[k].0;
                if night >= self.window.to {
                    break;
                }
                let last = night - load + 1;
                if let Some(limit) = self.room.limit_of_night(k).filter(|_| bind) {
                    add(limit - load - gear.print + 1, last, None);
                }
                if priced {
                    let price = self.tariff.night[k + 1] - self.tariff.night[k];
                    if price > 0 {
                        add(night - load - gear.print + 1, last, Some(price));
                    }
                }
            }
        }
        barred
    }

    /// Do all values of the window fit 32 bits?
    pub(super) fn is_narrow(&self) -> bool {
        self.magnitude() < -i64::from(i32::HARDLY)
    }

    /// No history of the window is worth more than this, or costs more.
    pub(super) fn magnitude(&self) -> i64 {
        let minutes = self.minutes as i64;
        let lanes = || self.gears.iter().flat_map(|g| g.lanes.iter().flatten());
        let dearest = lanes().map(|l| l.1).max().unwrap_or(0);
        let steps = self.lanes.iter().flat_map(|l| l.steps.iter().map(|s| s.1).chain([l.after_steps]));
        let least = steps.map(|v| v.abs()).max().unwrap_or(0);
        let span = |prefix: &[i64], from: usize, to: usize| match (prefix.get(from), prefix.get(to)) {
            (Some(a), Some(b)) => b - a,
            _ => 0,
        };
        let operators = span(&self.tariff.operator, self.window.from as usize, self.window.to.max(0) as usize);
        let nights = span(&self.tariff.night, 0, self.tariff.night.len().saturating_sub(1));
        let runs = minutes / i64::from(self.shortest.max(1)) + 2;
        let most = dearest.saturating_add(least).saturating_mul(runs);
        let early = self.tariff.early.iter().copied().max().unwrap_or(0);
        most.saturating_add(operators)
            .saturating_add(nights)
            .saturating_add(self.tariff.idle.saturating_mul(minutes))
            .saturating_add(self.tariff.push.unwrap_or(0).saturating_mul(2 * runs))
            .saturating_add(self.tariff.spared.iter().map(|s| s.1).sum::<i64>().saturating_mul(2))
            .saturating_add(early.saturating_mul(runs))
            .saturating_add(self.tariff.chains.iter().map(|c| c.1).sum::<i64>())
    }

    /// Shuts starts at which no operator is free, or puts the price on them that pushing others aside has.
    pub(super) fn shut<T: Worth>(&self, values: &mut [T], open: &[u8], length: Length, first: usize) {
        let Some(push) = self.tariff.push else {
            for (value, &open) in values.iter_mut().zip(&open[first..]) {
                *value = if open > 0 { *value } else { T::NEVER };
            }
            return;
        };
        let all = &self.room.starts_when_empty(length)[first..];
        for (value, (&open, &all)) in values.iter_mut().zip(open[first..].iter().zip(all)) {
            let pushed = if all > 0 { value.minus(T::of(push)) } else { T::NEVER };
            *value = if open > 0 { *value } else { pushed };
        }
    }

    /// What a start costs because operators have something else to do; none where it cannot be.
    pub(super) fn push(&self, length: Length, at: Min) -> Option<i64> {
        if self.room.can_start(length, at) {
            return Some(0);
        }
        self.tariff.push.filter(|_| self.room.starts_when_empty(length)[at as usize] > 0)
    }

    pub(super) fn may_stop(&self) -> bool {
        self.window.leave == Leave::Anything
    }

    pub(super) fn kind(&self, material: Option<usize>) -> usize {
        if self.kinds == 1 { 0 } else { material.unwrap_or(self.problem.materials) }
    }

    /// Position of a minute in a table.
    #[inline(always)]
    pub(super) fn place(&self, row: usize, minute: Min) -> usize {
        row * self.minutes + (minute - self.window.from) as usize
    }

    /// What a harvest that starts at a minute is worth beyond its lane's constant.
    pub(super) fn step(&self, lane: usize, minute: Min) -> i64 {
        let lane = &self.lanes[lane];
        lane.steps.get(lane.steps.partition_point(|s| s.0 < minute)).map_or(lane.after_steps, |s| s.1)
    }
}
