//! Large neighbourhoods: free a few printers for a while, and let longest paths plan them again.
//!
//! The search works on a question with a yes or no: can every shipment be ready by its deadline? What stands against a
//! yes is the *shortage*, the copies missing at a price each. A move takes the runs of one to three printers out of a
//! window of time, and puts each printer back by the longest path through the room as the others leave it, minute by
//! minute and operator by operator, against what is missing by then. A longest path takes every copy for wanted; where
//! it makes more of a part than is missing, that part is made cheaper and the path is asked again, and the path that
//! really lowers the shortage most is kept. A move that raises the shortage a little may be kept too, less and less so.
//!
//! Effort is counted in steps of the longest path, not in seconds, so that a result can be repeated.

use crate::floor::{Booked, Floor, Machine};
use crate::history::{Leg, Scratch, best};
use crate::problem::{Min, Problem};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// How often a path that makes too much of something is asked again.
const ASK_AGAIN: usize = 3;

/// How much dearer a missing copy is than the printer minutes it takes, where idle minutes count too.
const SHORT_OVER_IDLE: i64 = 20;

/// See [`Search`]: where only the shortage counts, and where idle minutes count too.
const TOLERANCE: f64 = 0.02;
const TOLERANCE_OF_IDLE: f64 = 0.0005;

/// A search gives up after so many moves, and so many more per run, that brought nothing new.
const STALL: u64 = 300;
const STALL_PER_RUN: u64 = 20;

/// A search on one floor.
pub struct Search<'p> {
    /// The floor as it is now.
    pub floor: Floor<'p>,
    price: Vec<i64>,
    /// Price of a place in each night, summed over nights before each one (empty: free).
    night: Vec<i64>,
    /// Whether idle minutes count, and those of each printer.
    count_idle: bool,
    idle: Vec<i64>,
    /// The part of the first shortage by which a move may raise it, at most and in the beginning.
    tolerance: f64,
    /// Runs loaded before this minute stay.
    from: Min,
    rng: ChaCha8Rng,
    scratch: Scratch,
    work: u64,
}

impl<'p> Search<'p> {
    /// A search that prices a copy of each part, in thousandths of a printer minute.
    pub fn new(floor: Floor<'p>, price: Vec<i64>, seed: u64) -> Search<'p> {
        let rng = ChaCha8Rng::seed_from_u64(seed);
        Search {
            floor,
            price,
            night: Vec::new(),
            count_idle: false,
            idle: Vec::new(),
            tolerance: TOLERANCE,
            from: 0,
            rng,
            scratch: Scratch::default(),
            work: 0,
        }
    }

    /// The same search with a price on each place in a night, so that runs that gain little there leave them to others.
    pub fn with_nights(mut self, night: Vec<i64>) -> Search<'p> {
        self.night = night;
        self
    }

