//! What is still wanted, against deadlines.
//!
//! A search works towards deadlines: each shipment is to be ready by its own. Copies count by *when they were loaded*
//! (the release epoch) and *by which deadline they are usable* (the bucket); everything else about a run is forgotten.
//! Shipments take copies in order of deadline, each from the earliest release epoch that still serves it, so that the
//! copies left over are those that serve most: for one part this meets all needs whenever they can be met. Stock serves
//! every shipment and is taken last. What whole plates make beyond all needs is asked for too, as a line of its own
//! ([`crate::whole`]).

use crate::history::{Steps, Tariff};
use crate::problem::{BEFORE_START, Min, Mode, NO_RELEASE, Problem};
use crate::whole;

/// A shipment's need of one part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// Shipment index.
    pub order: usize,
    /// Copies needed, with the spares aimed at.
    pub need: i64,
    /// Usable by.
    pub usable_by: Min,
    /// First release epoch whose loads may go into it.
    pub epoch: usize,
    /// Whether nobody needs it ([`Demand::welcome_more`]).
    pub surplus: bool,
}

/// Needs and what has been made towards them.
#[derive(Debug, Clone)]
pub struct Demand<'p> {
    /// The instance.
    pub problem: &'p Problem<'p>,
    /// First minutes of the release epochs; the first is before everything.
    pub epochs: Vec<Min>,
    /// By part, in order of deadline.
    pub lines: Vec<Vec<Line>>,
    /// By part: made copies by epoch (stock last), then by deadline bucket (beyond all deadlines last).
    made: Vec<Vec<Vec<i64>>>,
    /// By part, the copies still missing of each line.
    missing: Vec<Vec<i64>>,
    /// What [`Demand::settle`] deals out of; kept for its memory alone.
    left: Vec<Vec<i64>>,
}

/// How many minutes before a shipment's deadline a part of it must be usable: its boxes are packed after that, where
/// every line that holds the part is packed.
pub fn pack_tail(problem: &Problem<'_>, order: usize, part: usize) -> Min {
    let o = &problem.orders[order];
    let boxed: i64 = o.boxes.iter().map(|b| b.quantity * b.kit.iter().find(|k| k.0 == part).map_or(0, |k| k.1)).sum();
    let need = o.needs.iter().find(|n| n.0 == part).map_or(0, |n| n.1);
    if boxed > 0 && boxed == need { problem.pack_box } else { 0 }
}

