//! A first lot before the rest: the rest is loaded once the first lot is ready and has been looked over.
//!
//! When that is, the plan promised, and the life shows. What is not loaded yet waits for it. When a life goes on from
//! the past, some of the rest may be on printers, or harvested, that was loaded too early because the first lot came
//! later than promised; its copies are then free for other shipments, and the rest is printed again.

use super::{Event, Luck, Player};
use crate::follow::supply::{From, NEVER};
use crate::problem::Min;

impl<L: Luck> Player<'_, L> {
    /// A shipment is ready, and those that come after it open once the hold is over.
    pub(super) fn open_after(&mut self, first: usize, ready: Min) {
        for (order, of) in self.script.problem.orders.iter().enumerate() {
            if let Some((_, hold)) = of.after.filter(|after| after.0 == first) {
                let opens = of.release.max(ready.saturating_add(hold));
                self.supply.open(order, opens, &self.held_jobs());
                self.push((opens, Event::Opens));
            }
        }
    }

    /// Until it is known when first lots were ready, the past is taken in as if nothing had to wait for them.
    pub(super) fn leave_open(&mut self) {
        for (order, of) in self.script.problem.orders.iter().enumerate() {
            if of.after.is_some() {
                self.supply.open_for_now(order);
            }
        }
    }

    /// Looks which first lots are ready at this minute.
    pub(super) fn see_first_lots(&mut self) {
        for first in crate::after::leads(self.script.problem) {
            self.see_whether_ready(first);
        }
    }

    /// The past has been taken in: what comes after a first lot that is not ready waits for it.
    pub(super) fn close_what_waits(&mut self) {
        self.see_first_lots();
        for (order, of) in self.script.problem.orders.iter().enumerate() {
            if of.after.is_some_and(|(first, _)| self.lived.ready[first].is_none()) {
                self.supply.open(order, NEVER, &self.held_jobs());
            }
        }
    }

    fn held_jobs(&self) -> Vec<(usize, Min)> {
        let held = self.stands.iter().filter_map(|stand| stand.held);
        let job = |from: From| if let From::Job(job) = from { Some(job) } else { None };
        held.filter_map(|held| job(held.from).map(|job| (job, held.loaded))).collect()
    }

    /// Printers with nothing on them look for something to do.
    pub(super) fn wake_the_empty(&mut self) {
        for p in 0..self.stands.len() {
            if self.stands[p].held.is_none() {
                self.push((self.at.max(self.stands[p].busy_until), Event::Printer(p)));
            }
        }
    }
}
