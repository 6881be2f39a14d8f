//! What is still to come that nobody is promised, which of it can be counted on, and what has to be printed again.
//!
//! A copy to come can be counted on for a slot that is short where it is loaded when the slot's shipment is open, and is
//! usable before the shipment is due, or where that is later, before the plan had it ready. What the first run of
//! next week leaves over is of no use to a shipment that leaves today. A run made again can be counted on for
//! the shipment that it is made for, and for all that are open by then.
//!
//! Slots are taken in the order in which they open, the last in front: whatever one of them can use, those that open
//! earlier can use as well, so nothing is given to one that could do with something else.

use super::{From, NEVER, Supply};
use crate::follow::script::Script;
use crate::problem::{BEFORE_START, Min};
use std::cmp::Reverse;

/// What copies to come are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Origin {
    /// A run of the plan, or one made again that is on its printer.
    Run(From),
    /// One to be made again, by its number.
    Pending(usize),
}

/// Copies to come of one part of one run.
#[derive(Debug, Clone, Copy)]
pub(super) struct Coming {
    pub(super) origin: Origin,
    /// When its load begins, or is expected to.
    loaded: Min,
    /// When the plan has them usable; before everything for a run made again.
    usable: Min,
    copies: i64,
}

impl Coming {
    pub(super) fn of_job(script: &Script<'_>, job: usize, part: usize, copies: i64) -> Coming {
        let asked = &script.jobs[job];
        Coming {
            origin: Origin::Run(From::Job(job)),
            loaded: asked.load_from.unwrap_or(BEFORE_START),
            usable: asked.harvest_from + script.modes[asked.mode].harvest + script.problem.finish[part],
            copies,
        }
    }
}

impl<'s> Supply<'s> {
    pub(super) fn expect(&mut self, part: usize, coming: Coming) {
        if coming.copies > 0 {
            self.coming[part].push(coming);
        }
    }

    /// When a slot's shipment opens, or is expected to.
    fn expected(&self, slot: usize) -> Min {
        let order = self.script.slots[slot].order;
        match self.opens[order] {
            NEVER => self.script.opens[order],
            known => known,
        }
    }

    /// Slots that are short of a part and what of it has to be printed again for each; with `certain`, counting on
    /// nothing but runs made again.
    fn unmet(&self, part: usize, certain: bool) -> Vec<(usize, i64)> {
        if self.short[part] <= 0 {
            return Vec::new();
        }
        let again = |c: &Coming| !matches!(c.origin, Origin::Run(From::Job(_)));
        let mut lots: Vec<Coming> = self.coming[part].iter().filter(|c| !certain || again(c)).copied().collect();
        lots.sort_by_key(|c| (again(c), Reverse(c.usable)));
        let mut slots: Vec<(Min, usize)> = self.script.slots_of[part]
            .iter()
            .filter(|slot| self.short_of(**slot) > 0)
            .map(|&slot| (self.expected(slot), slot))
            .collect();
        slots.sort_by_key(|slot| Reverse(slot.0));
        let mut unmet = Vec::new();
        for (opens, slot) in slots {
            let mut short = self.short_of(slot);
            let by = self.script.deadline[self.script.slots[slot].order];
            for lot in lots.iter_mut().filter(|lot| lot.loaded >= opens && lot.usable <= by) {
                let taken = short.min(lot.copies);
                lot.copies -= taken;
                short -= taken;
            }
            if short > 0 {
                unmet.push((slot, short));
            }
        }
        unmet
    }

    /// How many copies of a part have to be printed again, and the shipment that needs them first.
    pub fn wanting(&self, part: usize, certain: bool) -> Option<(i64, usize)> {
        let unmet = self.unmet(part, certain);
        let order = |slot: usize| self.script.slots[slot].order;
        let first = unmet.iter().map(|u| order(u.0)).min_by_key(|&order| self.script.rank[order])?;
        Some((unmet.iter().map(|u| u.1).sum(), first))
    }