impl<'p> Demand<'p> {
    /// Needs against a deadline for each shipment; only stock is made yet.
    pub fn new(problem: &'p Problem<'p>, deadlines: &[Min]) -> Demand<'p> {
        let epochs = epochs(problem);
        let mut lines = vec![Vec::new(); problem.finish.len()];
        for (order, o) in problem.orders.iter().enumerate() {
            for &(part, need) in &o.aims {
                let usable_by = deadlines[order].min(o.ready_by) - pack_tail(problem, order, part);
                let epoch = epochs.partition_point(|&e| e < o.release);
                lines[part].push(Line { order, need, usable_by, epoch, surplus: false });
            }
        }
        for (part, line) in lines.iter_mut().enumerate() {
            line.sort_by_key(|l| (l.usable_by, l.order));
            // Whatever release the rest of a whole plate was loaded after, it is there by the last deadline.
            if let Some(&last) = line.last() {
                let net = line.iter().map(|l| l.need).sum::<i64>() - problem.stock[part];
                let rest = whole::rounded_up(problem, part, net) - net;
                line.extend((rest > 0).then_some(Line { need: rest, epoch: 0, ..last }));
            }
        }
        let mut made: Vec<Vec<Vec<i64>>> =
            lines.iter().map(|l: &Vec<Line>| vec![vec![0; l.len() + 1]; epochs.len() + 1]).collect();
        for (part, &stock) in problem.stock.iter().enumerate() {
            made[part][epochs.len()][0] = stock;
        }
        let mut demand = Demand {
            problem,
            epochs,
            missing: lines.iter().map(|_| Vec::new()).collect(),
            lines,
            made,
            left: Vec::new(),
        };
        for part in 0..demand.lines.len() {
            demand.settle(part);
        }
        demand
    }

    /// The epoch of a load minute ([`BEFORE_START`] for what was on printers at the start).
    pub fn epoch(&self, load_from: Option<Min>) -> usize {
        let at = load_from.unwrap_or(BEFORE_START);
        self.epochs.partition_point(|&e| e <= at).saturating_sub(1)
    }

    /// Counts a run's copies in (or out).
    pub fn count(&mut self, mode: usize, load_from: Option<Min>, harvest_to: Min, add: bool) {
        let problem = self.problem;
        let epoch = self.epoch(load_from);
        for &(part, copies) in &problem.modes[mode].yields {
            let usable = harvest_to + problem.finish[part];
            let bucket = self.lines[part].partition_point(|l| l.usable_by < usable);
            self.made[part][epoch][bucket] += if add { copies } else { -copies };
            self.settle(part);
        }
    }

    fn settle(&mut self, part: usize) {
        let lines = &self.lines[part];
        let missing = &mut self.missing[part];
        missing.clear();
        if lines.len() == 1 {
            let line = lines[0];
            let have: i64 = self.made[part][line.epoch..].iter().map(|by_bucket| by_bucket[0]).sum();
            missing.push((line.need - have).max(0));
            return;
        }
        let left = &mut self.left;
        left.clone_from(&self.made[part]);
        for (at, line) in lines.iter().enumerate() {
            let mut need = line.need;
            for by_bucket in &mut left[line.epoch..] {
                for have in &mut by_bucket[..=at] {
                    let take = need.min(*have);
                    *have -= take;
                    need -= take;
                }
            }
            missing.push(need);
        }
    }

    /// Copies of a part that are still missing over all shipments, or welcome.
    pub fn missing(&self, part: usize) -> i64 {
        self.missing[part].iter().sum()
    }

    /// Copies of a part that all shipments want, or that are welcome.
    pub fn needed(&self, part: usize) -> i64 {
        self.lines[part].iter().map(|line| line.need).sum()
    }

    /// Wants a twentieth more of each part by its last deadline, a plate at least; says how many copies that is.
    pub fn want_more(&mut self) -> Vec<i64> {
        let mut extra = self.fullest_plates();
        for (part, extra) in extra.iter_mut().enumerate() {
            *extra = (*extra).max(self.needed(part) / 20);
            match self.lines[part].last_mut() {
                Some(last) => last.need += *extra,
                None => *extra = 0,
            }
            self.settle(part);
        }
        extra
    }

    /// Welcomes a plate more of each part than is needed: what nobody misses, but what a floor that makes it could have
    /// made something else instead of.
    pub fn welcome_more(&mut self) {
        for (part, plate) in self.fullest_plates().into_iter().enumerate() {
            if let Some(&last) = self.lines[part].last().filter(|_| plate > 0) {
                self.lines[part].push(Line { need: plate, epoch: 0, surplus: true, ..last });
                for by_bucket in &mut self.made[part] {
                    by_bucket.insert(by_bucket.len() - 1, 0);
                }
                self.settle(part);
            }
        }
    }

    /// By part, the copies of the plate that has most of it.
    fn fullest_plates(&self) -> Vec<i64> {
        let mut fullest = vec![0; self.lines.len()];
        for mode in &self.problem.modes {
            mode.yields.iter().for_each(|&(part, copies)| fullest[part] = copies.max(fullest[part]));
        }
        fullest
    }

    /// What is welcome and not made, weighed by a price per copy of each part.
    pub fn unmade(&self, price: &[i64]) -> i64 {
        self.unmet(price, true)
    }

    /// Copies still missing of each line of a part; the last is what is welcome, where something is.
    pub fn missing_by_line(&self, part: usize) -> &[i64] {
        &self.missing[part]
    }

    /// Everything missing, weighed by a price per copy of each part.
    pub fn shortage(&self, price: &[i64]) -> i64 {
        self.unmet(price, false)
    }

    fn unmet(&self, price: &[i64], surplus: bool) -> i64 {
        let of_part = |(part, lines): (usize, &Vec<Line>)| {
            let missing = lines.iter().zip(&self.missing[part]).filter(|l| l.0.surplus == surplus).map(|l| *l.1);
            missing.sum::<i64>() * price[part]
        };
        self.lines.iter().enumerate().map(of_part).sum()
    }

    /// Is nothing missing?
    pub fn is_met(&self) -> bool {
        let met = |(line, &missing): (&Line, &i64)| missing == 0 || line.surplus;
        self.lines.iter().zip(&self.missing).all(|(lines, missing)| lines.iter().zip(missing).all(met))
    }

    /// What runs are worth now: copies that are missing, at a price per copy of each part and shipment.
    pub fn tariff(&self, price: &dyn Fn(usize, &Line) -> i64) -> Tariff {
        let wants: Vec<Vec<Want>> = (0..self.lines.len())
            .map(|part| {
                self.lines[part]
                    .iter()
                    .zip(&self.missing[part])
                    .filter(|(_, missing)| **missing > 0)
                    .map(|(line, &copies)| Want {
                        usable_by: line.usable_by,
                        epoch: line.epoch,
                        copies,
                        price: price(part, line),
                    })
                    .collect()
            })
            .collect();
        tariff(self.problem, &self.epochs, &wants, &[])
    }
}

