//! Prices in whole numbers: what the master proposes, made exact.

use super::chains::{Chained, chains};
use super::cuts::{Cut, cuts_among};
use super::mornings::{Morning, mornings};
use super::packing::Packing;
use super::ties;
use crate::demand::{self, Bonus, Want, pack_tail};
use crate::history::Tariff;
use crate::problem::{Min, Mode, Problem};
use crate::room::Room;

/// The sum of all needs at their prices, about: large enough that rounding loses nothing, small enough that no sum
/// over a million minutes overflows.
pub const TOTAL: f64 = 1.0e12;

/// Chains of months share so many rows.
const MOST_CHAIN_ROWS: usize = 30;

/// What one idle minute costs where idle minutes are minimised.
pub const IDLE_UNIT: i64 = 1000;

/// A need of a part: one row of the master. Shipments that may use the same runs share one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Need {
    /// Part index.
    pub part: usize,
    /// Shipment index, of the first of them.
    pub order: usize,
    /// Copies.
    pub copies: i64,
}

/// The rows the relaxation knows: needs, slots of operator time, nights.
#[derive(Debug, Clone)]
pub struct Rows {
    /// Needs.
    pub needs: Vec<Need>,
    /// Whole-run inequalities.
    pub cuts: Vec<Cut>,
    /// Slots as half-open stretches of minutes, in order, without gaps between staffed minutes.
    pub slots: Vec<(Min, Min)>,
    /// By slot, which row of the master it is in: slots of one row are priced alike ([`ties`]).
    pub ties: Vec<usize>,
    /// What mornings can take, and which row of the master each is in.
    pub mornings: Vec<Morning>,
    /// By morning, its row.
    pub morning_ties: Vec<usize>,
    /// How many printers can complete a chain, by shift.
    pub chains: Vec<Chained>,
    /// By chain, its row of the master.
    pub chain_ties: Vec<usize>,
    /// Boxes, and from when on they are late.
    pub packing: Packing,
    /// The shipments whose needs these are.
    pub orders: Vec<usize>,
    /// Operators on shift by minute.
    pub staff: Vec<i64>,
}

/// Whole prices for the rows; all 0 or more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prices {
    /// Per copy, by need.
    pub need: Vec<i64>,
    /// Per unit of a whole-run inequality.
    pub cut: Vec<i64>,
    /// Per operator minute, by slot.
    pub slot: Vec<i64>,
    /// Per printer that prints into it, by night.
    pub night: Vec<i64>,
    /// Per load, by morning ([`super::mornings`]).
    pub morning: Vec<i64>,
    /// Per printer that completes it, by chain ([`super::chains`]).
    pub chain: Vec<i64>,
    /// Per copy that is ready before a mark, by mark and part ([`super::packing`]).
    pub boxed: Vec<i64>,
    /// Per operator minute from a mark on, by mark.
    pub late: Vec<i64>,
}

impl Prices {
    /// No price on anything but a unit on each need.
    pub fn flat(problem: &Problem<'_>, rows: &Rows) -> Prices {
        Prices {
            need: vec![1; rows.needs.len()],
            cut: vec![0; rows.cuts.len()],
            slot: vec![0; rows.slots.len()],
            night: vec![0; problem.nights.len()],
            morning: vec![0; rows.mornings.len()],
            chain: vec![0; rows.chains.len()],
            boxed: vec![0; rows.packing.marks.len() * rows.packing.parts.len()],
            late: vec![0; rows.packing.marks.len()],
        }
    }

    /// A mix of these prices and others, `weight` in thousandths on these.
    pub fn blend(&self, other: &Prices, weight: i64) -> Prices {
        let mix = |a: &[i64], b: &[i64]| -> Vec<i64> {
            a.iter().zip(b).map(|(&a, &b)| (a * weight + b * (1000 - weight)) / 1000).collect()
        };
        Prices {
            need: mix(&self.need, &other.need),
            cut: mix(&self.cut, &other.cut),
            slot: mix(&self.slot, &other.slot),
            night: mix(&self.night, &other.night),
            morning: mix(&self.morning, &other.morning),
            chain: mix(&self.chain, &other.chain),
            boxed: mix(&self.boxed, &other.boxed),
            late: mix(&self.late, &other.late),
        }
    }
}

