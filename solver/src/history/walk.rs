//! Reading a history off the tables.

use super::chains::On;
use super::pass::{Gear, Pass, Tables, Worth};
use super::{Leg, Standing};
use crate::problem::Min;

impl Pass<'_> {
    pub(super) fn idle<T: Worth>(&self, minute: Min, tables: &Tables<T>) -> i64 {
        tables.idle.get((minute - self.window.from) as usize).map_or(0, |i| i.wide())
    }

    /// The value of being empty at a minute.
    pub(super) fn empty_value<T: Worth>(&self, at: Min, material: Option<usize>, tables: &Tables<T>) -> i64 {
        tables.empty[self.place(self.kind(material), at)].wide() + self.idle(at, tables)
    }

    /// The mode whose load at this minute is worth most, with its gain.
    pub(super) fn best_load<T: Worth>(
        &self,
        at: Min,
        material: Option<usize>,
        tables: &Tables<T>,
    ) -> Option<(usize, i64)> {
        let kind = self.kind(material);
        let epoch = self.tariff.epoch(at);
        let mut best: Option<(usize, i64)> = None;
        for gear in self.gears.iter().filter(|g| g.loadable) {
            let Some((gain, _)) = self.gain(gear, epoch, at, kind, None, tables) else { continue };
            let gain = gain.wide() + self.idle(at, tables);
            if best.is_none_or(|b| gain > b.1) {
                best = Some((gear.mode, gain));
            }
        }
        best
    }

    /// The gain of loading a mode at a minute while holding a kind, on a chain's track or not, and the minute it is ready;
    /// none where it cannot be.
    pub(super) fn gain<T: Worth>(
        &self,
        gear: &Gear,
        epoch: usize,
        at: Min,
        kind: usize,
        on: Option<On>,
        tables: &Tables<T>,
    ) -> Option<(T, Min)> {
        let (lane, base) = gear.lanes[epoch]?;
        let swap = self.kinds > 1 && kind != self.problem.materials && kind != gear.kind;
        let lengths = &self.room.of_mode[gear.mode];
        let (length, minutes) = if swap { (lengths.change, gear.change) } else { (lengths.load, gear.load) };
        let end = at + minutes + gear.to_ready;
        if end > self.window.to {
            return None;
        }
        let push = self.push(length, at)?;
        let mut value = self.ready_at(lane, gear.mode, end, self.loaded(on, gear.mode, end), tables).plus(T::of(base));
        for barred in gear.barred[usize::from(swap)].iter().filter(|b| b.from <= at && at < b.to) {
            value = value.minus(T::of(barred.price?));
        }
        value = value.minus(T::of(self.tariff.operators(at, at + minutes) + self.tariff.early(at + minutes) + push));
        (value > T::HARDLY).then_some((value, end))
    }

    /// The gain of a harvest at a minute, on a chain's track or not.
    pub(super) fn harvest_gain<T: Worth>(&self, lane: usize, at: Min, on: Option<On>, tables: &Tables<T>) -> Option<T> {
        let l = &self.lanes[lane];
        let end = at + l.harvest;
        if end > self.window.to || self.is_down(at, end) {
            return None;
        }
        let push = self.push(l.length, at)?;
        let (next, chained) = self.harvested(on, at);
        let gained = self.step(lane, at) - self.tariff.operators(at, end) - push - chained;
        let value = self.empty_at(l.kind, end, next, tables).plus(T::of(gained));
        (value > T::HARDLY).then_some(value)
    }

    fn is_down(&self, from: Min, to: Min) -> bool {
        self.class.downtime.iter().any(|d| if from < to { d.0 < to && from < d.1 } else { d.0 < from && from < d.1 })
    }

    pub(super) fn walk<T: Worth>(&self, standing: Standing, tables: &Tables<T>) -> Option<(i64, Vec<Leg>)> {
        let (from, to) = (self.window.from, self.window.to);
        let mut legs = Vec::new();
        let mut at = from;
        let mut kind = self.kind(standing.material);
        let total;
        let mut holding: Option<(usize, Leg)> = None;
        let mut on: Option<On> = None;
        if let Some((mode, ready_at)) = standing.holding {
            let (lane, base) = self.gears.iter().find(|g| g.mode == mode)?.lanes[0]?;
            let m = &self.problem.modes[mode];
            let start = ready_at.max(from);
            if start > to {
                return None;
            }
            let value = tables.ready[self.place(lane, start)];
            if value <= T::HARDLY {
                return None;
            }
            // It has printed since before the window opened, until it begins to cool. Its constant has the idle price
            // of a whole print in it, as if it were loaded in the window.
            let print_from = ready_at - m.to_ready();
            let print_to = (ready_at - m.cool).clamp(from, start);
            let base = base - self.tariff.idle * i64::from(m.print);
            total = value.wide() + base + self.idle(print_to, tables);
            at = start;
            let leg = Leg { mode, load_from: None, print_from, ready: ready_at, harvest_from: 0, harvest_to: 0 };
            holding = Some((lane, leg));
        } else {
            let value = tables.empty[self.place(kind, from)];
            if value <= T::HARDLY {
                return None;
            }
            total = value.wide();
        }
        loop {
            if let Some((lane, mut leg)) = holding.take() {
                let value = self.ready_at(lane, leg.mode, at, on, tables);
                while self.harvest_gain(lane, at, on, tables) != Some(value) {
                    at = self.next_staffed(at)?;
                }
                on = self.harvested(on, at).0;
                leg.harvest_from = at;
                leg.harvest_to = at + self.lanes[lane].harvest;
                at = leg.harvest_to;
                kind = self.lanes[lane].kind;
                legs.push(leg);
                continue;
            }
            let mut value = self.empty_at(kind, at, on, tables);
            if at >= to || self.may_stop() && value.wide() + self.idle(at, tables) == 0 {
                return Some((total, legs));
            }
            // Among equals a load now beats a load later: what is early can still be moved.
            loop {
                let epoch = self.tariff.epoch(at);
                let choice = self.gears.iter().filter(|g| g.loadable).find_map(|gear| {
                    let (gain, end) = self.gain(gear, epoch, at, kind, on, tables)?;
                    (gain == value).then_some((gear, end))
                });
                if let Some((gear, end)) = choice {
                    let print_from = end - gear.to_ready;
                    let leg = Leg {
                        mode: gear.mode,
                        load_from: Some(at),
                        print_from,
                        ready: end,
                        harvest_from: 0,
                        harvest_to: 0,
                    };
                    holding = gear.lanes[epoch].map(|lane| (lane.0, leg));
                    on = self.loaded(on, gear.mode, end);
                    at = end;
                    break;
                }
                match self.next_staffed(at) {
                    Some(next) => {
                        at = next;
                        if self.tariff.spared_at(at).is_some() {
                            value = tables.empty[self.place(kind, at)];
                        }
                    }
                    None => return Some((total, legs)),
                }
            }
        }
    }

    /// The next minute of the window in which something can be done.
    fn next_staffed(&self, at: Min) -> Option<Min> {
        let next = self.room.minute_of_row(self.room.row_after(at + 1));
        (next > at && next <= self.window.to).then_some(next)
    }
}