/// Copies somebody would still take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Want {
    /// Usable by.
    pub usable_by: Min,
    /// First release epoch whose loads may be taken.
    pub epoch: usize,
    /// How many.
    pub copies: i64,
    /// Price per copy.
    pub price: i64,
}

/// Something a whole run is worth, whatever becomes of its copies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bonus {
    /// Mode index.
    pub mode: usize,
    /// Its harvest starts at the latest.
    pub latest_harvest: Min,
    /// How much.
    pub value: i64,
}

/// What runs of each mode are worth against wants by part: no copy is worth more than the dearest want it can serve,
/// and no want takes more of one run than it wants.
pub fn tariff(problem: &Problem<'_>, epochs: &[Min], wants: &[Vec<Want>], bonuses: &[Bonus]) -> Tariff {
    let mut by_price: Vec<Vec<Want>> = wants.to_vec();
    for of_part in &mut by_price {
        of_part.sort_by_key(|w| std::cmp::Reverse((w.price, w.usable_by)));
    }
    let steps = |index: usize, mode: &Mode, epoch: usize| {
        let of_mode = || bonuses.iter().filter(move |b| b.mode == index);
        let latest_harvest = |w: &Want, part: usize| w.usable_by - problem.finish[part] - mode.harvest;
        let eligible = |part: usize| by_price[part].iter().filter(move |w| w.epoch <= epoch);
        let mut latest: Vec<Min> =
            mode.yields.iter().flat_map(|y| eligible(y.0).map(move |w| latest_harvest(w, y.0))).collect();
        latest.extend(of_mode().map(|b| b.latest_harvest));
        latest.sort_unstable();
        latest.dedup();
        let worth = |at: Min| -> i64 {
            let of_part = |&(part, copies): &(usize, i64)| {
                let mut left = copies;
                let mut value = 0;
                for want in eligible(part).filter(|w| latest_harvest(w, part) >= at) {
                    let take = left.min(want.copies);
                    value += take * want.price;
                    left -= take;
                }
                value
            };
            let bonus: i64 = of_mode().filter(|b| b.latest_harvest >= at).map(|b| b.value).sum();
            mode.yields.iter().map(of_part).sum::<i64>() + bonus
        };
        let mut steps: Steps = latest.into_iter().map(|at| (at, worth(at))).collect();
        steps.retain(|s| s.1 > 0);
        steps
    };
    let value = problem
        .modes
        .iter()
        .enumerate()
        .map(|(index, mode)| (0..epochs.len()).map(|epoch| steps(index, mode, epoch)).collect());
    Tariff {
        epochs: epochs.to_vec(),
        value: value.collect(),
        operator: Vec::new(),
        night: Vec::new(),
        early: Vec::new(),
        spared: Vec::new(),
        chains: Vec::new(),
        idle: 0,
        push: None,
        carriers: false,
    }
}

/// First minutes of the release epochs of an instance; the first is before everything.
pub fn epochs(problem: &Problem<'_>) -> Vec<Min> {
    let mut epochs: Vec<Min> = problem.orders.iter().map(|o| o.release).collect();
    epochs.push(NO_RELEASE);
    epochs.sort_unstable();
    epochs.dedup();
    epochs
}