impl Rows {
    /// Rows with slots of so many minutes within each staffed stretch.
    pub fn new(problem: &Problem<'_>, deadlines: &[Min], slot_minutes: Min) -> Rows {
        let minutes = problem.horizon as usize + 2;
        let mut staff = vec![0; minutes];
        for pool in &problem.pools {
            for on_shift in &mut staff[pool.from as usize..pool.to as usize] {
                *on_shift += pool.operators.len() as i64;
            }
        }
        let mut slots = Vec::new();
        let mut at = 0;
        while at <= problem.horizon {
            if staff[at as usize] == 0 {
                at += 1;
                continue;
            }
            let from = at;
            while at <= problem.horizon && at < from + slot_minutes && staff[at as usize] > 0 {
                at += 1;
            }
            slots.push((from, at));
        }
        let ties = (0..slots.len()).collect();
        let all: Vec<usize> = (0..problem.orders.len()).collect();
        let mornings = mornings(problem, &staff);
        let morning_ties = (0..mornings.len()).collect();
        let (needs, cuts, chains, chain_ties) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let (packing, orders) = (Packing::default(), Vec::new());
        Rows { needs, cuts, slots, ties, mornings, morning_ties, chains, chain_ties, packing, orders, staff }
            .only(problem, deadlines, &all)
    }

    /// The same with the chains that printers may complete, up to a makespan; many of them share rows.
    pub fn with_chains(mut self, problem: &Problem<'_>, until: Min) -> Rows {
        self.chains = chains(problem, &self.staff);
        self.chains.retain(|c| c.chain.complete_from() <= until);
        let many = self.chains.len();
        self.chain_ties = (0..many).map(|at| at * many.min(MOST_CHAIN_ROWS) / many).collect();
        self
    }

    /// The same with only some shipments' needs.
    pub fn only(self, problem: &Problem<'_>, deadlines: &[Min], orders: &[usize]) -> Rows {
        let mut needs: Vec<Need> = Vec::new();
        for &order in orders {
            let o = &problem.orders[order];
            for &(part, copies) in o.least.iter().filter(|n| n.1 > 0) {
                let tail = pack_tail(problem, order, part);
                let alike = |n: &&mut Need| {
                    let same_runs =
                        (deadlines[n.order], problem.orders[n.order].release) == (deadlines[order], o.release);
                    n.part == part && same_runs && pack_tail(problem, n.order, part) == tail
                };
                match needs.iter_mut().find(alike) {
                    Some(need) => need.copies += copies,
                    None => needs.push(Need { part, order, copies }),
                }
            }
        }
        let cuts = cuts_among(problem, deadlines, orders);
        Rows { needs, cuts, packing: Packing::default(), orders: orders.to_vec(), ..self }
    }

    /// The same with what boxes take that are packed late, near a makespan, and the same prices on all else.
    pub fn with_packing(&self, problem: &Problem<'_>, prices: &Prices, makespan: Min) -> (Rows, Prices) {
        let packing = Packing::new(problem, &self.orders, &self.staff, makespan);
        let rows = Rows { packing, ..self.clone() };
        let Prices { boxed, late, .. } = Prices::flat(problem, &rows);
        (rows, Prices { boxed, late, ..prices.clone() })
    }

    /// The same with slots that recur tied to one another, up to a makespan.
    pub fn tied(mut self, until: Min) -> Rows {
        self.ties = ties::recurring(&self.slots, until);
        let likeness: Vec<_> = self.mornings.iter().map(Morning::likeness).collect();
        self.morning_ties = ties::numbered(&likeness);
        self
    }

    /// How many rows of operator time a master up to a makespan has.
    pub fn tied_rows(&self, until: Min) -> usize {
        let slots = self.slots.iter().zip(&self.ties).take_while(|s| s.0.0 < until);
        slots.map(|s| s.1 + 1).max().unwrap_or(0)
    }

    /// Rows with finer slots where operator time has a price and coarser ones where it has none, and the same prices on
    /// them: whatever the old rows proved, the new ones do.
    pub fn refined(&self, prices: &Prices, least: Min, most: Min) -> (Rows, Prices) {
        let whole = self.slot_prices(prices);
        let dearest = self.slots.iter().zip(&whole).map(|(s, &p)| p * i64::from(s.1 - s.0)).max().unwrap_or(0);
        let mut slots: Vec<(Min, Min)> = Vec::new();
        let mut slot_prices: Vec<i64> = Vec::new();
        // What each new slot is made of: the ties of its first and last part, and which half it is.
        let mut origins: Vec<(usize, usize, u8)> = Vec::new();
        for (((&(from, to), &price), &whole), &tie) in self.slots.iter().zip(&prices.slot).zip(&whole).zip(&self.ties) {
            let priced = whole * i64::from(to - from) * 200 > dearest;
            if priced && to - from >= 2 * least {
                let middle = from + (to - from) / 2;
                slots.extend([(from, middle), (middle, to)]);
                slot_prices.extend([price, price]);
                origins.extend([(tie, tie, 1), (tie, tie, 2)]);
                continue;
            }
            match (slots.last_mut(), slot_prices.last(), origins.last_mut()) {
                (Some(last), Some(&before), Some(origin))
                    if last.1 == from && before == 0 && price == 0 && to - last.0 <= most =>
                {
                    last.1 = to;
                    origin.1 = tie;
                }
                _ => {
                    slots.push((from, to));
                    slot_prices.push(price);
                    origins.push((tie, tie, 0));
                }
            }
        }
        let prices = Prices { slot: slot_prices, ..prices.clone() };
        (Rows { slots, ties: ties::numbered(&origins), ..self.clone() }, prices)
    }

