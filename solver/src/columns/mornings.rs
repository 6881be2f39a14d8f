//! What a morning can take: whole rounds of harvest and load, not fractions of them.
//!
//! When a room has been unattended, no plate has left its printer since the shift before, so whoever loads a printer
//! that did not stand empty must first harvest it, and both take their minutes after the morning's first minute `a`. Let
//! `u` be the least minutes that a harvest and a load take together, and let operators have `C` minutes from `a` to some
//! minute `b`. At most `C / u` such printers can be loaded by `b`; and since printers are whole, in a plan it is
//!
//! ```text
//! loads over by b, of printers that were not empty at a   <=   floor(C / u)
//! ```
//!
//! A fractional mix of histories feels only `C / u`. The difference looks small, but the head of the morning's queue
//! decides how many printers fit one more plate into their day. On the kit run two operators load 6 printers in the first
//! 24 minutes, and the mix 6.86; that alone is 9 plates in eleven days, and two hours of makespan.
//!
//! A printer that loads twice by `b` has harvested twice, so every load counts but the first of a printer that stood
//! empty at `a`. A history pays the inequality's price for each load over by `b`, and gets it back once if it stands empty
//! across `a` and loads again at any later time; where that is after `b` it gets back what it never paid, which makes the
//! bound weaker and no less valid. It is no way out where every plate is of use: a printer that stands empty for a night has
//! lost one. But where materials are changed a printer may be loaded with a plate that nobody needs, only to carry the
//! change, and one that has nothing else to do would be paid for waiting. There the inequality is left out: on a mixed week
//! with printers to spare that lifts the bound by 24 minutes, on another by 9, and on others it costs up to 3.

use crate::problem::{Min, Problem};

/// Rounds beyond so many are not told from fractions of them.
const MOST_ROUNDS: i64 = 50;

/// Loads that a morning can take by a minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Morning {
    /// The first staffed minute after an unattended stretch.
    pub from: Min,
    /// Loads over by this minute count.
    pub by: Min,
    /// No more than so many of them.
    pub most: i64,
    /// Minutes without staff before, and minutes of the staffed stretch.
    stretch: (Min, Min),
}

/// Every inequality worth having, by morning and by minute: for each number of loads the latest minute by which
/// operators cannot do one more.
pub fn mornings(problem: &Problem<'_>, staff: &[i64]) -> Vec<Morning> {
    let modes = || problem.classes.iter().flat_map(|c| &c.modes).map(|&m| &problem.modes[m]);
    let (harvest, load) = (modes().map(|m| m.harvest).min(), modes().map(|m| m.load).min());
    let round = i64::from(harvest.unwrap_or(0) + load.unwrap_or(0));
    let printers: usize = problem.classes.iter().map(|c| c.printers.len()).sum();
    let mut found = Vec::new();
    let changes = problem.materials > 1 && problem.changeover > 0;
    if round == 0 || changes {
        return found;
    }
    for &(night, from) in problem.nights.iter().filter(|n| n.1 > 0) {
        let on_shift = |m: Min| staff.get(m as usize).copied().unwrap_or(0);
        let to = (from..).find(|&m| on_shift(m) == 0).unwrap_or(from);
        let mut minutes = 0;
        for by in from..to {
            let next = minutes + on_shift(by);
            let most = minutes / round;
            if most >= MOST_ROUNDS.min(printers as i64) {
                break;
            }
            // The last minute before one more round would fit; where it fits exactly, fractions gain nothing.
            if next / round > most && by > from && minutes % round > 0 {
                found.push(Morning { from, by, most, stretch: (from - night, to - from) });
            }
            minutes = next;
        }
    }
    found
}

impl Morning {
    /// Mornings with equal keys are alike.
    pub fn likeness(&self) -> (Min, Min, Min, i64) {
        (self.stretch.0, self.stretch.1, self.by - self.from, self.most)
    }
}

/// The mornings across which a printer stands empty from one minute to another.
pub fn across(mornings: &[Morning], empty_from: Min, load_from: Min) -> std::ops::Range<usize> {
    mornings.partition_point(|m| m.from < empty_from)..mornings.partition_point(|m| m.from <= load_from)
}

/// The mornings against which a load counts.
pub fn counting(mornings: &[Morning], load_from: Min, load_to: Min) -> impl Iterator<Item = usize> + '_ {
    let end = mornings.partition_point(|m| m.from <= load_from);
    let from = mornings[..end].last().map_or(0, |m| m.from);
    (0..end).rev().take_while(move |&k| mornings[k].from == from).filter(move |&k| load_to <= mornings[k].by)
}
