//! The tables, filled from the window's end to its start, block by block.

use super::Leave;
use super::pass::{Barred, Pass, Tables, Worth};
use crate::problem::Min;

/// Longest block: what it works on stays in the nearest cache.
pub(crate) const BLOCK: usize = 512;

impl Pass<'_> {
    pub(super) fn fill<T: Worth>(&self, tables: &mut Tables<T>) {
        assert!(self.magnitude() < -T::NEVER.wide(), "prices beyond what sums hold");
        let minutes = self.minutes;
        self.count_idle(tables);
        tables.empty.clear();
        tables.empty.resize(minutes * self.kinds, T::NEVER);
        tables.ready.clear();
        tables.ready.resize(minutes * self.lanes.len(), T::NEVER);
        tables.tracks.clear();
        tables.tracks.resize_with(self.tariff.chains.len(), || None);
        let last = minutes - 1;
        let end = T::of(0).minus(tables.idle.last().copied().unwrap_or(T::of(0)));
        for kind in 0..self.kinds {
            let unknown = kind == self.problem.materials;
            let wanted = match self.window.leave {
                Leave::Anything => true,
                Leave::Holding(m) => self.kinds == 1 || unknown || kind == m,
                Leave::NotHolding(m) => self.kinds == 1 || (!unknown && kind != m),
            };
            if wanted {
                tables.empty[kind * minutes + last] = end;
            }
        }
        // A harvest of no minutes may stand at the very end.
        self.harvests(last, minutes, tables);
        let (from, to) = (self.window.from, self.window.to);
        let mut done = to;
        for &(a, b) in self.room.stretches_before(to) {
            let (a, b) = (a.max(from), b.min(to));
            if b <= from {
                break;
            }
            if a >= b {
                continue;
            }
            self.wait((b - from) as usize, (done - from) as usize, tables);
            let mut until = b;
            while until > a {
                let epoch = self.tariff.epoch(until - 1);
                let longest = self.shortest.clamp(1, BLOCK as Min);
                let start = a.max(until - longest).max(self.tariff.epochs[epoch]);
                let start = self.end_of_begin(start, until).unwrap_or(start);
                let (x, y) = ((start - from) as usize, (until - from) as usize);
                self.loads(x, y, epoch, tables);
                self.fill_track(start, until, tables);
                self.harvests(x, y, tables);
                until = start;
            }
            done = a;
        }
        self.wait(0, (done - from) as usize, tables);
    }

    fn count_idle<T: Worth>(&self, tables: &mut Tables<T>) {
        tables.idle.clear();
        if self.tariff.idle == 0 {
            return;
        }
        let mut sum = 0;
        let mut down = self.class.downtime.iter().peekable();
        tables.idle.push(T::of(0));
        for minute in self.window.from..self.window.to {
            while down.next_if(|d| d.1 <= minute).is_some() {}
            let is_down = down.peek().is_some_and(|d| d.0 <= minute);
            sum += if is_down { 0 } else { self.tariff.idle };
            tables.idle.push(T::of(sum));
        }
    }

    /// Minutes `x..y` in which nothing can be done.
    fn wait<T: Worth>(&self, x: usize, y: usize, tables: &mut Tables<T>) {
        if x >= y {
            return;
        }
        for lane in 0..self.lanes.len() {
            let row = &mut tables.ready[lane * self.minutes..][..self.minutes];
            let value = row[y];
            row[x..y].fill(value);
        }
        for kind in 0..self.kinds {
            let row = &mut tables.empty[kind * self.minutes..][..self.minutes];
            let mut value = row[y];
            // Only who loads again gets anything back.
            let stopped = T::of(0).minus(tables.idle.get(y).copied().unwrap_or(T::of(0)));
            if let Some(back) = self.tariff.spared_at(self.window.from + y as Min).filter(|_| value > stopped) {
                value = value.plus(T::of(back));
            }
            if tables.idle.is_empty() || !self.may_stop() {
                row[x..y].fill(value);
                continue;
            }
            for (here, &idle) in row[x..y].iter_mut().zip(&tables.idle[x..y]) {
                *here = value.max(T::of(0).minus(idle));
            }
        }
    }

    /// The minutes `x..y` of being empty, all loads of which lead behind `y`.
    fn loads<T: Worth>(&self, x: usize, y: usize, epoch: usize, tables: &mut Tables<T>) {
        let width = y - x;
        let Tables { empty, ready, loads, block, idle, .. } = tables;
        loads.clear();
        loads.resize(width * self.groups.len(), T::NEVER);
        let first = self.window.from as usize + x;
        for (group, best) in self.groups.iter().zip(loads.chunks_exact_mut(width)) {
            for &g in &group.gears {
                let gear = &self.gears[g];
                let Some((lane, base)) = gear.lanes[epoch] else { continue };
                let base = T::of(base);
                let ahead = (group.minutes + gear.to_ready) as usize;
                let Some(fits) = self.minutes.checked_sub(x + ahead) else { continue };
                let fits = fits.min(width);
                let reached = &ready[lane * self.minutes + x + ahead..][..fits];
                let barred = &gear.barred[usize::from(group.change)];
                let meets = |b: &Barred| b.from < (first + width) as Min && b.to > first as Min;
                if !barred.iter().any(meets) {
                    for (best, &value) in best.iter_mut().zip(reached) {
                        *best = (*best).max(value.plus(base));
                    }
                    continue;
                }
                block.clear();
                block.extend(reached.iter().map(|&value| value.plus(base)));
                for b in barred.iter().filter(|b| meets(b)) {
                    let from = (b.from - first as Min).max(0) as usize;
                    let to = ((b.to - first as Min) as usize).min(fits);
                    if from >= to {
                        continue;
                    }
                    match b.price {
                        None => block[from..to].fill(T::NEVER),
                        Some(price) => block[from..to].iter_mut().for_each(|v| *v = v.minus(T::of(price))),
                    }
                }
                for (best, &value) in best.iter_mut().zip(block.iter()) {
                    *best = (*best).max(value);
                }
            }
            if !self.tariff.operator.is_empty() {
                let before = &self.tariff.operator[first..first + width];
                // Where the prices end, no such load fits.
                let after = self.tariff.operator.get(first + group.minutes as usize..).unwrap_or_default();
                for (best, (&a, &b)) in best.iter_mut().zip(before.iter().zip(after)) {
                    *best = best.minus(T::of(b).minus(T::of(a)));
                }
            }
            if !self.tariff.early.is_empty() {
                let early = self.tariff.early.get(first + group.minutes as usize..).unwrap_or_default();
                for (best, &price) in best.iter_mut().zip(early) {
                    *best = best.minus(T::of(price));
                }
            }
            self.shut(best, group.open, group.length, first);
        }
        for kind in 0..self.kinds {
            block.clear();
            block.resize(width, T::NEVER);
            if self.may_stop() && !idle.is_empty() {
                block.iter_mut().zip(&idle[x..y]).for_each(|(b, &i)| *b = T::of(0).minus(i));
            }
            let unknown = kind == self.problem.materials;
            for (group, best) in self.groups.iter().zip(loads.chunks_exact(width)) {
                let leads = self.kinds == 1
                    || if group.change { !unknown && group.kind != kind } else { unknown || group.kind == kind };
                if leads {
                    for (b, &value) in block.iter_mut().zip(best) {
                        *b = (*b).max(value);
                    }
                }
            }
            let row = &mut empty[kind * self.minutes..][x..=y];
            scan(row, block);
        }
    }

    /// The minutes `x..y` of holding ready plates.
    fn harvests<T: Worth>(&self, x: usize, y: usize, tables: &mut Tables<T>) {
        let width = y - x;
        let Tables { empty, ready, block, tracks, .. } = tables;
        let first = self.window.from + x as Min;
        let begun = self.begun_in(first, first + width as Min, tracks);
        for (index, lane) in self.lanes.iter().enumerate() {
            let later = if y < self.minutes { ready[index * self.minutes + y] } else { T::NEVER };
            let row = &mut ready[index * self.minutes..][x..y];
            let ahead = lane.harvest as usize;
            let fits = self.minutes.saturating_sub(x + ahead).min(width);
            block.clear();
            if fits > 0 {
                block.extend_from_slice(&empty[lane.kind * self.minutes..][x + ahead..x + ahead + fits]);
            }
            block.resize(width, T::NEVER);
            if let Some((from, on_track)) = begun {
                block[from..from + on_track.len()].copy_from_slice(on_track);
            }
            if !lane.steps.is_empty() || lane.after_steps != 0 {
                let mut at = 0;
                let pieces = lane.steps.iter().copied().chain([(Min::MAX - 1, lane.after_steps)]);
                for (until, value) in pieces {
                    let to = ((until - first).max(-1) + 1).min(width as Min) as usize;
                    if to > at {
                        block[at..to].iter_mut().for_each(|v| *v = v.plus(T::of(value)));
                        at = to;
                    }
                }
            }
            if !self.tariff.operator.is_empty() {
                let before = &self.tariff.operator[first as usize..];
                let after = self.tariff.operator.get(first as usize + ahead..).unwrap_or_default();
                for (best, (&a, &b)) in block.iter_mut().zip(before.iter().zip(after)) {
                    *best = best.minus(T::of(b).minus(T::of(a)));
                }
            }
            for &(down_from, down_to) in &self.class.downtime {
                let from = (down_from - lane.harvest + 1 - first).clamp(0, width as Min) as usize;
                let to = (down_to - first).clamp(0, width as Min) as usize;
                if from < to {
                    block[from..to].fill(T::NEVER);
                }
            }
            self.shut(block, lane.open, lane.length, first as usize);
            let mut run = later;
            for (here, &value) in row.iter_mut().zip(block.iter()).rev() {
                run = run.max(value);
                *here = run;
            }
        }
    }
}

/// Each minute is worth the most of its own and all later ones; the row's last entry stands already.
fn scan<T: Worth>(row: &mut [T], block: &[T]) {
    let Some((last, rest)) = row.split_last_mut() else { return };
    let mut run = *last;
    for (here, &value) in rest.iter_mut().zip(block).rev() {
        run = run.max(value);
        *here = run;
    }
}