    /// By slot, the price of an operator in its last minute, with what is paid from marks on.
    pub fn slot_prices(&self, prices: &Prices) -> Vec<i64> {
        let price_to = self.operator_prefix(prices);
        self.slots.iter().map(|s| price_to[s.1 as usize] - price_to[s.1 as usize - 1]).collect()
    }

    /// The price of an operator summed up to each minute.
    pub fn operator_prefix(&self, prices: &Prices) -> Vec<i64> {
        let mut sum = vec![0i64; self.staff.len() + 1];
        let mut slot = 0;
        let mut late = 0;
        let mut marks = self.packing.marks.iter().zip(&prices.late).peekable();
        for minute in 0..self.staff.len() {
            while slot < self.slots.len() && self.slots[slot].1 <= minute as Min {
                slot += 1;
            }
            let here = self.slots.get(slot).is_some_and(|s| s.0 <= minute as Min);
            while let Some((_, &price)) = marks.next_if(|m| m.0.from <= minute as Min) {
                late += price;
            }
            sum[minute + 1] = sum[minute] + if here { prices.slot[slot] + late } else { 0 };
        }
        sum
    }

    /// What a load pays that is over at a minute; empty where mornings have no price.
    fn early(&self, prices: &Prices) -> Vec<i64> {
        let priced = || self.mornings.iter().zip(&prices.morning).filter(|m| *m.1 > 0);
        let mut early = if priced().next().is_some() { vec![0; self.staff.len() + 1] } else { Vec::new() };
        for (morning, price) in priced() {
            early[morning.from as usize..=morning.by as usize].iter_mut().for_each(|p| *p += price);
        }
        early
    }

    /// What a printer gets back that stands empty across a morning and loads again.
    fn spared(&self, prices: &Prices) -> Vec<(Min, i64)> {
        let mut spared: Vec<(Min, i64)> = Vec::new();
        for (morning, &price) in self.mornings.iter().zip(&prices.morning).filter(|m| *m.1 > 0) {
            match spared.last_mut().filter(|s| s.0 == morning.from) {
                Some(last) => last.1 += price,
                None => spared.push((morning.from, price)),
            }
        }
        spared
    }

    /// What the prices make of histories that must be ready by these deadlines.
    pub fn tariff(&self, problem: &Problem<'_>, prices: &Prices, deadlines: &[Min], idle: i64) -> Tariff {
        let epochs = demand::epochs(problem);
        let mut wants: Vec<Vec<Want>> = vec![Vec::new(); problem.finish.len()];
        for (need, &price) in self.needs.iter().zip(&prices.need) {
            wants[need.part].push(Want {
                usable_by: deadlines[need.order] - pack_tail(problem, need.order, need.part),
                epoch: epochs.partition_point(|&e| e < problem.orders[need.order].release),
                copies: need.copies,
                price,
            });
        }
        let mut bonuses = Vec::new();
        for (cut, &price) in self.cuts.iter().zip(&prices.cut).filter(|c| *c.1 > 0) {
            let usable_by = cut.usable_by(problem, deadlines);
            for (mode, &count) in cut.counts.iter().enumerate().filter(|c| *c.1 > 0) {
                let latest_harvest = usable_by - problem.finish[cut.part] - problem.modes[mode].harvest;
                bonuses.push(Bonus { mode, latest_harvest, value: price * count });
            }
        }
        for (mark, of_parts) in self.packing.marks.iter().zip(self.boxed(prices)) {
            for (&(part, _), &price) in self.packing.parts.iter().zip(of_parts).filter(|p| *p.1 > 0) {
                let copies = |mode: &Mode| mode.yields.iter().find(|y| y.0 == part).map_or(0, |y| y.1);
                let making = problem.modes.iter().enumerate().filter(|m| copies(m.1) > 0);
                bonuses.extend(making.map(|(mode, m)| {
                    let latest_harvest = mark.usable_by - problem.finish[part] - m.harvest;
                    Bonus { mode, latest_harvest, value: price * copies(m) }
                }));
            }
        }
        let mut tariff = demand::tariff(problem, &epochs, &wants, &bonuses);
        tariff.operator = self.operator_prefix(prices);
        let mut night = vec![0i64; problem.nights.len() + 1];
        for k in 0..problem.nights.len() {
            // Where nights have no limit their places have no price, whatever is proposed.
            let price = problem.night_printers.and(prices.night.get(k).copied()).unwrap_or(0);
            night[k + 1] = night[k] + price;
        }
        tariff.night = night;
        tariff.early = self.early(prices);
        tariff.spared = self.spared(prices);
        let priced = self.chains.iter().zip(&prices.chain).filter(|c| *c.1 > 0);
        tariff.chains = priced.map(|(chained, &price)| (chained.chain.clone(), price)).collect();
        tariff.idle = idle;
        tariff.carriers = true;
        tariff
    }

