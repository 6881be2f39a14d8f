//! Bounds from prices.
//!
//! Give each thing that must be covered a price and each minute of an operator another. On each printer the best
//! history from a moment on, what it covers less the operator minutes it pays for, is found by going back through the
//! minutes; it asks nothing of the other printers. If all printers together, with all the operator time there is sold
//! at its price, earn less than what is open is worth, no plan within the goal's limits follows from that state. This
//! holds for any prices that are not negative (Lagrangian relaxation of the needs and of the operators). Prices are
//! whole numbers, so that no rounding is in the way of the proof.

use super::facts::Facts;
use super::goal::Goal;
use super::state::{Holds, Spot, State};
use super::timetable::Timetable;
use crate::problem::Min;

/// What all that is open is worth; no single price is higher, so that sums over minutes stay in range.
pub(super) const WORTH: f64 = 1e9;

/// More than anything costs; two hundred times this is still a number.
const DEAR: i64 = 1 << 48;

/// Less than anything that can be earned.
pub(super) const NOTHING: i64 = i64::MIN / 64;

/// Prices as they are set.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tags {
    /// By row of the cover.
    pub row: Vec<f64>,
    /// By slot: of one operator minute.
    pub slot: Vec<f64>,
    /// Of one idle minute.
    pub idle: f64,
}

impl Tags {
    /// Makes all that is open worth [`WORTH`]; false where nothing is.
    pub(super) fn scale(&mut self, open: &[i64]) -> bool {
        let worth: f64 = self.row.iter().zip(open).map(|(p, &n)| p * n as f64).sum();
        if worth <= 0.0 || !worth.is_finite() {
            return false;
        }
        let by = WORTH / worth;
        self.row
            .iter_mut()
            .chain(&mut self.slot)
            .chain([&mut self.idle])
            .for_each(|p| *p = (*p * by).clamp(0.0, WORTH));
        true
    }
}

/// Prices, and the best earnings under them.
pub(super) struct Prices {
    pub tags: Tags,
    /// By row.
    row: Vec<i64>,
    /// By minute: of all minutes before it, for one operator.
    paid: Vec<i64>,
    /// By minute: of all operators on shift from then on.
    crew: Vec<i64>,
    /// By minute: the cheapest box from then on.
    boxes: Vec<i64>,
    /// Of an idle minute.
    pub idle: i64,
    /// By class, material held and minute: the best that comes of another load from then on.
    pub empty: Vec<Vec<Vec<i64>>>,
    /// By class, plate and ready minute, without what the plate itself covers.
    pub loaded: Vec<Vec<Vec<i64>>>,
    /// By class, plate, epoch of the load and ready minute, with what it covers.
    pub future: Vec<Vec<Vec<Vec<i64>>>>,
}

impl Prices {
    /// Works out the best earnings.
    pub(super) fn new(facts: &Facts<'_>, table: &Timetable, tags: &Tags) -> Prices {
        let length = table.last as usize + 1;
        let whole = |p: f64| p.clamp(0.0, WORTH) as i64;
        let mut paid = vec![0i64; length + 1];
        for t in 0..length {
            let here = if table.crew[t] > 0 { whole(tags.slot[table.slot[t]]) } else { 0 };
            paid[t + 1] = paid[t] + here;
        }
        let mut crew = vec![0i64; length + 1];
        for t in (0..length).rev() {
            crew[t] = crew[t + 1] + (paid[t + 1] - paid[t]) * table.crew[t];
        }
        let pack = facts.problem.pack_box as usize;
        let mut boxes = vec![DEAR; length + 1];
        if !facts.lines.is_empty() {
            for t in (0..length).rev() {
                let can = table.until[t] >= 0 && t + pack <= table.until[t].min(table.last) as usize;
                boxes[t] = boxes[t + 1].min(if can { paid[t + pack] - paid[t] } else { DEAR });
            }
        }
        let row = tags.row.iter().map(|&p| whole(p)).collect();
        let idle = whole(tags.idle);
        let (empty, loaded, future) = (Vec::new(), Vec::new(), Vec::new());
        let mut prices = Prices { tags: tags.clone(), row, paid, crew, boxes, idle, empty, loaded, future };
        for class in 0..facts.problem.classes.len() {
            prices.earn(facts, table, class);
        }
        prices
    }

    /// What an operator is paid from a minute on.
    pub(super) fn fee(&self, from: usize, minutes: Min) -> i64 {
        let to = (from + minutes as usize).min(self.paid.len() - 1);
        self.paid[to] - self.paid[from]
    }

    /// What a printer costs that stays as it is.
    pub(super) fn stay(&self, spot: &Spot) -> i64 {
        -self.idle * i64::from(spot.idle)
    }

    /// What a printer's runs so far take off its cost, if it goes on.
    pub(super) fn printed(&self, spot: &Spot) -> i64 {
        self.idle * i64::from(spot.printed)
    }

