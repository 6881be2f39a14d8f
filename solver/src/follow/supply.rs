//! Who gets the copies as they come, when some do not.
//!
//! Each shipment's need of a part is a *slot*. The plan promises it copies of certain runs. When a run is harvested, its
//! good copies go where they were promised, to the shipments due first in front; what a slot does not get makes it
//! *short*. Shorts are filled, those due first in front, from copies that nobody was promised: those at hand, then each
//! as it comes; and from those that a shipment due later has and has not packed, or would have got of a run. Which of the
//! copies that are still to come may be counted on is told in [`coming`].
//!
//! A shipment *opens* at a minute: at its release or, where a first lot comes before it, once that is ready and has been
//! looked over. A copy loaded before it opens never goes to that shipment. When a first lot is late, copies that the plan
//! had for the rest may turn out to be loaded too early: they are taken back and are free for others ([`Supply::open`]).
//!
//! At any moment every copy made is in a slot or free, and for each slot `need = had + promised + short`. So nothing is
//! counted twice and nothing is lost.

mod coming;

use super::script::Script;
use crate::problem::Min;
use coming::{Coming, Origin};
use std::collections::BTreeSet;

/// When a shipment opens whose first lot is not ready yet.
pub const NEVER: Min = Min::MAX;

/// Why something came later than planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Cause {
    /// It did not, or nobody knows.
    #[default]
    None,
    /// A plate of this mode failed.
    Failed(usize),
    /// Copies of this part were rejected.
    Rejected(usize),
    /// This printer broke down.
    Broke(usize),
    /// A plate of this mode printed longer than it should.
    Slow(usize),
    /// It waited for somebody to have time.
    Crew,
}

impl Script<'_> {
    /// A cause in words.
    pub fn words(&self, cause: Cause) -> String {
        let instance = self.problem.instance;
        let plate = |mode: usize| &instance.plates[self.modes[mode].plate.index()].name;
        match cause {
            Cause::None => "the plan itself".to_owned(),
            Cause::Failed(mode) => format!("a failed plate of {}", plate(mode)),
            Cause::Rejected(part) => format!("rejected copies of {}", instance.parts[part].name),
            Cause::Broke(printer) => format!("a breakdown of {}", instance.printers[printer].name),
            Cause::Slow(mode) => format!("a slow plate of {}", plate(mode)),
            Cause::Crew => "waiting for an operator".to_owned(),
        }
    }
}

/// Where copies come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum From {
    /// Stock.
    Stock,
    /// The plan's run of that position.
    Job(usize),
    /// The run made again, by its position among those.
    Again(usize),
}

/// Copies that nobody was promised.
#[derive(Debug, Clone, Copy)]
struct Lot {
    from: From,
    loaded: Min,
    usable: Min,
    left: i64,
    cause: Cause,
}

/// One slot as it stands.
#[derive(Debug, Clone, Default)]
struct Standing {
    had: i64,
    promised: i64,
    /// How many of those had are in boxes.
    boxed: i64,
    /// What it has, in the order in which it is usable.
    lots: Vec<Lot>,
}

/// Copies given to a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gift {
    /// From where.
    pub from: From,
    /// To which slot.
    pub slot: usize,
    /// How many.
    pub count: i64,
}

/// A run whose copies are there, or are lost.
#[derive(Debug, Clone, Copy)]
pub struct Lots<'a> {
    /// Which.
    pub from: From,
    /// When its load began.
    pub loaded: Min,
    /// When it was harvested.
    pub harvested: Min,
    /// Its good copies, part by part, and how many there should have been.
    pub good: &'a [(usize, i64, i64)],
    /// What the plan promised of it.
    pub promised: &'a [(usize, i64)],
    /// Why it is late, if it is.
    pub cause: Cause,
}

/// All slots and free copies as they stand.
pub struct Supply<'s> {
    script: &'s Script<'s>,
    slots: Vec<Standing>,
    free: Vec<Vec<Lot>>,
    /// By part, what slots are short of.
    short: Vec<i64>,
    /// By part, copies to come that nobody is promised.
    coming: Vec<Vec<Coming>>,
    /// By shipment, when it opens.
    opens: Vec<Min>,
    /// Promises of jobs to slots that are taken back.
    revoked: BTreeSet<(usize, usize)>,
    /// By shipment, slots that do not have all they need.
    open: Vec<usize>,
    /// By shipment, whether it is ready, and nothing is taken from it any more.
    closed: Vec<bool>,
}

