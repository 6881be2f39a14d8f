//! What keeps a load out: downtime, and the limits on unattended printing.

use super::{Luck, Player};
use crate::problem::Min;

impl<L: Luck> Player<'_, L> {
    /// The end of the first downtime that a stretch touches.
    pub(super) fn down_during(&self, p: usize, from: Min, to: Min) -> Option<Min> {
        let down = &self.script.printers[p].down;
        let first = down.partition_point(|d| d.1 <= from);
        down.get(first).filter(|d| d.0 < to || (from == to && d.0 < from)).map(|d| d.1)
    }

    /// Whether a print would break a limit on unattended printing; then until when to wait.
    pub(super) fn night_forbids(&self, from: Min, print: Min) -> Option<Min> {
        let problem = self.script.problem;
        if problem.night_printers.is_none() && problem.night_minutes.is_none() {
            return None;
        }
        let nights = &problem.nights;
        let mut k = nights.partition_point(|n| n.1 <= from);
        while let Some(&(a, b)) = nights.get(k).filter(|n| n.0 < from + print) {
            let full = problem.night_printers.is_some_and(|most| self.night_use[k] >= most);
            let long = problem.night_minutes.is_some_and(|most| b.min(from + print) - a.max(from) > most);
            if full || long {
                return Some(b);
            }
            k += 1;
        }
        None
    }

    pub(super) fn count_nights(&mut self, from: Min, to: Min, by: i64) {
        let nights = &self.script.problem.nights;
        let mut k = nights.partition_point(|n| n.1 <= from);
        while nights.get(k).is_some_and(|n| n.0 < to) {
            self.night_use[k] += by;
            k += 1;
        }
    }
}
