//! Plans woven printer by printer: each takes the longest path through what the printers before it have left.
//!
//! The dispatcher goes minute by minute and therefore decides without knowing what later nights will need. Here a printer's
//! whole history is decided at once, against the operators' free minutes, and what is missing shrinks with every printer.
//! All depends on what a copy of each part is worth. At the mix's prices, printer minutes per copy, the first printers
//! take what fits their nights and leave the last ones with what does not: on the kit run 6.9 % of all needs are missing
//! at an end where less than half a per cent has to be.
//!
//! # Prices that keep the pace
//!
//! In the relaxation behind the bound, all printers follow one mix of histories, so with `k` of `n` printers planned every
//! need should be met to `k/n`. Prices bring that about: before each printer, the price of a need is multiplied by its own
//! missing share over the missing share of all,
//!
//! ```text
//! price[s,p] * (missing[s,p] / need[s,p]) / (sum of missing * price / sum of need * price)
//! ```
//!
//! (shipments wanted from and by the same minutes counted together), so what lags behind is dearer to the next printer and what leads is cheaper. These are multiplicative weights (Arora,
//! Hazan, Kale, *Theory of Computing* 8 (2012) 121-164, from memory): a price's average over the printers tends to the
//! dual of the relaxation, with a printer for each step. The averages, without the last quarter's printers, who only
//! gather up what is left, are what the prices of the next floor go half-way to. On the kit run the first floor woven so
//! lacks 1.3 %, the second 0.6 %, and both take a twentieth of the time of a linear program that finds such prices.
//!
//! Powers of the ratio higher than the first overshoot: 2 to 3 % are missing at the fourth power and above.

use crate::demand::Demand;
use crate::floor::Floor;
use crate::history::{Leg, Scratch, best};
use crate::problem::{Min, Problem};

/// How often a path that makes too much of something is asked again.
const ASK_AGAIN: usize = 3;
/// How far the pace may change a price.
const LEAST_PACE: f64 = 1.0 / 16.0;
const MOST_PACE: f64 = 8.0;
/// What a whole history may be worth at most, so that paths keep to 32 bits.
const NARROW: f64 = 1.2e8;

/// Prices by part and shipment.
type Prices = Vec<Vec<f64>>;

/// Weaves one floor after another, and learns its prices on the way.
pub(super) struct Weaver<'p> {
    problem: &'p Problem<'p>,
    price: Prices,
    /// Printers in the order they are planned, classes evenly mixed.
    turns: Vec<usize>,
    scratch: Scratch,
    /// Floors woven so far.
    pub(super) woven: usize,
    /// Steps of longest paths of the last one.
    pub(super) work: u64,
}

