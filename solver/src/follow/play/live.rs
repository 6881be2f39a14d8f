//! The days go by, event by event: in each minute everything that is open is tried, in the order of the plan.

use super::{Event, Luck, Player, Step};
use crate::follow::supply::Cause;
use crate::follow::trace::Lived;
use crate::problem::Min;
use std::cmp::Reverse;
use std::ops::Bound::{Excluded, Unbounded};

impl<L: Luck> Player<'_, L> {
    /// Lives to the end.
    pub fn live(mut self) -> Lived {
        self.wake_everything();
        loop {
            self.run_events();
            if self.finished() || !self.last_resort() {
                break;
            }
        }
        if self.keep {
            self.lived.gifts = self.supply.gifts();
        }
        self.lived
    }

    pub(super) fn finished(&self) -> bool {
        self.unready == 0
    }

    /// Something to look at; what is past is looked at now.
    pub(super) fn push(&mut self, (at, event): (Min, Event)) {
        self.events.push(Reverse((at.max(self.at), event)));
    }

    pub(super) fn wake_everything(&mut self) {
        for p in 0..self.stands.len() {
            self.push((self.at, Event::Printer(p)));
        }
        for order in 0..self.lived.ready.len() {
            self.push((self.at, Event::Order(order)));
        }
        for order in &self.script.problem.orders {
            if order.release > self.at {
                self.push((order.release, Event::Opens));
            }
        }
        for part in 0..self.script.slots_of.len() {
            self.make_good(part, None, Cause::None, false);
        }
    }

    pub(super) fn run_events(&mut self) {
        let over = |player: &Self| !player.keep && player.unready == 0;
        while let Some(&Reverse((at, _))) = self.events.peek() {
            if at > self.script.problem.horizon || over(self) {
                break;
            }
            // What was pushed while the past was taken in is seen to now.
            self.at = self.at.max(at);
            while let Some(&Reverse((when, event))) = self.events.peek().filter(|e| e.0.0 == at) {
                debug_assert_eq!(when, at);
                self.events.pop();
                match event {
                    Event::Cleared(p) => self.wake_printer(p),
                    Event::Printer(p) => self.wake_printer(p),
                    Event::Order(order) => {
                        self.see_whether_ready(order);
                        if self.lived.ready[order].is_none() {
                            let planned = self.box_minute(order);
                            self.open.insert((planned, self.stands.len() + order));
                        }
                    }
                    Event::Somebody => {}
                    Event::Opens => self.wake_the_empty(),
                }
            }
            self.do_what_can_be_done();
        }
    }

    pub(super) fn wake_printer(&mut self, p: usize) {
        let stand = &self.stands[p];
        let planned = match &stand.held {
            Some(held) => held.lost.unwrap_or(held.ask),
            None => stand.queue.front().and_then(|&job| self.script.jobs[job].load_from).unwrap_or(self.at),
        };
        if let Some(old) = self.stands[p].open.replace(planned) {
            self.open.remove(&(old, p));
        }
        self.open.insert((planned, p));
    }

    pub(super) fn box_minute(&self, order: usize) -> Min {
        let next = self.script.boxes_of[order].get(self.next_box[order].0);
        next.map_or(self.at, |&at| self.script.boxes[at].from)
    }

    /// Tries everything that is open, in the order of the plan, until nothing more can begin in this minute.
    pub(super) fn do_what_can_be_done(&mut self) {
        let mut last = (Min::MIN, 0);
        while let Some(&key) = self.open.range((Excluded(last), Unbounded)).next() {
            last = key;
            let printers = self.stands.len();
            let step = if key.1 < printers { self.try_printer(key.1) } else { self.try_box(key.1 - printers) };
            let stand = self.stands.get_mut(key.1);
            if matches!(step, Step::Waits) {
                stand.map(|stand| stand.waits.get_or_insert(self.at));
                continue;
            }
            self.open.remove(&key);
            let Some(stand) = stand else { continue };
            stand.open = None;
            if matches!(step, Step::Begun)
                && let Some(since) = stand.waits.take()
            {
                let attended = &self.script.attended;
                self.lived.waited[since as usize / 60] +=
                    i64::from(attended[self.at as usize] - attended[since as usize]);
            }
        }
    }
}