    fn earn(&mut self, facts: &Facts<'_>, table: &Timetable, class: usize) {
        let length = table.last as usize + 1;
        let plates = &table.plates[class];
        let epochs = facts.serves.len();
        let mut empty = vec![vec![NOTHING; length + 1]; facts.problem.materials + 1];
        let mut loaded = vec![vec![NOTHING; length + 1]; plates.len()];
        let mut future = vec![vec![vec![NOTHING; length + 1]; epochs]; plates.len()];
        let mut held: Vec<usize> = plates.iter().map(|p| facts.problem.modes[p.mode].material + 1).collect();
        held.push(facts.problem.classes[class].material.map_or(0, |m| m + 1));
        held.sort_unstable();
        held.dedup();
        // Going back in time, a run counts in more and more rows: what it has come to, and how many rows those are.
        let mut earned = vec![vec![(0i64, 0usize); epochs]; plates.len()];
        for t in (0..length).rev() {
            let epoch = facts.epoch(t as Min);
            for &material in &held {
                let mut best = empty[material][t + 1];
                if table.until[t] >= 0 {
                    for (p, plate) in plates.iter().enumerate() {
                        let m = &facts.problem.modes[plate.mode];
                        let minutes = facts.load_minutes(plate.mode, material);
                        let loads = &plate.loads[usize::from(minutes > m.load)];
                        if loads.get(t).is_some_and(|&can| can) {
                            let ready = t + (minutes + m.to_ready()) as usize;
                            if let Some(&then) = future[p][epoch].get(ready) {
                                let printed = self.idle * i64::from(m.print);
                                best = best.max(then - self.fee(t, minutes) + printed);
                            }
                        }
                    }
                }
                empty[material][t] = best;
            }
            for (p, plate) in plates.iter().enumerate() {
                let m = &facts.problem.modes[plate.mode];
                let end = t + m.harvest as usize;
                let can = plate.harvests[t] && end <= table.last as usize;
                if !can {
                    loaded[p][t] = loaded[p][t + 1];
                    for of_epoch in future[p].iter_mut().skip(1) {
                        of_epoch[t] = of_epoch[t + 1];
                    }
                    continue;
                }
                let stay = -self.idle * i64::from(facts.up(class, end as Min));
                let after = empty[m.material + 1][end].max(stay) - self.fee(t, m.harvest);
                loaded[p][t] = loaded[p][t + 1].max(after);
                for (e, of_epoch) in future[p].iter_mut().enumerate().skip(1) {
                    let (sum, rows) = &mut earned[p][e];
                    while let Some(&(until, row, count)) = plate.counts[e].get(*rows)
                        && until >= end as Min
                    {
                        *sum += count * self.row[row];
                        *rows += 1;
                    }
                    of_epoch[t] = of_epoch[t + 1].max(after + *sum);
                }
            }
        }
        self.empty.push(empty);
        self.loaded.push(loaded);
        self.future.push(future);
    }

    /// How much more can be earned from a state than what is open is worth, at best; below zero there is no plan.
    pub(super) fn slack(&self, facts: &Facts<'_>, goal: &Goal, table: &Timetable, state: &State, open: &[i64]) -> i64 {
        let now = state.now.clamp(0, table.last + 1) as usize;
        let mut slack = self.crew[now] + self.idle * goal.idle.unwrap_or(0);
        for &(_, until) in &state.busy {
            slack -= self.fee(now, (until - state.now).max(0));
        }
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let t = spot.time.clamp(0, table.last + 1) as usize;
            match Holds::of(spot.code) {
                Holds::Nothing { material, .. } => {
                    let closed = facts.fences.is_empty() && is_closed(facts, class, spot.skip);
                    let more = if closed { NOTHING } else { self.empty[class][material][t] };
                    slack += self.stay(spot).max(more + self.printed(spot));
                }
                Holds::Run { mode, epoch, .. } => {
                    let Some(plate) = table.plate(class, mode) else { continue };
                    let earns = self.loaded[class][plate][t] + self.printed(spot);
                    // What is on a printer at the start may be harvested when nothing matters any more.
                    slack += if epoch == 0 && goal.idle.is_none() { earns.max(0) } else { earns };
                }
            }
            if slack < NOTHING / 2 {
                return NOTHING;
            }
        }
        slack -= self.row.iter().zip(open).map(|(p, n)| p * n).sum::<i64>();
        let boxes: i64 = facts.lines.iter().zip(&state.packed).map(|(l, k)| i64::from(l.count - k)).sum();
        if boxes > 0 {
            slack -= boxes * self.boxes[now];
        }
        slack
    }
}

/// Nothing is to be loaded any more.
fn is_closed(facts: &Facts<'_>, class: usize, skip: u32) -> bool {
    skip.count_ones() as usize == facts.problem.classes[class].modes.len()
}
