//! Who gets the copies as they come, when some do not.
//!
//! Each shipment's need of a part is a *slot*. The plan promises it copies of certain runs. When a run is harvested, its
//! good copies go where they were promised, to the shipments due first in front; what a slot does not get makes it
//! *short*. Shorts are filled from copies that nobody was promised: those at hand first, then each as it comes. A
//! release is kept throughout: a copy loaded before it never goes to that shipment.
//!
//! At any moment every copy made is in a slot or free, and for each slot `need = had + promised + short`. So nothing is
//! counted twice and nothing is lost.

use super::script::Script;
use crate::problem::Min;
use std::collections::VecDeque;

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
}

/// One slot as it stands.
#[derive(Debug, Clone, Default)]
struct Standing {
    had: i64,
    promised: i64,
    usable: i64,
    /// Copies had that are not usable yet, in order of time.
    finishing: VecDeque<(Min, i64)>,
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
    to_come: Vec<i64>,
    /// By part, copies to come of runs made again.
    again: Vec<i64>,
    /// By shipment, slots that do not have all they need.
    open: Vec<usize>,
    /// By shipment, when the last of its copies is usable, and why so late.
    latest: Vec<(Min, Cause)>,
    /// Everything given, where that is kept.
    gifts: Option<Vec<Gift>>,
}

impl<'s> Supply<'s> {
    /// What the plan promises, and stock.
    pub fn new(script: &'s Script<'s>, keep_gifts: bool) -> Supply<'s> {
        let parts = script.slots_of.len();
        let mut supply = Supply {
            script,
            slots: vec![Standing::default(); script.slots.len()],
            free: vec![Vec::new(); parts],
            short: vec![0; parts],
            to_come: vec![0; parts],
            again: vec![0; parts],
            open: vec![0; script.problem.orders.len()],
            latest: vec![(0, Cause::None); script.problem.orders.len()],
            gifts: keep_gifts.then(Vec::new),
        };
        for slot in &script.slots {
            supply.open[slot.order] += 1;
        }
        for job in &script.jobs {
            for &(part, copies) in &script.modes[job.mode].yields {
                supply.to_come[part] += copies;
            }
            for &(slot, count) in &job.gives {
                supply.slots[slot].promised += count;
                supply.to_come[script.slots[slot].part] -= count;
            }
        }
        let mut stock = script.problem.stock.clone();
        for &(slot, count) in &script.from_stock {
            let left = &mut stock[script.slots[slot].part];
            let count = count.min(*left);
            *left -= count;
            supply.fill(slot, count, Lot { from: From::Stock, loaded: Min::MAX, usable: 0, left: count }, Cause::None);
        }
        for (part, left) in stock.into_iter().enumerate() {
            if left > 0 {
                supply.free[part].push(Lot { from: From::Stock, loaded: Min::MAX, usable: 0, left });
            }
        }
        for (slot, standing) in supply.slots.iter().enumerate() {
            let at = script.slots[slot];
            supply.short[at.part] += (at.need - standing.had - standing.promised).max(0);
        }
        for part in 0..parts {
            supply.share_free(part, Cause::None);
        }
        supply
    }

    /// Takes in a run's copies, or their loss. Returns whether some slot is short of a part of it.
    pub fn take(&mut self, lots: Lots<'_>) -> bool {
        let mut short = false;
        for &(part, good, copies) in lots.good {
            let usable = lots.harvested + self.script.problem.finish[part];
            let mut lot = Lot { from: lots.from, loaded: lots.loaded, usable, left: good };
            let mut spare = copies;
            for &(slot, count) in lots.promised.iter().filter(|p| self.script.slots[p.0].part == part) {
                self.slots[slot].promised -= count;
                spare -= count;
                let given = count.min(lot.left);
                lot.left -= given;
                self.short[part] += count - given;
                self.fill(slot, given, lot, lots.cause);
            }
            match lots.from {
                From::Again(_) => self.again[part] -= copies,
                _ => self.to_come[part] -= spare,
            }
            if lot.left > 0 {
                self.free[part].push(lot);
            }
            if self.short[part] > 0 {
                self.share_free(part, lots.cause);
                short |= self.short[part] > 0;
            }
        }
        short
    }

    fn fill(&mut self, slot: usize, count: i64, lot: Lot, cause: Cause) {
        if count == 0 {
            return;
        }
        let at = self.script.slots[slot];
        let standing = &mut self.slots[slot];
        standing.had += count;
        if standing.had == at.need {
            self.open[at.order] -= 1;
        }
        let place = standing.finishing.iter().rposition(|f| f.0 <= lot.usable).map_or(0, |before| before + 1);
        standing.finishing.insert(place, (lot.usable, count));
        if lot.usable >= self.latest[at.order].0 {
            self.latest[at.order] = (lot.usable, cause);
        }
        if let Some(gifts) = &mut self.gifts {
            gifts.push(Gift { from: lot.from, slot, count });
        }
    }

    /// Gives free copies of a part to slots that are short of it, those due first in front.
    fn share_free(&mut self, part: usize, cause: Cause) {
        for &slot in &self.script.slots_of[part] {
            let of = self.script.slots[slot];
            let release = self.script.problem.orders[of.order].release;
            loop {
                let short = of.need - self.slots[slot].had - self.slots[slot].promised;
                let Some(lot) = self.free[part].iter_mut().find(|l| l.left > 0 && l.loaded >= release) else { break };
                if short <= 0 {
                    break;
                }
                let count = short.min(lot.left);
                lot.left -= count;
                let lot = *lot;
                self.short[part] -= count;
                self.fill(slot, count, lot, cause);
            }
        }
        self.free[part].retain(|lot| lot.left > 0);
    }

    /// How many copies of a part have to be printed again; with `certain`, counting on nothing still to come unpromised.
    pub fn wanting(&self, part: usize, certain: bool) -> i64 {
        let to_come = if certain { 0 } else { self.to_come[part].max(0) };
        self.short[part] - to_come - self.again[part]
    }

    /// The place in the order of due dates of the first shipment that is short of a part.
    pub fn urgency(&self, part: usize) -> usize {
        let short = |slot: &&usize| {
            let standing = &self.slots[**slot];
            self.script.slots[**slot].need > standing.had + standing.promised
        };
        let first = self.script.slots_of[part].iter().find(short);
        first.map_or(usize::MAX, |&slot| self.script.rank[self.script.slots[slot].order])
    }

    /// Counts on the copies of a run made again.
    pub fn count_on(&mut self, yields: &[(usize, i64)]) {
        for &(part, copies) in yields {
            self.again[part] += copies;
        }
    }

    /// How many copies of a slot are usable by a minute. Minutes asked for must not go back.
    pub fn usable(&mut self, slot: usize, by: Min) -> i64 {
        let standing = &mut self.slots[slot];
        while let Some(&(at, count)) = standing.finishing.front() {
            if at > by {
                break;
            }
            standing.usable += count;
            standing.finishing.pop_front();
        }
        standing.usable
    }

    /// Whether a shipment has all its copies, usable or not yet.
    pub fn complete(&self, order: usize) -> bool {
        self.open[order] == 0
    }

    /// When the last copy that a shipment has is usable, and why so late.
    pub fn latest(&self, order: usize) -> (Min, Cause) {
        self.latest[order]
    }

    /// Everything given, where that was kept.
    pub fn into_gifts(self) -> Vec<Gift> {
        self.gifts.unwrap_or_default()
    }
}
