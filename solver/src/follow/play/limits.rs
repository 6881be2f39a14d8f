//! What keeps a load out: downtime, and the limits on unattended printing.

use super::{Luck, Player};
use crate::problem::{Min, Mode};

impl<L: Luck> Player<'_, L> {
    /// The end of the first downtime that a stretch touches.
    pub(super) fn down_during(&self, p: usize, from: Min, to: Min) -> Option<Min> {
        let down = &self.script.printers[p].down;
        let first = down.partition_point(|d| d.1 <= from);
        down.get(first).filter(|d| d.0 < to || (from == to && d.0 < from)).map(|d| d.1)
    }

    /// What keeps a print that begins at a minute out, the load of which began now; then until when to wait. One that
    /// stands aside leaves the nights' places to those that are planned in them.
    pub(super) fn kept_out(&self, p: usize, mode: &Mode, print_from: Min, aside: bool) -> Option<Min> {
        self.down_during(p, self.at, print_from + mode.to_ready())
            .or_else(|| self.night_forbids(print_from, mode.print, aside))
    }

    fn night_forbids(&self, from: Min, print: Min, aside: bool) -> Option<Min> {
        let problem = self.script.problem;
        if problem.night_printers.is_none() && problem.night_minutes.is_none() {
            return None;
        }
        let nights = &problem.nights;
        let mut k = nights.partition_point(|n| n.1 <= from);
        while let Some(&(a, b)) = nights.get(k).filter(|n| n.0 < from + print) {
            let planned = || self.script.in_night[k].iter().filter(|&&job| !self.begun.load[job]).count() as i64;
            let full = |most| self.night_use[k] + if aside { planned() } else { 0 } >= most;
            let full = problem.night_printers.is_some_and(full);
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