    /// Counts on the copies of a run to be made again, as soon as a shipment is open.
    pub fn count_on(&mut self, number: usize, yields: &[(usize, i64)], order: usize, now: Min) {
        let opens = match self.opens[order] {
            NEVER => self.script.opens[order],
            known => known,
        };
        for &(part, copies) in yields {
            let origin = Origin::Pending(number);
            self.expect(part, Coming { origin, loaded: opens.max(now), usable: Min::MIN, copies });
        }
    }

    /// Whether a shipment is open.
    pub fn is_open(&self, order: usize, at: Min) -> bool {
        self.opens[order] <= at
    }

    /// A run to be made again is loaded.
    pub fn loaded_again(&mut self, number: usize, from: From, at: Min) {
        for coming in self.coming.iter_mut().flatten().filter(|c| c.origin == Origin::Pending(number)) {
            (coming.origin, coming.loaded) = (Origin::Run(from), at);
        }
    }

    /// Whether a run to be made again is still wanted; if not, nobody counts on it any more.
    pub fn still_wanted(&mut self, number: usize, certain: bool) -> bool {
        let of_it = |c: &Coming| c.origin == Origin::Pending(number);
        let parts: Vec<usize> = (0..self.coming.len()).filter(|&p| self.coming[p].iter().any(of_it)).collect();
        let before = self.coming.clone();
        self.coming.iter_mut().for_each(|of_part| of_part.retain(|c| !of_it(c)));
        let wanted = parts.iter().any(|&part| self.wanting(part, certain).is_some());
        if wanted {
            self.coming = before;
        }
        wanted
    }

    /// The minute from which a job's load is of use to everybody who is promised something of it.
    pub fn opens_for_job(&self, job: usize) -> Min {
        let gives = self.script.jobs[job].gives.iter().filter(|g| !self.is_revoked(From::Job(job), g.0));
        gives.map(|g| self.opens_for(g.0)).max().unwrap_or(BEFORE_START)
    }

    pub(super) fn is_revoked(&self, from: From, slot: usize) -> bool {
        match from {
            From::Job(job) => !self.revoked.is_empty() && self.revoked.contains(&(job, slot)),
            From::Stock | From::Again(_) => false,
        }
    }

    /// A shipment opens at a minute, or with [`NEVER`], not as yet: what was loaded before and went to it, or of what is on
    /// its printer is promised to it, is free for others. `held` are jobs on their printers and when their loads began.
    pub fn open(&mut self, order: usize, at: Min, held: &[(usize, Min)]) {
        self.opens[order] = at;
        if self.closed[order] {
            return;
        }
        for slot in self.script.slots_in[order].clone() {
            let part = self.script.slots[slot].part;
            let standing = &mut self.slots[slot];
            let full = standing.had == self.script.slots[slot].need;
            let early: Vec<super::Lot> = standing.lots.iter().filter(|lot| lot.loaded < at).copied().collect();
            standing.lots.retain(|lot| lot.loaded >= at);
            let taken: i64 = early.iter().map(|lot| lot.left).sum();
            standing.had -= taken;
            self.short[part] += taken;
            if full && taken > 0 {
                self.open[order] += 1;
            }
            self.free[part].extend(early);
            for &(job, _) in held.iter().filter(|h| h.1 < at) {
                let gives = self.script.jobs[job].gives.iter().filter(|g| g.0 == slot);
                let count: i64 = gives.map(|g| g.1).sum();
                if count > 0 && self.revoked.insert((job, slot)) {
                    self.slots[slot].promised -= count;
                    self.short[part] += count;
                    match self.coming[part].iter_mut().find(|c| c.origin == Origin::Run(From::Job(job))) {
                        Some(coming) => coming.copies += count,
                        None => self.expect(part, Coming::of_job(self.script, job, part, count)),
                    }
                }
            }
        }
        for slot in self.script.slots_in[order].clone() {
            let part = self.script.slots[slot].part;
            if self.short[part] > 0 {
                self.share_free(part);
                self.take_back(part);
            }
        }
    }

    /// As if a shipment had always been open, until it is known when it opened.
    pub fn open_for_now(&mut self, order: usize) {
        self.opens[order] = BEFORE_START;
    }
}
