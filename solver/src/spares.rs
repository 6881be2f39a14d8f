//! How many copies a shipment is given for a confidence: as few as can be chosen, as many as are aimed at, and as few as
//! any plan can do with.
//!
//! The chances are those of [`platewright_model::spares`]. What is decided here:
//!
//! - **Sharing.** The confidence `c` is for all parts of a shipment together. Each of its `k` parts at risk is first
//!   brought to a chance of `c^(1/k)`; as runs come in lumps the product is then above `c`, and lots are given back, the
//!   dearest first, as long as the product stays at `c` or above ([`choose`]).
//! - **Aim.** A search works towards a number of copies and knows nothing of lots. The number is what the plates with
//!   the fewest printer minutes per copy would take ([`aim`]). Which plates a search really uses, it only shows in the
//!   end: there the chance is counted again from the runs themselves, and where it falls short of the confidence, the
//!   aim was too low. It is then raised as if half the risk were allowed, and again.
//! - **Least.** The bound needs a number that no plan goes below, whatever plates it uses. Let plates never fail: that
//!   only makes good copies likelier. Then `m` copies beyond stock take [`starts`]`(m)` printed ones, and since one more
//!   good copy takes at least one more start, a shipment is given in all at least `stock + starts(need - stock)`,
//!   however the stock is shared out ([`least`]). Let, on the other hand, no copy be rejected: where no run gives more
//!   than `a` copies, `ceil(m / a)` runs must succeed, and that takes so many runs ([`least_runs`]).
//!
//! Once copies are chosen, those that go into the shipment and those that are spare are told apart so that the last to be
//! usable is never a spare: then the shipment, its boxes and its ready time wait for the spares as well ([`shares`]).

use crate::problem::Problem;
use platewright_model::spares::{SLIGHT, Tally, reaches, starts};

/// How much less than the confidence the bound asks, so that a plan the checker lets pass is never excluded.
const MARGIN: f64 = 1e-7;

/// More runs of one plate than this are not tried for one shipment's part beyond what it needs.
const MORE_RUNS: i64 = 4096;

/// Copies from one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// How many.
    pub copies: i64,
    /// The failure rate of its plate.
    pub failure_rate: f64,
    /// What is given back first where not all is needed: the larger.
    pub weight: i64,
}

/// What may be given of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Copies that the shipment needs.
    pub need: i64,
    /// Copies it gets from stock.
    pub certain: i64,
    /// The part's reject rate.
    pub reject_rate: f64,
    /// Lots in the order in which they are taken.
    pub lots: Vec<Lot>,
}

impl Choice {
    /// How many lots it takes for the need alone.
    fn fewest(&self) -> Option<usize> {
        let mut copies = self.certain;
        let mut taken = 0;
        while copies < self.need {
            copies += self.lots.get(taken)?.copies;
            taken += 1;
        }
        Some(taken)
    }

    /// The chance that the first so many lots suffice, all but the last whole and of that one so many copies.
    fn chance(&self, lots: usize, of_last: i64) -> f64 {
        let mut tally = Tally::new(self.reject_rate);
        tally.add_certain(self.certain.max(0) as u64);
        for (at, lot) in self.lots.iter().take(lots).enumerate() {
            let copies = if at + 1 == lots { of_last.min(lot.copies) } else { lot.copies };
            tally.add_runs(1, copies as u64, lot.failure_rate);
        }
        tally.chance(self.need as u64)
    }

    fn whole(&self, lots: usize) -> f64 {
        self.chance(lots, i64::MAX)
    }