    /// What all needs, whole-run inequalities and boxes together are worth, less what stock covers at its dearest.
    pub fn worth_of_needs(&self, problem: &Problem<'_>, prices: &Prices) -> i64 {
        let needs: i64 = self.needs.iter().zip(&prices.need).map(|(n, &price)| n.copies * price).sum();
        let dearest = |part: usize| {
            let of_part = self.needs.iter().zip(&prices.need).filter(|(n, _)| n.part == part);
            of_part.map(|(_, &price)| price).max().unwrap_or(0)
        };
        let stock: i64 = problem.stock.iter().enumerate().filter(|s| *s.1 > 0).map(|(p, &n)| n * dearest(p)).sum();
        let whole_runs: i64 = self.cuts.iter().zip(&prices.cut).map(|(c, &price)| c.need * price).sum();
        let boxes: i64 = self
            .boxed(prices)
            .flat_map(|of_parts| self.packing.parts.iter().zip(of_parts))
            .map(|(&(part, copies), &price)| (copies - problem.stock[part]) * price)
            .sum();
        needs - stock + whole_runs + boxes
    }

    /// By mark, the prices of the parts that are packed.
    fn boxed<'a>(&self, prices: &'a Prices) -> impl Iterator<Item = &'a [i64]> {
        prices.boxed.chunks(self.packing.parts.len().max(1))
    }

    /// What a copy of each part is worth on the whole: its dearest need, and its share of the whole-run inequalities.
    pub fn part_prices(&self, problem: &Problem<'_>, prices: &Prices) -> Vec<f64> {
        let mut of_part = vec![0f64; problem.finish.len()];
        let mut needed = vec![0i64; problem.finish.len()];
        for (need, &price) in self.needs.iter().zip(&prices.need) {
            of_part[need.part] = of_part[need.part].max(price as f64);
            needed[need.part] += need.copies;
        }
        for (cut, &price) in self.cuts.iter().zip(&prices.cut) {
            of_part[cut.part] += price as f64 * cut.need as f64 / needed[cut.part].max(1) as f64;
        }
        of_part
    }

    /// By makespan, the most that operators, nights and late boxes up to it can take off the prices.
    pub fn worth_of_limits(&self, problem: &Problem<'_>, room: &Room<'_>, prices: &Prices) -> Vec<i64> {
        let price_to = self.operator_prefix(prices);
        let mut worth = vec![0i64; self.staff.len() + 1];
        let mut night = 0;
        let mut mornings = self.mornings.iter().zip(&prices.morning).peekable();
        let mut chains = self.chains.iter().zip(&prices.chain).peekable();
        let mut marks = self.packing.marks.iter().zip(self.boxed(prices).zip(&prices.late)).peekable();
        for minute in 0..self.staff.len() {
            worth[minute + 1] = worth[minute] + (price_to[minute + 1] - price_to[minute]) * self.staff[minute];
            while night < problem.nights.len() && problem.nights[night].0 <= minute as Min {
                let places = room.night_room(night).unwrap_or(0).max(0);
                worth[minute + 1] += prices.night.get(night).copied().unwrap_or(0) * places;
                night += 1;
            }
            while let Some((chained, price)) = chains.next_if(|c| c.0.chain.complete_from() as usize <= minute + 1) {
                worth[minute + 1] += price * chained.most;
            }
            while let Some((morning, price)) = mornings.next_if(|m| m.0.from as usize <= minute) {
                worth[minute + 1] += price * morning.most;
            }
            while let Some((_, (parts, &late))) = marks.next_if(|m| m.0.from as usize <= minute) {
                worth[minute + 1] += self.packing.relief(parts, late);
            }
        }
        worth
    }
}
