//! The climb: from one makespan that prices exclude to the next, until none do.

use super::jobs::{Jobs, Load};
use super::master::{MACHINE, Master};
use super::prices::{Knapsack, dearest, worth};

/// A load that costs so little more than a machine is no news.
const CLOSE: i64 = 100;

/// What the climb found.
#[derive(Debug)]
pub struct Climbed {
    /// No assignment is over before this minute.
    pub bound: i64,
    /// Prices under which little is left over at the bound; none where the climb was cut short or got to its end.
    pub prices: Vec<Vec<i64>>,
}

/// Climbs from a bound, to no more than `until`, in no more than so many rounds of loads. It starts with the known
/// loads.
pub fn climb(jobs: &Jobs, from: i64, until: i64, known: &[Load], rounds: usize, stop: &dyn Fn() -> bool) -> Climbed {
    let mut loads: Vec<Load> = (0..jobs.minutes.len()).map(|kind| vec![(kind, 1)]).collect();
    let mut found = Climbed { bound: from, prices: Vec::new() };
    exclude(jobs, &jobs.minutes, until, &mut found.bound);
    let mut round = 0;
    'climb: while found.bound < until {
        let target = found.bound;
        loads.extend(known.iter().map(|load| shortened(jobs, load, target)));
        loads.sort_unstable();
        loads.dedup();
        let mut master = Master::new(jobs, &loads);
        let mut best: Option<(f64, Vec<i64>)> = None;
        loop {
            round += 1;
            if round > rounds || stop() {
                return found;
            }
            let Some(prices) = master.solve() else { return found };
            let (load, table) = dearest(jobs, &prices, target);
            if table.first_possible(jobs, &prices, target) > target {
                exclude(jobs, &prices, until, &mut found.bound);
                continue 'climb;
            }
            let most = table.best[target as usize];
            let ratio = worth(jobs, &prices) as f64 / most.max(1) as f64;
            if best.as_ref().is_none_or(|b| ratio > b.0) {
                best = Some((ratio, prices.clone()));
            }
            if most <= MACHINE + CLOSE || loads.contains(&load) {
                found.prices = std::iter::once(prices).chain(best.map(|b| b.1)).collect();
                return found;
            }
            master.add(&load);
            loads.push(load);
        }
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