    /// The fewest lots, at least `from`, that suffice with a chance; all where none do.
    fn lots_for(&self, from: usize, chance: f64) -> usize {
        let (mut low, mut high) = (from, self.lots.len());
        while low < high {
            let middle = (low + high) / 2;
            if reaches(self.whole(middle), chance) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        low
    }
}

/// How many copies to take from each part's lots, in order, so that all parts together suffice with the confidence;
/// none where the lots cannot do it.
pub fn choose(parts: &[Choice], confidence: f64) -> Option<Vec<Vec<i64>>> {
    let fewest: Vec<usize> = parts.iter().map(Choice::fewest).collect::<Option<_>>()?;
    let at_risk = (0..parts.len()).filter(|&p| parts[p].whole(fewest[p]) < 1.0).count().max(1);
    let mut each = confidence.max(0.0).powf(1.0 / at_risk as f64);
    let mut taken: Vec<usize>;
    let mut chances: Vec<f64>;
    let mut tries = 0;
    loop {
        taken = (0..parts.len()).map(|p| parts[p].lots_for(fewest[p], each)).collect();
        chances = (0..parts.len()).map(|p| parts[p].whole(taken[p])).collect();
        if reaches(chances.iter().product(), confidence) {
            break;
        }
        if tries == 20 {
            return None;
        }
        // Some part has not enough lots for its share: the others have to do better.
        each = 1.0 - (1.0 - each) / 2.0;
        tries += 1;
    }
    let others =
        |chances: &[f64], p: usize| (0..chances.len()).filter(|&o| o != p).map(|o| chances[o]).product::<f64>();
    loop {
        let mut back: Option<(i64, usize, f64)> = None;
        for (p, part) in parts.iter().enumerate().filter(|(p, _)| taken[*p] > fewest[*p]) {
            let weight = part.lots[taken[p] - 1].weight;
            if back.is_some_and(|b| b.0 >= weight) {
                continue;
            }
            let less = part.whole(taken[p] - 1);
            if reaches(others(&chances, p) * less, confidence) {
                back = Some((weight, p, less));
            }
        }
        let Some((_, p, less)) = back else { break };
        taken[p] -= 1;
        chances[p] = less;
    }
    let mut copies = Vec::with_capacity(parts.len());
    for (p, part) in parts.iter().enumerate() {
        let mut of_lots: Vec<i64> = part.lots[..taken[p]].iter().map(|lot| lot.copies).collect();
        if let Some(last) = of_lots.pop() {
            let before: i64 = part.certain + of_lots.iter().sum::<i64>();
            let (mut low, mut high) = ((part.need - before).max(0), last);
            while low < high {
                let middle = low + (high - low) / 2;
                if reaches(others(&chances, p) * part.chance(taken[p], middle), confidence) {
                    high = middle;
                } else {
                    low = middle + 1;
                }
            }
            chances[p] = part.chance(taken[p], low);
            of_lots.push(low);
        }
        copies.push(of_lots);
    }
    Some(copies)
}

/// Which of the copies taken, in order of when they are usable, go into the shipment and which are spare: the earliest go
/// in, and at least one of the last.
pub fn shares(taken: &[i64], need: i64) -> Vec<(i64, i64)> {
    let last = taken.iter().rposition(|&n| n > 0);
    let mut left = need;
    let mut shares: Vec<(i64, i64)> = taken
        .iter()
        .enumerate()
        .map(|(at, &copies)| {
            let reserved = i64::from(last.is_some_and(|last| at < last));
            let count = copies.min(left - reserved.min(left));
            left -= count;
            (count, copies - count)
        })
        .collect();
    // What is still left was kept back for the last.
    if let (Some(last), true) = (last, left > 0) {
        let more = left.min(shares[last].1);
        shares[last] = (shares[last].0 + more, shares[last].1 - more);
    }
    shares
}

/// How many copies of each part to aim at for each shipment, at a level of caution; the needs where there is no
/// confidence.
pub fn aim(problem: &Problem<'_>, level: u32) -> Vec<Vec<(usize, i64)>> {
    let needs = || problem.orders.iter().map(|o| o.needs.clone()).collect();
    let Some(confidence) = problem.confidence else { return needs() };
    let confidence = 1.0 - (1.0 - confidence) / 2f64.powi(level as i32);
    let mut stock = problem.stock.clone();
    let mut aims: Vec<Vec<(usize, i64)>> = needs();
    let mut by_due: Vec<usize> = (0..problem.orders.len()).collect();
    by_due.sort_by_key(|&o| (problem.orders[o].due.unwrap_or(i32::MAX), o));
    for order in by_due {
        let choices: Vec<Choice> = problem.orders[order]
            .needs
            .iter()
            .map(|&(part, need)| {
                let certain = need.min(stock[part]);
                stock[part] -= certain;
                let lots = reference(problem, part).map_or(Vec::new(), |lot| {
                    let runs = (need - certain + lot.copies - 1) / lot.copies;
                    vec![lot; (2 * runs + 64).min(runs + MORE_RUNS) as usize]
                });
                Choice { need, certain, reject_rate: problem.reject_rate[part], lots }
            })
            .collect();
        let Some(copies) = choose(&choices, confidence) else { continue };
        for ((aim, choice), copies) in aims[order].iter_mut().zip(&choices).zip(copies) {
            aim.1 = choice.certain + copies.iter().sum::<i64>();
        }
    }
    aims
}

/// A run of the plate that makes a part in the fewest printer minutes per copy, with its minutes for a weight.
fn reference(problem: &Problem<'_>, part: usize) -> Option<Lot> {
    let loadable = problem.classes.iter().flat_map(|c| &c.modes).copied();
    let of_mode = |m: usize| {
        let mode = &problem.modes[m];
        let copies = mode.yields.iter().find(|y| y.0 == part)?.1;
        let all: i64 = mode.yields.iter().map(|y| y.1).sum();
        let minutes = i64::from(mode.load + mode.to_ready() + mode.harvest);
        (copies > 0).then_some((
            (minutes * 1_000_000 / all.max(1), m),
            Lot { copies, failure_rate: problem.failure_rate[m], weight: minutes },
        ))
    };
    loadable.filter_map(of_mode).min_by_key(|lot| lot.0).map(|lot| lot.1)
}

/// The fewest copies of each part that any plan gives each shipment, spares among them.
pub fn least(problem: &Problem<'_>) -> Vec<Vec<(usize, i64)>> {
    let of_need = |&(part, need): &(usize, i64)| {
        let Some(confidence) = problem.confidence else { return (part, need) };
        let certain = need.min(problem.stock[part]);
        let printed = match need - certain {
            0 => 0,
            short => starts(short as u64, problem.reject_rate[part], confidence - MARGIN) as i64,
        };
        (part, certain + printed)
    };
    problem.orders.iter().map(|o| o.needs.iter().map(of_need).collect()).collect()
}

/// The fewest runs of plates with a part from which any plan gives it to one shipment, where no run holds more than
/// `most` copies of it.
pub fn least_runs(problem: &Problem<'_>, order: usize, part: usize, most: i64) -> i64 {
    let need = problem.orders[order].needs.iter().find(|n| n.0 == part).map_or(0, |n| n.1);
    let succeed = ((need - problem.stock[part]).max(0) + most - 1) / most;
    let makers = (0..problem.modes.len()).filter(|&m| problem.modes[m].yields.iter().any(|y| y.0 == part && y.1 > 0));
    let safest = makers.map(|m| problem.failure_rate[m]).min_by(f64::total_cmp).unwrap_or(0.0);
    match problem.confidence {
        Some(confidence) if succeed > 0 => starts(succeed as u64, safest, confidence - MARGIN) as i64,
        _ => succeed,
    }
}

const _: () = assert!(MARGIN > 10.0 * SLIGHT);

#[cfg(test)]
mod tests {
    use super::*;

