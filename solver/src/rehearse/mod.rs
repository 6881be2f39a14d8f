//! Rehearsals: a plan lived through many times with dice, to see how its dates hold.
//!
//! Each rehearsal is one life of the plan ([`crate::follow`]). What is left to luck, all of it independent:
//!
//! - A plate fails whole with its `failure_rate`, at a moment that is uniform over its printing. Nobody sees it before
//!   somebody is on shift; then it is cleared like a harvest.
//! - Each harvested copy is rejected with its part's `reject_rate`.
//! - Printing takes its minutes times a log-normal factor of mean 1 and standard deviation `print_spread`.
//! - A printer breaks down after an exponential stretch of printing, of mean `breaks_after_hours`; its plate is lost,
//!   and its repair takes an exponential time of mean `repair_hours`.
//! - Everybody comes to each shift late by an exponential time of mean `late_minutes`.
//!
//! Rehearsal `k` of seed `s` draws from stream `k` of the generator seeded `s`, whoever plays it, and what is kept of a
//! rehearsal is added up in whole numbers or kept in order of `k`. So the figures are the same on any number of threads.
//!
//! A shipment's date at 80 % is the earliest by which it was ready in 80 % of the rehearsals: the smallest order
//! statistic `x(i)` with `i / n >= 0.8`. One that was never ready within the horizon counts as later than all.

mod dice;

pub use dice::{Dice, Odds};

use crate::follow::supply::Cause;
use crate::follow::{Lived, Past, Player, Script};
use crate::problem::Min;
use std::collections::BTreeMap;
use std::num::NonZero;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// Rehearsals between two looks at whether to stop.
const BATCH: u64 = 64;

/// What many rehearsals showed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Rehearsed {
    /// How many.
    pub times: u64,
    /// By shipment, in the instance's order.
    pub shipments: Vec<Dates>,
    /// Rehearsals in which no shipment was late.
    pub all_on_time: u64,
    /// Minutes that tasks waited for somebody to have time, by hour from the start, over all rehearsals.
    pub waited: Vec<i64>,
    /// Plates that failed, over all rehearsals.
    pub failed: u64,
    /// Copies rejected, over all rehearsals.
    pub rejected: u64,
    /// Breakdowns, over all rehearsals.
    pub broken: u64,
    /// Runs made again, over all rehearsals.
    pub again: u64,
}

/// When one shipment was ready.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Dates {
    /// Every rehearsal's minute, ascending; those in which it was never ready are left out.
    pub ready: Vec<Min>,
    /// Rehearsals in which it was in time; all where it has no due date and was ready.
    pub on_time: u64,
    /// What made it late, most often first.
    pub causes: Vec<(Cause, u64)>,
}

impl Dates {
    /// The minute by which this share of so many rehearsals had it ready; none where fewer did.
    pub fn at(&self, share: f64, times: u64) -> Option<Min> {
        let rank = ((share * times as f64).ceil() as usize).max(1);
        self.ready.get(rank - 1).copied()
    }
}

/// Lives through a plan, from what has happened where it was made in mid-week, `times` times on `threads` threads (none: as many as there are processors). `stop` ends it
/// early, after whole batches; the answer says how many rehearsals it rests on.
pub fn rehearse(
    script: &Script<'_>,
    odds: &Odds,
    past: Option<&Past>,
    times: u64,
    seed: u64,
    threads: Option<NonZero<usize>>,
    stop: &AtomicBool,
) -> Rehearsed {
    let threads = threads.or_else(|| thread::available_parallelism().ok()).map_or(1, NonZero::get) as u64;
    let batches = times.div_ceil(BATCH);
    let mut done: Vec<(u64, Tally)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..threads.min(batches.max(1)))
            .map(|worker| {
                scope.spawn(move || {
                    let mut done = Vec::new();
                    for batch in (worker..batches).step_by(threads as usize) {
                        if stop.load(Ordering::Relaxed) {
                            break;
                        }
                        let mut tally = Tally::new(script);
                        for play in batch * BATCH..((batch + 1) * BATCH).min(times) {
                            let dice = Dice::new(odds, seed, play);
                            let player = match past {
                                Some(past) => Player::resume(script, past, dice),
                                None => Player::new(script, dice, false),
                            };
                            tally.take(script, &player.live());
                        }
                        done.push((batch, tally));
                    }
                    done
                })
            })
            .collect();
        workers.into_iter().filter_map(|worker| worker.join().ok()).flatten().collect()
    });
    done.sort_by_key(|d| d.0);
    let mut whole = Tally::new(script);
    for (_, tally) in done {
        whole.add(tally);
    }
    whole.finish()
}

/// What is kept of some rehearsals.
struct Tally {
    sum: Rehearsed,
    causes: Vec<BTreeMap<Cause, u64>>,
}

impl Tally {
    fn new(script: &Script<'_>) -> Tally {
        let orders = script.problem.orders.len();
        let sum = Rehearsed {
            shipments: vec![Dates::default(); orders],
            waited: vec![0; script.problem.horizon as usize / 60 + 2],
            ..Rehearsed::default()
        };
        Tally { sum, causes: vec![BTreeMap::new(); orders] }
    }

    fn take(&mut self, script: &Script<'_>, lived: &Lived) {
        let mut all = true;
        for (order, (ready, cause)) in lived.ready.iter().zip(&lived.cause).enumerate() {
            let dates = &mut self.sum.shipments[order];
            dates.ready.extend(*ready);
            let due = script.problem.orders[order].due;
            if ready.is_some_and(|ready| due.is_none_or(|due| ready <= due)) {
                dates.on_time += 1;
            } else {
                all = false;
                *self.causes[order].entry(*cause).or_default() += 1;
            }
        }
        self.sum.times += 1;
        self.sum.all_on_time += u64::from(all);
        for (sum, waited) in self.sum.waited.iter_mut().zip(&lived.waited) {
            *sum += waited;
        }
        self.sum.failed += lived.failed as u64;
        self.sum.rejected += lived.rejected.max(0) as u64;
        self.sum.broken += lived.broken as u64;
        self.sum.again += lived.again as u64;
    }

    fn add(&mut self, other: Tally) {
        let (sum, more) = (&mut self.sum, other.sum);
        for (dates, more) in sum.shipments.iter_mut().zip(more.shipments) {
            dates.ready.extend(more.ready);
            dates.on_time += more.on_time;
        }
        for (causes, more) in self.causes.iter_mut().zip(other.causes) {
            for (cause, count) in more {
                *causes.entry(cause).or_default() += count;
            }
        }
        for (waited, more) in sum.waited.iter_mut().zip(more.waited) {
            *waited += more;
        }
        sum.times += more.times;
        sum.all_on_time += more.all_on_time;
        sum.failed += more.failed;
        sum.rejected += more.rejected;
        sum.broken += more.broken;
        sum.again += more.again;
    }

    fn finish(mut self) -> Rehearsed {
        for (dates, causes) in self.sum.shipments.iter_mut().zip(self.causes) {
            dates.ready.sort_unstable();
            dates.causes = causes.into_iter().collect();
            dates.causes.sort_by_key(|&(cause, count)| (std::cmp::Reverse(count), cause));
        }
        self.sum
    }
}

#[cfg(test)]
mod tests;
