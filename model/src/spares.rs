//! The chance that enough good parts come of what is printed, and how many to start for a confidence.
//!
//! # What can go wrong
//!
//! A *plate* fails whole, with the `failure_rate` of its row: every copy on it is lost together. The copies of a plate
//! that does not fail are each rejected with the `reject_rate` of their part, one independently of the other. What lies
//! in stock has been inspected and counts for certain. A run that was on its printer at the start is at the same risk
//! as any other, since nobody has seen its parts yet.
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
//! `s = c + sum a - n` are its spares. The distribution of a sum of independent numbers is the convolution of theirs;
//! only losses up to `s` matter. [`Tally`] convolves run by run. Dividing the need by the yield instead would give
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

/// A chance short of the confidence by no more than this reaches it.
pub const SLIGHT: f64 = 1e-9;

/// Terms of a binomial below this share of its largest are left out.
const NEGLIGIBLE: f64 = 1e-22;

/// Whether a chance reaches a confidence.
pub fn reaches(chance: f64, confidence: f64) -> bool {
    chance >= confidence - SLIGHT
}

/// What is given of one part to one shipment, and the distribution of how many copies of it are lost.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    reject_rate: f64,
    /// Losses beyond this many are not told apart.
    most_lost: usize,
    /// The chance of losing exactly so many copies, for 0, 1, 2 …
    lost: Vec<f64>,
    copies: u64,
}

impl Tally {
    /// Nothing given yet. `most_lost` bounds the work: more spares than that count as that many.
    pub fn new(reject_rate: f64, most_lost: usize) -> Tally {
        Tally { reject_rate, most_lost, lost: vec![1.0], copies: 0 }
    }

    /// Copies that are there for certain: stock.
    pub fn add_certain(&mut self, copies: u64) {
        self.copies += copies;
    }

    /// Copies of one run of a plate that fails at a rate.
    pub fn add_run(&mut self, copies: u64, failure_rate: f64) {
        self.copies += copies;
        let mut of_run: Vec<f64> = binomial(copies, self.reject_rate, self.most_lost);
        for chance in &mut of_run {
            *chance *= 1.0 - failure_rate;
        }
        let all = usize::try_from(copies).unwrap_or(usize::MAX);
        if failure_rate > 0.0 && all <= self.most_lost {
            if of_run.len() <= all {
                of_run.resize(all + 1, 0.0);
            }
            of_run[all] += failure_rate;
        }
        let length = (self.lost.len() + of_run.len() - 1).min(self.most_lost + 1);
        let mut sum = vec![0.0; length];
        for (more, &chance) in of_run.iter().enumerate().filter(|c| *c.1 > 0.0) {
            for (total, &before) in sum.iter_mut().skip(more).zip(&self.lost) {
                *total += chance * before;
            }
        }
        self.lost = sum;
    }

    /// Copies given so far.
    pub fn copies(&self) -> u64 {
        self.copies
    }

    /// The chance that at least so many are good.
    pub fn chance(&self, need: u64) -> f64 {
        let Some(spare) = self.copies.checked_sub(need) else { return 0.0 };
        let spare = usize::try_from(spare).unwrap_or(usize::MAX);
        self.lost.iter().take(spare.saturating_add(1)).sum::<f64>().min(1.0)
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
