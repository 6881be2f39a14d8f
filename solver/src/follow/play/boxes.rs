//! Boxes are packed once their parts are there, and a shipment is ready once its boxes are.

use super::{Event, Luck, Player, Step};
use crate::follow::script::{ANYBODY, Packing};
use crate::follow::supply::Cause;
use crate::follow::trace::{Done, Packed};
use crate::problem::Min;

const HALF_A_DAY: Min = 720;

impl<L: Luck> Player<'_, L> {
    pub(super) fn try_box(&mut self, order: usize) -> Step {
        let script = self.script;
        let (next, last) = self.next_box[order];
        let Some(&at) = script.boxes_of[order].get(next) else { return Step::Nothing };
        let packing = &script.boxes[at];
        if packing.from > self.at {
            self.push((packing.from, Event::Order(order)));
            return Step::Nothing;
        }
        if packing.takes.iter().any(|&(slot, upto)| self.supply.usable(slot, self.at) < upto) {
            return Step::Nothing;
        }
        let minutes = script.problem.pack_box;
        let Some(who) = self.packer(order, packing, minutes) else { return Step::Waits };
        let done = Done { from: self.at, to: self.at + minutes, who };
        self.crew.book(who, done.from, done.to);
        self.begun.pack[at] = true;
        self.next_box[order] = (next + 1, last.max(done.to));
        self.supply.box_up(&packing.takes);
        self.push((done.to, Event::Order(order)));
        self.push((self.at, Event::Order(order)));
        if self.keep {
            self.lived.packed.push(Packed { packing: at, done });
        }
        Step::Begun
    }

    /// Somebody for a box. One that nobody has planned leaves loads and harvests their minutes for half a day of shifts,
    /// since most boxes can wait and a load before the night cannot; but it does not wait until its shipment is late.
    fn packer(&mut self, order: usize, packing: &Packing, minutes: Min) -> Option<usize> {
        if packing.packer != ANYBODY {
            return self.somebody(packing.packer, packing.from, Min::MIN, minutes);
        }
        let there = packing.takes.iter().map(|&(slot, upto)| self.supply.usable_from(slot, upto));
        let there = there.max().unwrap_or(packing.from).max(packing.from);
        let left = (self.script.boxes_of[order].len() - self.next_box[order].0) as Min;
        let due = self.script.problem.orders[order].due.map_or(Min::MAX, |due| due - left * minutes);
        let until = self.on_shift_for(HALF_A_DAY, there).min(due);
        let patient = self.at < until;
        let found = self.crew.find(ANYBODY, self.at, minutes, patient, &self.begun);
        if found.is_none() && patient {
            self.push((until, Event::Somebody));
        }
        found
    }

    /// When somebody has been on shift for so many minutes since another; the horizon where that is never.
    fn on_shift_for(&self, minutes: Min, since: Min) -> Min {
        let attended = &self.script.attended;
        let before = attended.get(since.max(0) as usize).map_or(0, |before| before + minutes);
        attended.partition_point(|&sum| sum < before).max(since.max(0) as usize) as Min
    }

    pub(super) fn see_whether_ready(&mut self, order: usize) {
        if self.lived.ready[order].is_some() {
            return;
        }
        let Some((usable, cause)) = self.supply.complete(order) else { return };
        let (next, packed) = self.next_box[order];
        let ready = usable.max(packed);
        if next == self.script.boxes_of[order].len() && ready <= self.at {
            self.lived.ready[order] = Some(ready);
            self.supply.close(order);
            self.lived.cause[order] = if cause == Cause::None && packed > usable { Cause::Crew } else { cause };
            self.unready -= 1;
            self.open_after(order, ready);
        }
    }
}