    /// The same search with all that is loaded before a minute left as it is.
    pub fn beginning(mut self, from: Min) -> Search<'p> {
        self.from = from;
        self
    }

    /// The same search with no move that raises the shortage. It is quicker where the printers are many and alike, and
    /// sooner stuck where they are few or different.
    pub fn downhill(mut self) -> Search<'p> {
        self.tolerance = 0.0;
        self
    }

    /// The same search, counting idle minutes too: a missing copy then weighs [`SHORT_OVER_IDLE`] times its price.
    pub fn counting_idle(mut self) -> Search<'p> {
        for price in &mut self.price {
            *price *= SHORT_OVER_IDLE;
        }
        self.count_idle = true;
        self.tolerance = TOLERANCE_OF_IDLE;
        self.idle = (0..self.floor.machines.len()).map(|m| self.idle_of(m)).collect();
        self
    }

    /// Steps of longest paths done so far.
    pub fn work(&self) -> u64 {
        self.work
    }

    /// The shortage at the search's prices.
    pub fn shortage(&self) -> i64 {
        self.floor.demand.shortage(&self.price)
    }

    /// Aims at other deadlines; runs that end after the last of them are taken out.
    pub fn aim(&mut self, deadlines: &[Min]) {
        let last = deadlines.iter().copied().max().unwrap_or(0);
        for machine in 0..self.floor.machines.len() {
            while let Some(run) = self.floor.machines[machine].runs.last() {
                if run.leg.harvest_to <= last || run.leg.load_from.is_none() {
                    break;
                }
                let at = self.floor.machines[machine].runs.len() - 1;
                self.floor.unbook(machine, at);
            }
        }
        self.floor.aim(deadlines);
        for machine in 0..self.floor.machines.len() {
            self.recount_idle(machine);
        }
    }

    /// What stands against the floor as it is: the shortage, and idle minutes where they count.
    fn cost(&self) -> i64 {
        self.shortage() + 1000 * self.idle.iter().sum::<i64>()
    }

    fn idle_of(&self, machine: usize) -> i64 {
        let m = &self.floor.machines[machine];
        let Some(end) = m.runs.last().map(|r| r.leg.harvest_to) else { return 0 };
        let problem = self.floor.problem;
        let printed: Min =
            m.runs.iter().map(|r| problem.printed(m.class, r.leg.mode, r.leg.load_from.is_some(), r.leg.ready)).sum();
        let down: Min = problem.classes[m.class].downtime.iter().map(|d| (d.1.min(end) - d.0).max(0)).sum();
        i64::from(end - printed - down)
    }

    fn recount_idle(&mut self, machine: usize) {
        if self.count_idle {
            self.idle[machine] = self.idle_of(machine);
        }
    }

    /// Moves until nothing is missing, the work is done, or `stop` says so. Says whether nothing is missing.
    pub fn meet(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool) -> bool {
        self.moves(last, work, stop, true);
        self.shortage() == 0
    }

    /// Moves until the work is done or `stop` says so, whatever is missing.
    pub fn settle(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool) {
        self.moves(last, work, stop, false);
    }

    fn moves(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool, until_met: bool) {
        let begun = self.work;
        self.fill_gaps(last);
        let mut cost = self.cost();
        let start = cost.max(1);
        let mut moves = 0u64;
        let open = |m: &Machine| m.runs.iter().filter(|r| r.leg.load_from.unwrap_or(0) >= self.from).count() as u64;
        let runs: u64 = self.floor.machines.iter().map(open).sum();
        let (mut least, mut since) = (cost, 0u64);
        while cost > 0 && self.work - begun < work && since < STALL + STALL_PER_RUN * runs {
            if until_met && self.shortage() == 0 {
                break;
            }
            moves += 1;
            if moves.is_multiple_of(16) && stop() {
                break;
            }
            // Moves cost something even where a window turns out empty, so that the search always ends.
            self.work += 100;
            let left = (1.0 - (self.work - begun) as f64 / work as f64).max(0.0);
            let tolerance = (start as f64 * self.tolerance * left * left * self.rng.random::<f64>()) as i64;
            cost = self.move_once(last, cost, tolerance);
            since += 1;
            if cost < least {
                (least, since) = (cost, 0);
            }
        }
    }

    /// Every printer plans again what follows its last run.
    fn fill_gaps(&mut self, last: Min) {
        for machine in 0..self.floor.machines.len() {
            let runs = self.floor.machines[machine].runs.len();
            self.replan(machine, runs, runs, last);
            self.recount_idle(machine);
        }
    }

    fn move_once(&mut self, last: Min, before: i64, tolerance: i64) -> i64 {
        let machines = self.floor.machines.len();
        let count = [1, 1, 2, 2, 3][self.rng.random_range(0..5)].min(machines);
        let (from, to) = self.pick_window(last);
        let mut taken: Vec<(usize, usize, Vec<Booked>)> = Vec::with_capacity(count);
        for _ in 0..count {
            let machine = self.rng.random_range(0..machines);
            if taken.iter().any(|t| t.0 == machine) {
                continue;
            }
            let runs = &self.floor.machines[machine].runs;
            let first = runs.partition_point(|r| {
                r.leg.load_from.is_some_and(|l| l < from) || r.leg.load_from.is_none() && from > 0
            });
            let end = runs.partition_point(|r| r.leg.harvest_to <= to).max(first);
            // What has stood on the printer since the start can be harvested at another time, but not taken away.
            let mut out = Vec::with_capacity(end - first);
            for _ in first..end {
                out.push(self.floor.unbook(machine, first));
            }
            taken.push((machine, first, out));
        }
        let mut put: Vec<(usize, usize, usize)> = Vec::with_capacity(count);
        let mut whole = true;
        for &(machine, first, _) in &taken {
            match self.replan(machine, first, first, last) {
                Some(added) => put.push((machine, first, added)),
                None => {
                    whole = false;
                    break;
                }
            }
        }
        for &(machine, _, _) in &taken {
            self.recount_idle(machine);
        }
        let after = self.cost();
        if whole && after <= before + tolerance {
            return after;
        }
        for (machine, first, added) in put.into_iter().rev() {
            for _ in 0..added {
                self.floor.unbook(machine, first);
            }
        }
        for (machine, first, out) in taken.into_iter().rev() {
            for (at, run) in out.into_iter().enumerate() {
                self.floor.rebook(machine, first + at, run);
            }
            self.recount_idle(machine);
        }
        before
    }

    fn pick_window(&mut self, last: Min) -> (Min, Min) {
        let first = self.from;
        match self.rng.random_range(0..8) {
            0 => (first, last),
            1 | 2 => (self.rng.random_range(first..last.max(first + 1)), last),
            _ => {
                let length = self.rng.random_range(720..4 * 1440);
                let from = self.rng.random_range(first - length / 2..last.max(first + 1)).max(first);
                (from, (from + length).min(last))
            }
        }
    }

    /// Plans a printer's window again where runs `from..to` were; returns how many runs were added, `None` where what
    /// the printer holds cannot be harvested.
    fn replan(&mut self, machine: usize, from: usize, to: usize, last: Min) -> Option<usize> {
        let (window, standing) = self.floor.window(machine, from, to, last);
        if window.to <= window.from && standing.holding.is_none() {
            return Some(0);
        }
        let class = self.floor.machines[machine].class;
        let before = self.shortage();
        let mut discount = vec![100i64; self.price.len()];
        for d in &mut discount {
            *d = self.rng.random_range(92..=108);
        }
        let mut kept: Option<(i64, Vec<Leg>)> = None;
        for _ in 0..=ASK_AGAIN {
            let price = &self.price;
            let mut tariff = self.floor.demand.tariff(&|part, _| (price[part] * discount[part] / 100).max(1));
            tariff.night = self.night.clone();
            tariff.idle = if self.count_idle { 1000 } else { 0 };
            let passes = if self.floor.problem.materials > 1 { 3 } else { 1 };
            let modes = self.floor.problem.classes[class].modes.len() as u64;
            self.work += 1000 + (window.to - window.from).max(0) as u64 * passes * (modes + 8) / 16;
            let Some((value, legs)) = best(
                &self.floor.room,
                &self.floor.problem.classes[class],
                &tariff,
                window,
                standing,
                &mut self.scratch,
            ) else {
                break;
            };
            let (gain, wasted) = self.true_gain(&legs, before);
            let gain = gain - self.idle_price(&tariff, &legs, value);
            if kept.as_ref().is_none_or(|k| gain > k.0) {
                kept = Some((gain, legs));
            }
            if wasted.is_empty() {
                break;
            }
            for (part, share) in wasted {
                discount[part] = (discount[part] * (100 - share.clamp(10, 60)) / 100).max(2);
            }
        }
        let (_, legs) = kept?;
        let mut added = 0;
        for leg in legs {
            if !self.floor.book(machine, from + added, leg) {
                // A path only uses starts that are open, and its own tasks follow one another, so this does not
                // happen; what is booked so far is a valid history all the same.
                break;
            }
            added += 1;
        }
        Some(added)
    }

    /// What a path pays for idle minutes: its value had they been free, less its value.
    fn idle_price(&self, tariff: &crate::history::Tariff, legs: &[Leg], value: i64) -> i64 {
        if self.count_idle { tariff.of_history(self.floor.problem, &self.floor.room, legs) - value } else { 0 }
    }

    /// How much a path lowers the shortage, and the parts it makes too many of, with the wasted share in percent.
    fn true_gain(&mut self, legs: &[Leg], before: i64) -> (i64, Vec<(usize, i64)>) {
        let demand = &mut self.floor.demand;
        let problem: &Problem<'_> = self.floor.problem;
        let mut made = vec![0i64; self.price.len()];
        let mut missing = vec![0i64; self.price.len()];
        for leg in legs {
            for &(part, copies) in &problem.modes[leg.mode].yields {
                missing[part] = demand.missing(part);
                made[part] += copies;
            }
        }
        for leg in legs {
            demand.count(leg.mode, leg.load_from, leg.harvest_to, true);
        }
        let after = demand.shortage(&self.price);
        let mut wasted = Vec::new();
        for part in 0..made.len() {
            let useful = missing[part] - if made[part] > 0 { demand.missing(part) } else { missing[part] };
            if made[part] > useful {
                wasted.push((part, 100 * (made[part] - useful) / made[part]));
            }
        }
        for leg in legs {
            demand.count(leg.mode, leg.load_from, leg.harvest_to, false);
        }
        (before - after, wasted)
    }
}
