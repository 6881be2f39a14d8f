//! The chance that enough good parts come of what is printed, and how many to start for a confidence.
//!
//! # What can go wrong
//!
//! A *plate* fails whole, with the `failure_rate` of its row: every copy on it is lost together. The copies of a plate
//! that does not fail are each rejected with the `reject_rate` of their part, one independently of the other. What lies
//! in stock has been inspected and counts for certain. A run that was on its printer at the start is at the same risk
//! as any other, since nobody has seen its parts yet. In a plan made anew in mid-week the same holds from its `since` on:
//! copies of runs that the log has taken off by then are there for certain, as many as were counted; what prints then and
//! what comes after is at risk.
//!
//! Let a shipment need `n` of a part and be given `c` from stock and `a[1] … a[k]` copies of `k` runs with failure rates
//! `f[1] … f[k]`, and let `q` be the reject rate. Run `i` loses
//!
//! ```text
//! X[i] = a[i]                     with chance f[i],
//!        Binomial(a[i], q)        else,
//! ```
//!
//! independently of the other runs, and the part suffices if and only if `X[1] + … + X[k] <= s`, where
//! `s = c + sum a - n` are its spares. Of `r` equal runs a binomial number fails, each with `a` copies; kinds of runs
//! convolve to the chance of every number of copies lost with their plates. Given that number, what is left loses a
//! binomial number of rejects. [`Tally::chance`] is the sum over both, as far as `s` can bear. Dividing the need by the yield instead would give
//! the number of starts that suffices *on average*: about every second time it does not.
//!
//! # The confidence is one shipment's, all its parts together
//!
//! "The shipment's parts suffice" is one event: a shipment that lacks one part does not leave. So the chance that has to
//! reach the confidence is that of all parts together. Where no run gives a shipment two parts, its parts are
//! independent and the chances multiply. Where a mixed plate does, they fail together, which can only help: "enough of
//! part p" grows with every plate that succeeds and every copy that is good, and growing events of independent chances
//! are positively associated (Harris, *Proceedings of the Cambridge Philosophical Society* 56 (1960) 13-20, from
//! memory). So the product of the parts' chances is the chance itself or below it. Plans are made, and the page reports,
//! by that product, which is never too high; the checker counts the joint chance.
//!
//! # How far the figures can be trusted
//!
//! Only sums and products of numbers that are 0 or more are taken, so nothing cancels: with `m` copies the relative error
//! is below `4 m` roundings of 2^-53, less than 1e-9 for two million copies. What is left out at the far end of a
//! binomial (below 1e-20 a run) makes a chance lower. A chance that is short of the confidence by less than
//! [`SLIGHT`] counts as reaching it, so that 0.95 asked of a plate that fails with 0.05 is not refused for the last bit.

use std::collections::BTreeMap;

/// A chance short of the confidence by no more than this reaches it.
pub const SLIGHT: f64 = 1e-9;

/// More spares than these are not told apart, which makes a chance lower.
const SPARES_TOLD_APART: usize = 200_000;

/// Terms of a binomial below this share of its largest are left out.
const NEGLIGIBLE: f64 = 1e-22;

/// Whether a chance reaches a confidence.
pub fn reaches(chance: f64, confidence: f64) -> bool {
    chance >= confidence - SLIGHT
}

/// What is given of one part to one shipment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    reject_rate: f64,
    certain: u64,
    /// How many runs, by failure rate (its bits) and copies given.
    runs: BTreeMap<(u64, u64), u64>,
}

impl Tally {
    /// Nothing given yet.
    pub fn new(reject_rate: f64) -> Tally {
        Tally { reject_rate, ..Tally::default() }
    }

    /// Copies that are there for certain: stock.
    pub fn add_certain(&mut self, copies: u64) {
        self.certain += copies;
    }

    /// So many copies from each of some runs of plates that fail at a rate.
    pub fn add_runs(&mut self, runs: u64, copies: u64, failure_rate: f64) {
        *self.runs.entry((failure_rate.to_bits(), copies)).or_default() += runs;
    }

