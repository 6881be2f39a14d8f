//! Plates come off their printers, and their copies are counted.

use super::{Event, Held, Luck, Player, Step};
use crate::follow::supply::{Cause, From, Lots};
use crate::follow::trace::Done;
use crate::problem::Min;

/// By part, the good copies and all that were printed; and why some are missing.
type Harvested<'h> = (&'h [(usize, i64, i64)], Cause);

impl<L: Luck> Player<'_, L> {
    /// The loss of a plate is known from when somebody is there to see it.
    pub(super) fn notice_loss(&mut self, p: usize) {
        let at = self.at;
        let unknown = |held: &&mut Held| held.lost.is_some_and(|lost| lost <= at) && !held.told;
        let Some(held) = self.stands[p].held.as_mut().filter(unknown) else { return };
        held.told = true;
        let held = *held;
        let none: Vec<_> =
            self.script.modes[held.mode].yields.iter().map(|&(part, copies)| (part, 0, copies)).collect();
        self.count(held, &none, at, held.cause);
    }

    pub(super) fn try_harvest(&mut self, p: usize, held: Held) -> Step {
        let lost = held.lost.filter(|&lost| lost <= self.at);
        if lost.is_none() && held.ready.max(held.ask) > self.at {
            return Step::Nothing;
        }
        let minutes = self.script.modes[held.mode].harvest;
        if let Some(end) = self.down_during(p, self.at, self.at + minutes) {
            return self.later(p, end);
        }
        // The next run planned here does not wait for that.
        let next = self.stands[p].queue.front().and_then(|&job| self.script.jobs[job].load_from);
        let aside = next.map_or(held.aside, |load| held.aside.min(load - minutes));
        let planned = held.lost.unwrap_or(held.ask.max(held.ready));
        let Some(who) = self.somebody(held.harvester, planned, aside, minutes) else { return Step::Waits };
        let done = Done { from: self.at, to: self.at + minutes, who };
        self.work(p, done);
        let mut cause = held.cause;
        if cause == Cause::None && self.at > held.ask {
            cause = if held.ready > held.ask { Cause::Slow(held.mode) } else { Cause::Crew };
        }
        if cause != Cause::None {
            self.stands[p].cause = cause;
        }
        if lost.is_some() {
            self.end_stay(p, held, None, done);
            return Step::Begun;
        }
        let good = self.script.modes[held.mode].yields.iter().map(|&(part, copies)| {
            let good = self.luck.good(part, copies);
            self.lived.rejected += copies - good;
            (part, good, copies)
        });
        let good: Vec<(usize, i64, i64)> = good.collect();
        self.end_stay(p, held, Some((&good, cause)), done);
        Step::Begun
    }

    /// A plate is off its printer: its copies are counted, or it is only gone.
    pub(super) fn end_stay(&mut self, p: usize, held: Held, good: Option<Harvested<'_>>, done: Done) {
        self.stands[p].held = None;
        if let From::Job(job) = held.from {
            self.begun.harvest[job] = true;
        }
        if self.keep {
            let stay = match held.from {
                From::Job(job) => self.stay_of_job[job],
                From::Again(at) => self.stay_of_again[at],
                From::Stock => return,
            };
            self.lived.stays[stay].harvest = Some(done);
        }
        if let Some((good, cause)) = good {
            self.count(held, good, done.to, cause);
        }
    }

    /// Takes in a run's copies and sees to what is missing.
    pub(super) fn count(&mut self, held: Held, good: &[(usize, i64, i64)], harvested: Min, cause: Cause) {
        let script = self.script;
        let promised: &[(usize, i64)] = if let From::Job(job) = held.from { &script.jobs[job].gives } else { &[] };
        let short = self.supply.take(Lots { from: held.from, loaded: held.loaded, harvested, good, promised, cause });
        for &(part, _, _) in good {
            let usable = harvested + script.problem.finish[part];
            // Whoever is still waiting looks again when they are usable.
            for &slot in &script.slots_of[part] {
                let order = script.slots[slot].order;
                if self.lived.ready[order].is_none() {
                    self.push((usable, Event::Order(order)));
                    if short {
                        self.push((self.at, Event::Order(order)));
                    }
                }
            }
        }
        if short {
            let lost = good.iter().all(|g| g.1 == 0);
            for &(part, here, copies) in good {
                let cause = match cause {
                    Cause::Broke(_) | Cause::Failed(_) => cause,
                    _ if here < copies => Cause::Rejected(part),
                    other => other,
                };
                self.make_good(part, lost.then_some(held.mode), cause, false);
            }
        }
    }
}