impl<'s> Supply<'s> {
    /// What the plan promises, and stock.
    pub fn new(script: &'s Script<'s>) -> Supply<'s> {
        let parts = script.slots_of.len();
        let mut supply = Supply {
            script,
            slots: vec![Standing::default(); script.slots.len()],
            free: vec![Vec::new(); parts],
            short: vec![0; parts],
            coming: vec![Vec::new(); parts],
            opens: script.problem.orders.iter().map(|o| if o.after.is_some() { NEVER } else { o.release }).collect(),
            revoked: BTreeSet::new(),
            open: vec![0; script.problem.orders.len()],
            closed: vec![false; script.problem.orders.len()],
        };
        for slot in &script.slots {
            supply.open[slot.order] += 1;
        }
        for (at, job) in script.jobs.iter().enumerate() {
            for &(slot, count) in &job.gives {
                supply.slots[slot].promised += count;
            }
            for &(part, copies) in &script.modes[job.mode].yields {
                let given: i64 = job.gives.iter().filter(|g| script.slots[g.0].part == part).map(|g| g.1).sum();
                supply.expect(part, Coming::of_job(script, at, part, copies - given));
            }
        }
        let mut stock = script.problem.stock.clone();
        for &(slot, count) in &script.from_stock {
            let left = &mut stock[script.slots[slot].part];
            let count = count.min(*left);
            *left -= count;
            supply.fill(slot, count, Lot::of_stock(count));
        }
        for (part, left) in stock.into_iter().enumerate() {
            if left > 0 {
                supply.free[part].push(Lot::of_stock(left));
            }
        }
        for slot in 0..script.slots.len() {
            supply.short[script.slots[slot].part] += supply.short_of(slot).max(0);
        }
        for part in 0..parts {
            supply.share_free(part);
        }
        supply
    }

    /// Takes in a run's copies, or their loss. Returns whether some slot is short of a part of it.
    pub fn take(&mut self, lots: Lots<'_>) -> bool {
        let mut short = false;
        for &(part, good, _) in lots.good {
            let usable = lots.harvested + self.script.problem.finish[part];
            let mut lot = Lot { from: lots.from, loaded: lots.loaded, usable, left: good, cause: lots.cause };
            self.coming[part].retain(|c| c.origin != Origin::Run(lots.from));
            for &(slot, count) in lots.promised.iter().filter(|p| self.script.slots[p.0].part == part) {
                if self.is_revoked(lots.from, slot) {
                    continue;
                }
                self.slots[slot].promised -= count;
                self.short[part] += count;
                self.serve(part, &mut lot, self.script.rank[self.script.slots[slot].order]);
                let may = if lot.loaded >= self.opens_for(slot) { lot.left } else { 0 };
                let given = self.short_of(slot).min(count).min(may);
                self.give(slot, given, &mut lot);
            }
            if lot.left > 0 {
                self.free[part].push(lot);
            }
            if self.short[part] > 0 {
                self.share_free(part);
                self.take_back(part);
                short |= self.short[part] > 0;
            }
        }
        short
    }

    fn short_of(&self, slot: usize) -> i64 {
        let standing = &self.slots[slot];
        self.script.slots[slot].need - standing.had - standing.promised
    }

    fn opens_for(&self, slot: usize) -> Min {
        self.opens[self.script.slots[slot].order]
    }

    /// Gives of a lot to slots that are short and whose shipments are due before a rank.
    fn serve(&mut self, part: usize, lot: &mut Lot, before: usize) {
        for &slot in &self.script.slots_of[part] {
            if lot.left == 0 || self.script.rank[self.script.slots[slot].order] >= before {
                return;
            }
            let short = self.short_of(slot);
            if short > 0 && lot.loaded >= self.opens_for(slot) {
                self.give(slot, short.min(lot.left), lot);
            }
        }
    }

    /// Gives so many of a lot to a slot that is short of them.
    fn give(&mut self, slot: usize, count: i64, lot: &mut Lot) {
        if count > 0 {
            lot.left -= count;
            self.short[self.script.slots[slot].part] -= count;
            self.fill(slot, count, *lot);
        }
    }

    fn fill(&mut self, slot: usize, count: i64, lot: Lot) {
        if count == 0 {
            return;
        }
        let at = self.script.slots[slot];
        let standing = &mut self.slots[slot];
        standing.had += count;
        if standing.had == at.need {
            self.open[at.order] -= 1;
        }
        let place = standing.lots.partition_point(|l| l.usable <= lot.usable);
        standing.lots.insert(place, Lot { left: count, ..lot });
    }

    /// Gives free copies of a part to slots that are short of it, those due first in front.
    fn share_free(&mut self, part: usize) {
        let mut free = std::mem::take(&mut self.free[part]);
        for lot in &mut free {
            self.serve(part, lot, usize::MAX);
        }
        free.retain(|lot| lot.left > 0);
        self.free[part] = free;
    }

    /// Gives slots that are short what slots of shipments due later have and have not packed.
    fn take_back(&mut self, part: usize) {
        let slots = &self.script.slots_of[part];
        for (at, &slot) in slots.iter().enumerate() {
            for &other in slots[at + 1..].iter().rev() {
                let mut short = self.short_of(slot);
                if short <= 0 {
                    break;
                }
                let of = self.script.slots[other];
                if self.closed[of.order] {
                    continue;
                }
                let mut taken = Vec::new();
                let opens = self.opens_for(slot);
                let standing = &mut self.slots[other];
                let full = standing.had == of.need;
                let mut loose = standing.had - standing.boxed;
                // What is in boxes came first.
                for lot in standing.lots.iter_mut().rev().filter(|lot| lot.loaded >= opens) {
                    let count = short.min(loose).min(lot.left);
                    if count > 0 {
                        lot.left -= count;
                        standing.had -= count;
                        (short, loose) = (short - count, loose - count);
                        taken.push((count, *lot));
                    }
                }
                standing.lots.retain(|lot| lot.left > 0);
                if full && !taken.is_empty() {
                    self.open[of.order] += 1;
                }
                for (count, lot) in taken {
                    // Another slot is short of them now.
                    self.short[part] += count;
                    self.give(slot, count, &mut Lot { left: count, ..lot });
                }
            }
        }
    }

    /// How many copies of a slot are usable by a minute.
    pub fn usable(&self, slot: usize, by: Min) -> i64 {
        self.slots[slot].lots.iter().take_while(|lot| lot.usable <= by).map(|lot| lot.left).sum()
    }

    /// When so many copies of a slot that has them are usable.
    pub fn usable_from(&self, slot: usize, copies: i64) -> Min {
        let mut sum = 0;
        let lots = &self.slots[slot].lots;
        let last = lots.iter().find(|lot| {
            sum += lot.left;
            sum >= copies
        });
        last.or(lots.last()).map_or(0, |lot| lot.usable)
    }

    /// A box is packed: so many of each slot are in boxes now.
    pub fn box_up(&mut self, takes: &[(usize, i64)]) {
        for &(slot, upto) in takes {
            self.slots[slot].boxed = upto;
        }
    }

    /// A shipment is ready: nothing is taken from it any more.
    pub fn close(&mut self, order: usize) {
        self.closed[order] = true;
    }

    /// When the last copy of a shipment that has all of them is usable, and why so late; none while it lacks any.
    pub fn complete(&self, order: usize) -> Option<(Min, Cause)> {
        if self.open[order] > 0 {
            return None;
        }
        let of_slot =
            |slot: usize| self.slots[slot].lots.last().map_or((0, Cause::None), |lot| (lot.usable, lot.cause));
        Some(self.script.slots_in[order].clone().map(of_slot).max().unwrap_or((0, Cause::None)))
    }

    /// How many a slot has.
    pub fn had(&self, slot: usize) -> i64 {
        self.slots[slot].had
    }

    /// Everything given.
    pub fn gifts(&self) -> Vec<Gift> {
        let slots = self.slots.iter().enumerate();
        slots
            .flat_map(|(slot, standing)| {
                standing.lots.iter().map(move |lot| Gift { from: lot.from, slot, count: lot.left })
            })
            .collect()
    }
}

impl Lot {
    fn of_stock(left: i64) -> Lot {
        Lot { from: From::Stock, loaded: Min::MAX, usable: 0, left, cause: Cause::None }
    }
}