    /// Copies given so far.
    pub fn copies(&self) -> u64 {
        self.certain + self.runs.iter().map(|(kind, runs)| kind.1 * runs).sum::<u64>()
    }

    /// The chance that at least so many are good.
    pub fn chance(&self, need: u64) -> f64 {
        let Some(spare) = self.copies().checked_sub(need) else { return 0.0 };
        let most = usize::try_from(spare).unwrap_or(usize::MAX).min(SPARES_TOLD_APART);
        // Copies lost with their plates.
        let mut failed = vec![1.0];
        for (&(rate, copies), &runs) in &self.runs {
            let kind = binomial(runs, f64::from_bits(rate), most / (copies.max(1) as usize));
            let mut sum = vec![0.0; (failed.len() + (kind.len() - 1) * copies as usize).min(most + 1)];
            for (plates, &chance) in kind.iter().enumerate() {
                let lost = plates * copies as usize;
                for (total, &before) in sum.iter_mut().skip(lost).zip(&failed) {
                    *total += chance * before;
                }
            }
            failed = sum;
        }
        // Copies of the plates that are left lost singly.
        let at_risk = self.copies() - self.certain;
        let of_lost = |(lost, chance): (usize, &f64)| {
            let rejected = binomial(at_risk - lost as u64, self.reject_rate, most - lost);
            chance * rejected.iter().sum::<f64>()
        };
        let lost = failed.iter().enumerate().filter(|f| *f.1 > 0.0);
        lost.map(of_lost).sum::<f64>().min(1.0)
    }
}

/// How many single starts, each lost with a rate, it takes for so many good ones with a confidence.
///
/// ```
/// // A hundred good parts of which three in a hundred are lost: 103 would do on average, 106 do 19 times in 20.
/// assert_eq!(platewright_model::spares::starts(100, 0.03, 0.95), 106);
/// ```
pub fn starts(good: u64, loss_rate: f64, confidence: f64) -> u64 {
    let suffice = |starts: u64| {
        let spare = usize::try_from(starts - good).unwrap_or(usize::MAX);
        reaches(binomial(starts, loss_rate, spare).iter().sum(), confidence)
    };
    let mut step = 1;
    while !suffice(good + step) {
        step *= 2;
    }
    let (mut low, mut high) = (good, good + step);
    while low < high {
        let middle = low + (high - low) / 2;
        if suffice(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// The chances of 0, 1, … up to `most` losses out of `n` at a rate below 1.
///
/// Terms are taken from the most likely one outwards, each from its neighbour, and made to sum to one: no power of a
/// small number is ever formed, and so nothing vanishes however large `n` is.
fn binomial(n: u64, rate: f64, most: usize) -> Vec<f64> {
    if rate <= 0.0 || n == 0 {
        return vec![1.0];
    }
    let odds = rate / (1.0 - rate);
    let mode = (((n + 1) as f64 * rate) as u64).min(n);
    let mut below: Vec<f64> = Vec::new();
    let mut term = 1.0;
    for k in (0..mode).rev() {
        term *= (k + 1) as f64 / ((n - k) as f64 * odds);
        if term < NEGLIGIBLE {
            break;
        }
        below.push(term);
    }
    let mut terms: Vec<f64> = below.into_iter().rev().collect();
    let first = mode as usize - terms.len();
    terms.push(1.0);
    term = 1.0;
    for k in mode..n {
        term *= (n - k) as f64 / (k + 1) as f64 * odds;
        if term < NEGLIGIBLE {
            break;
        }
        terms.push(term);
    }
    let all: f64 = terms.iter().sum();
    let mut chances = vec![0.0; first.min(most + 1)];
    chances.extend(terms.iter().take((most + 1).saturating_sub(first)).map(|term| term / all));
    chances
}

#[cfg(test)]
mod tests;