    fn choice(need: i64, reject_rate: f64, lots: &[(i64, f64)]) -> Choice {
        let lots = lots.iter().map(|&(copies, failure_rate)| Lot { copies, failure_rate, weight: copies });
        Choice { need, certain: 0, reject_rate, lots: lots.collect() }
    }

    fn chance(parts: &[Choice], taken: &[Vec<i64>]) -> f64 {
        let of_part = |(part, taken): (&Choice, &Vec<i64>)| {
            let mut tally = Tally::new(part.reject_rate);
            part.lots.iter().zip(taken).for_each(|(lot, &n)| tally.add_runs(1, n as u64, lot.failure_rate));
            tally.chance(part.need as u64)
        };
        parts.iter().zip(taken).map(of_part).product()
    }

    #[test]
    fn single_copies_are_taken_as_the_binomial_says() {
        let parts = [choice(100, 0.03, &[(1, 0.0); 200])];
        let taken = choose(&parts, 0.95).unwrap();
        assert_eq!(taken[0].iter().sum::<i64>(), 106);
        // One plate of many copies that does not fail: the same.
        let parts = [choice(100, 0.03, &[(25, 0.0); 20])];
        assert_eq!(choose(&parts, 0.95).unwrap()[0], [25, 25, 25, 25, 6]);
    }

    #[test]
    fn what_is_taken_suffices_and_not_one_lot_less_does() {
        let parts = [
            choice(40, 0.02, &[(12, 0.03); 20]),
            choice(10, 0.0, &[(1, 0.05); 40]),
            choice(7, 0.1, &[(3, 0.0), (5, 0.2), (2, 0.1), (8, 0.02), (4, 0.0), (4, 0.3)]),
        ];
        for confidence in [0.5, 0.8, 0.95, 0.99, 0.999] {
            let taken = choose(&parts, confidence).unwrap();
            assert!(reaches(chance(&parts, &taken), confidence), "{confidence}: {taken:?}");
            for p in 0..parts.len() {
                let mut less = taken.clone();
                less[p].pop();
                assert!(!reaches(chance(&parts, &less), confidence), "{confidence}: {p} of {taken:?} takes too much");
            }
        }
        assert_eq!(choose(&parts[2..], 0.999_999_999), None, "too few lots");
    }

    #[test]
    fn the_last_to_be_usable_is_never_a_spare() {
        assert_eq!(shares(&[5, 5, 5], 12), [(5, 0), (5, 0), (2, 3)]);
        assert_eq!(shares(&[5, 5, 5], 9), [(5, 0), (3, 2), (1, 4)]);
        assert_eq!(shares(&[5, 5, 0], 1), [(0, 5), (1, 4), (0, 0)]);
        assert_eq!(shares(&[4], 4), [(4, 0)]);
        assert_eq!(shares(&[1, 1, 1], 1), [(0, 1), (0, 1), (1, 0)]);
        for need in 1..=12 {
            let all = shares(&[3, 1, 4, 4], need);
            assert_eq!(all.iter().map(|s| s.0).sum::<i64>(), need);
            assert!(all.iter().zip([3, 1, 4, 4]).all(|(s, n)| s.0 + s.1 == n && s.0 >= 0 && s.1 >= 0) && all[3].0 > 0);
        }
    }
}
