//! The climb: from one makespan that prices exclude to the next, until none do.

use super::jobs::{Jobs, Load};
use super::master::Master;
use super::prices::{Knapsack, dearest, worth};

/// What the climb found.
pub struct Climbed {
    /// No assignment is over before this minute.
    pub bound: i64,
    /// Loads that a fractional assignment by the bound uses, with how many machines hold each.
    pub loads: Vec<(Load, f64)>,
    /// Prices under which least is left over at the bound.
    pub prices: Vec<Vec<i64>>,
    /// Rounds it took.
    pub rounds: usize,
    /// Ended because no prices exclude the bound.
    pub closed: bool,
}

/// Climbs from a bound, to no more than `until`.
pub fn climb(jobs: &Jobs, from: i64, until: i64, known: &[Load], rounds: usize, stop: &dyn Fn() -> bool) -> Climbed {
    let mut pool: Vec<Load> = (0..jobs.minutes.len()).map(|kind| vec![(kind, 1)]).collect();
    let mut found = Climbed { bound: from, loads: Vec::new(), prices: Vec::new(), rounds: 0, closed: false };
    // The shares of a machine that the jobs' lengths are.
    exclude(jobs, &jobs.minutes, until, &mut found.bound);
    let machines = jobs.machines as i64;
    while found.bound < until && found.rounds < rounds && !stop() {
        let target = found.bound;
        pool.extend(known.iter().map(|load| shortened(jobs, load, target)));
        pool.sort_unstable();
        pool.dedup();
        let mut loads = pool.clone();
        let mut master = Master::new(jobs, &loads);
        let mut best: Option<(f64, Vec<i64>)> = None;
        loop {
            found.rounds += 1;
            let Some(solved) = master.solve() else { return found };
            found.loads = loads.iter().cloned().zip(solved.weights.iter().copied()).filter(|l| l.1 > 1e-9).collect();
            let (load, table) = dearest(jobs, &solved.prices, target);
            let most = table.best[target as usize].max(1);
            let ratio = worth(jobs, &solved.prices) as f64 / most as f64;
            if best.as_ref().is_none_or(|b| ratio > b.0) {
                best = Some((ratio, solved.prices.clone()));
            }
            let first = table.first_possible(jobs, &solved.prices, target);
            if first > target {
                let mut bound = first;
                exclude(jobs, &solved.prices, until, &mut bound);
                found.bound = bound;
                break;
            }
            let priced: i64 = load.iter().map(|&(kind, n)| solved.prices[kind] * i64::from(n)).sum();
            if priced <= 1_000_000_100 || loads.contains(&load) || found.rounds >= rounds || stop() {
                if solved.machines <= machines as f64 + 1e-7 {
                    found.closed = true;
                }
                found.prices = vec![solved.prices.clone()];
                if let Some((_, prices)) = best {
                    found.prices.push(prices);
                }
                return found;
            }
            master.add(&load);
            loads.push(load);
        }
        pool = loads;
    }
    found
}

/// Raises a bound as far as prices do.
fn exclude(jobs: &Jobs, prices: &[i64], until: i64, bound: &mut i64) {
    let table = Knapsack::new(jobs, prices, until);
    *bound = table.first_possible(jobs, prices, *bound).min(until);
}

/// A load without the jobs that do not fit.
fn shortened(jobs: &Jobs, load: &Load, until: i64) -> Load {
    let mut left = until;
    let fits = |&(kind, n): &(usize, u32)| {
        let n = i64::from(n).min(left / jobs.minutes[kind]);
        left -= n * jobs.minutes[kind];
        (n > 0).then_some((kind, n as u32))
    };
    load.iter().filter_map(fits).collect()
}
