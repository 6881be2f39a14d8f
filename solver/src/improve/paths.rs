//! Paths: what a printer may best do in a window, against what is missing.

use super::Search;
use super::moves::Step;
use crate::history::{Leg, Tariff, best};
use crate::problem::{Min, Problem};
use crate::room::Length;
use rand::Rng;

/// How often a path that makes too much of something is asked again.
const ASK_AGAIN: usize = 3;

impl Search<'_> {
    /// Plans a printer's window again where runs `from..to` were; returns how many runs were added, `None` where what
    /// the printer holds cannot be harvested.
    pub(super) fn replan(&mut self, machine: usize, from: usize, to: usize, last: Min) -> Option<usize> {
        let legs = self.find(machine, from, to, last, None)?;
        let mut added = 0;
        for leg in legs {
            if !self.floor.book(machine, from + added, leg) {
                // A path only uses starts that are open, and its own tasks follow one another, so this does not
                // happen; what is booked so far is a valid history all the same.
                break;
            }
            self.log.push(Step::Put(machine, from + added));
            added += 1;
        }
        Some(added)
    }

    /// The path that lowers the shortage most, among those asked for; with a price for pushing others aside where one is
    /// given. `None` where what the printer holds cannot be harvested.
    pub(super) fn find(
        &mut self,
        machine: usize,
        from: usize,
        to: usize,
        last: Min,
        push: Option<i64>,
    ) -> Option<Vec<Leg>> {
        let (window, standing) = self.floor.window(machine, from, to, last);
        if window.to <= window.from && standing.holding.is_none() {
            return Some(Vec::new());
        }
        let class = self.floor.machines[machine].class;
        let before = self.wanting();
        let mut factor = self.favour.clone();
        for f in &mut factor {
            *f += 1000 + self.rng.random_range(-self.varies..=self.varies);
        }
        let mut kept: Option<(i64, Vec<Leg>)> = None;
        for _ in 0..=ASK_AGAIN {
            let (price, welcome) = (&self.price, self.welcome);
            let mut tariff = self.floor.demand.tariff(&|part, line| {
                let share = if line.surplus { welcome } else { 1000 };
                (price[part] * factor[part] / 1000 * share / 1000).max(1)
            });
            tariff.night = self.night.clone();
            tariff.push = push;
            tariff.idle = if self.count_idle { 1000 } else { 0 };
            tariff.carriers = self.count_idle;
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
            let gain = gain - self.idle_price(&tariff, &legs, value) - self.push_price(&legs, push);
            if kept.as_ref().is_none_or(|k| gain > k.0) {
                kept = Some((gain, legs));
            }
            if wasted.is_empty() {
                break;
            }
            for (part, share) in wasted {
                factor[part] = (factor[part] * (100 - share.clamp(10, 60)) / 100).max(20);
            }
        }
        kept.map(|k| k.1)
    }

    /// What a path pays for idle minutes: its value had they and pushing been free, less its value.
    fn idle_price(&self, tariff: &Tariff, legs: &[Leg], value: i64) -> i64 {
        if !self.count_idle {
            return 0;
        }
        tariff.of_history(self.floor.problem, &self.floor.room, legs) - self.push_price(legs, tariff.push) - value
    }

    /// What a path pays for pushing others aside.
    fn push_price(&self, legs: &[Leg], push: Option<i64>) -> i64 {
        let Some(push) = push else { return 0 };
        let taken = |(length, from, _): &(Length, Min, Min)| !self.floor.room.can_start(*length, *from);
        push * legs.iter().flat_map(|leg| self.floor.tasks_of(leg)).filter(taken).count() as i64
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
        let after = self.wanting();
        let demand = &mut self.floor.demand;
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