impl<'p> Weaver<'p> {
    /// Starts from a price per copy of each part.
    pub(super) fn new(problem: &'p Problem<'p>, price: &[i64]) -> Weaver<'p> {
        let orders = problem.orders.len();
        let mut turns: Vec<(i64, usize)> = Vec::new();
        for class in &problem.classes {
            let printers = class.printers.len() as i64;
            turns.extend((0..printers).map(|slot| ((2 * slot + 1) * 1_000_000 / printers, 0)));
        }
        turns.iter_mut().enumerate().for_each(|(machine, turn)| turn.1 = machine);
        turns.sort_unstable();
        Weaver {
            problem,
            price: price.iter().map(|&p| vec![p as f64; orders]).collect(),
            turns: turns.into_iter().map(|t| t.1).collect(),
            scratch: Scratch::default(),
            woven: 0,
            work: 0,
        }
    }

    /// By how much prices are multiplied so that paths keep to 32 bits.
    fn unit(&self, until: Min) -> f64 {
        let dearest = self.problem.modes.iter().map(|m| {
            m.yields.iter().map(|&(p, n)| self.price[p].iter().copied().fold(0.0, f64::max) * n as f64).sum::<f64>()
        });
        let shortest = self.problem.modes.iter().map(|m| m.load + m.to_ready()).min().unwrap_or(1).max(1);
        let runs = f64::from(until / shortest + 2);
        (NARROW / (dearest.fold(1.0, f64::max) * runs)).min(1.0)
    }

    /// Plans every printer once, up to `until`, towards the deadlines.
    pub(super) fn weave(&mut self, deadlines: &[Min], until: Min) -> Floor<'p> {
        let problem = self.problem;
        self.woven += 1;
        self.work = 0;
        let mut floor = Floor::new(problem, deadlines);
        let pools = self.pools(deadlines);
        let start = pooled(&pools, &floor.demand);
        let mut sum: Prices = self.price.iter().map(|p| vec![0.0; p.len()]).collect();
        let counted = (3 * self.turns.len()).div_ceil(4);
        let unit = self.unit(until);
        for (turn, machine) in self.turns.clone().into_iter().enumerate() {
            let paced = self.paced(&start, &pooled(&pools, &floor.demand));
            if turn < counted {
                for (sum, price) in sum.iter_mut().flatten().zip(paced.iter().flatten()) {
                    *sum += price / counted as f64;
                }
            }
            if let Some(legs) = self.path(&mut floor, machine, &paced, unit, until) {
                for (at, leg) in legs.into_iter().enumerate() {
                    if !floor.book(machine, at, leg) {
                        break;
                    }
                }
            }
        }
        // Half of the way: floors follow one another with less to and fro.
        for (price, average) in self.price.iter_mut().flatten().zip(sum.iter().flatten()) {
            *price = (*price + average) / 2.0;
        }
        floor
    }

    /// By shipment, the first one that is wanted from and by the same minutes: their needs keep one pace.
    fn pools(&self, deadlines: &[Min]) -> Vec<usize> {
        let alike = |a: usize, b: usize| {
            deadlines[a] == deadlines[b] && self.problem.orders[a].release == self.problem.orders[b].release
        };
        (0..deadlines.len()).map(|o| (0..o).find(|&first| alike(first, o)).unwrap_or(o)).collect()
    }

    /// The prices at the pace of each need, with the same worth of all needs as the mix had.
    fn paced(&self, start: &Prices, now: &Prices) -> Prices {
        let worth = |of: &Prices| -> f64 {
            of.iter().flatten().zip(self.price.iter().flatten()).map(|(n, price)| n * price).sum()
        };
        let ours = worth(now) / worth(start).max(1e-9);
        let mut paced: Prices = self.price.clone();
        let mut sum = 0.0;
        for ((price, &start), &now) in paced.iter_mut().flatten().zip(start.iter().flatten()).zip(now.iter().flatten())
        {
            let mine = if start > 0.0 { now / start } else { 0.0 };
            *price *= (mine / ours.max(1e-9)).clamp(LEAST_PACE, MOST_PACE);
            sum += *price * start;
        }
        let scale = worth(start) / sum.max(1e-9);
        paced.iter_mut().flatten().for_each(|p| *p *= scale);
        paced
    }

    /// The history of one printer that lowers what is missing most.
    fn path(
        &mut self,
        floor: &mut Floor<'p>,
        machine: usize,
        price: &Prices,
        unit: f64,
        until: Min,
    ) -> Option<Vec<Leg>> {
        let problem = self.problem;
        let (window, standing) = floor.window(machine, 0, 0, until);
        let class_index = floor.machines[machine].class;
        let class = &problem.classes[class_index];
        let passes = if problem.materials > 1 { 3 } else { 1 };
        let before = missing(&floor.demand);
        let mut discount = vec![unit; price.len()];
        let mut kept: Option<(f64, Vec<Leg>)> = None;
        for _ in 0..=ASK_AGAIN {
            self.work += 1000 + until as u64 * passes * (class.modes.len() as u64 + 8) / 16;
            let tariff = floor.demand.tariff(&|part, line| ((price[part][line.order] * discount[part]) as i64).max(1));
            let Some((_, legs)) = best(&floor.room, class, &tariff, window, standing, &mut self.scratch) else { break };
            let mut made = vec![0.0; price.len()];
            for leg in &legs {
                floor.demand.count(leg.mode, leg.load_from, leg.harvest_to, true);
                problem.modes[leg.mode].yields.iter().for_each(|y| made[y.0] += y.1 as f64);
            }
            let after = missing(&floor.demand);
            for leg in &legs {
                floor.demand.count(leg.mode, leg.load_from, leg.harvest_to, false);
            }
            let (mut gain, mut wasted) = (0.0, false);
            for part in 0..price.len() {
                let mut useful = 0.0;
                for (order, price) in price[part].iter().enumerate() {
                    let less = before[part][order] - after[part][order];
                    useful += less;
                    gain += less * price;
                }
                if made[part] > useful {
                    let share: f64 = (made[part] - useful) / made[part];
                    discount[part] *= 1.0 - share.clamp(0.1, 0.6);
                    wasted = true;
                }
            }
            if kept.as_ref().is_none_or(|k| gain > k.0) {
                kept = Some((gain, legs));
            }
            if !wasted {
                break;
            }
        }
        kept.map(|k| k.1)
    }
}

/// Copies still missing, by part and shipment, of all shipments of its pool together.
fn pooled(pools: &[usize], demand: &Demand<'_>) -> Prices {
    let mut pooled = missing(demand);
    for of_order in &mut pooled {
        let mut sums = vec![0.0; of_order.len()];
        of_order.iter().zip(pools).for_each(|(n, &pool)| sums[pool] += n);
        of_order.iter_mut().zip(pools).for_each(|(n, &pool)| *n = sums[pool]);
    }
    pooled
}

/// Copies still missing, by part and shipment.
fn missing(demand: &Demand<'_>) -> Prices {
    let of_part = |part: usize| {
        let mut of_order = vec![0.0; demand.problem.orders.len()];
        for (line, &n) in demand.lines[part].iter().zip(demand.missing_by_line(part)) {
            of_order[line.order] += n as f64;
        }
        of_order
    };
    (0..demand.lines.len()).map(of_part).collect()
}
