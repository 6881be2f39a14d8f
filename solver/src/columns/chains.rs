//! How many printers can complete a chain: as many long prints in a shift as it can take.
//!
//! On a day of `to - from` minutes, a printer that has a plate to be harvested first can do `k` prints of at least `P`
//! minutes and harvest them all, if hardly a minute is lost ([`crate::history::chains`]). The room has operators enough
//! for some printers to do so, and a fractional mix of histories takes that many minutes for that many printers. But the
//! printers of a chain all want operators within the same few minutes, round after round, and operators are whole: on the
//! kit run two operators keep 6 printers in step and the mix 7. A printer more on each of eleven days is what stands
//! between the relaxation and the best plan there.
//!
//! So the greatest number of printers that can be kept in step is found beforehand, with everything else in the room left
//! out ([`crate::in_step`]), and no plan has more histories that complete the chain:
//!
//! ```text
//! printers that complete the chain of a shift   <=   most in step
//! ```
//!
//! A shift has at most one such inequality. It is only written down where all plates are handled in the same minutes,
//! where nothing is released within the shift, and where materials make no difference; elsewhere the bound does without.

use crate::history::BLOCK;
use crate::history::chains::Chain;
use crate::in_step::InStep;
use crate::problem::{Min, Problem};
use std::collections::BTreeMap;

/// An inequality is written down where operator minutes alone would do for so many tenths of a printer more.
const WORTH: Min = 8;

/// A chain, and how many printers can complete it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chained {
    /// The chain.
    pub chain: Chain,
    /// No more printers than these.
    pub most: i64,
}

/// The chains of all shifts that begin after a time without staff.
pub fn chains(problem: &Problem<'_>, staff: &[i64]) -> Vec<Chained> {
    let mut modes: Vec<usize> = problem.classes.iter().flat_map(|c| c.modes.iter().copied()).collect();
    modes.sort_unstable();
    modes.dedup();
    let Some(&any) = modes.first() else { return Vec::new() };
    let (harvest, load) = (problem.modes[any].harvest, problem.modes[any].load);
    let held = problem.classes.iter().filter_map(|c| c.running.as_ref().map(|on| on.mode));
    let alike =
        modes.iter().copied().chain(held).all(|m| (problem.modes[m].harvest, problem.modes[m].load) == (harvest, load));
    let swaps = problem.materials > 1 && problem.changeover > 0;
    if !alike || swaps || harvest == 0 || load == 0 {
        return Vec::new();
    }
    let printers: usize = problem.classes.iter().map(|c| c.printers.len()).sum();
    let to_ready = |mode: usize| problem.modes[mode].to_ready();
    let shortest = modes.iter().map(|&m| load + to_ready(m)).min().unwrap_or(0);
    let mut answers: BTreeMap<InStep, usize> = BTreeMap::new();
    let mut found = Vec::new();
    for &(_, from) in problem.nights.iter().filter(|n| n.1 > 0) {
        let on_shift = |m: Min| staff.get(m as usize).copied().unwrap_or(0);
        let to = (from..).find(|&m| on_shift(m) == 0).unwrap_or(from);
        if problem.orders.iter().any(|o| from < o.release && o.release <= to) {
            continue;
        }
        let operators = (from..to).map(on_shift).max().unwrap_or(0) as usize;
        let mut best: Option<Chained> = None;
        for &mode in &modes {
            let cycle = harvest + load + to_ready(mode);
            let prints = ((to - from - harvest) / cycle).max(0) as usize;
            let slack = to - from - harvest - prints as Min * cycle;
            // The first of the stretches in which its harvests start has to fit in one block of a pass.
            if prints == 0 || slack >= shortest.min(BLOCK as Min) || slack + harvest + load > cycle {
                continue;
            }
            let question = InStep { operators, harvest, load, rounds: prints, slack };
            let binds = |most: usize| most < printers && question.leaves(most, WORTH);
            if !binds(question.in_turns()) {
                continue;
            }
            let most = *answers.entry(question).or_insert_with(|| question.most());
            if !binds(most) {
                continue;
            }
            if best.as_ref().is_none_or(|b| (most as i64) < b.most) {
                let long_enough = |m: &usize| (to_ready(mode)..=to_ready(mode) + slack).contains(&to_ready(*m));
                let modes = modes.iter().copied().filter(long_enough).collect();
                let chain = Chain { from, to, prints, cycle, harvest, modes };
                best = Some(Chained { chain, most: most as i64 });
            }
        }
        found.extend(best);
    }
    found
}
