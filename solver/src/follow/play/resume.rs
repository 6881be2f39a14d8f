//! A life that goes on from what has happened.
//!
//! The past is taken in as it was: each run loaded stands on its printer or has been taken off it, its copies counted or
//! lost. What the plan has under way at the moment (a load, a harvest or a box that began before and ends after it) is
//! taken to be under way, if the room as the log leaves it allows that. Boxes that the plan has packed by then count as
//! packed if their parts were there and their packer was. Everything else of the plan that has not happened is still to be done.

use super::{Event, Held, Luck, NOWHERE, Player, Step};
use crate::follow::script::Script;
use crate::follow::supply::{Cause, From};
use crate::follow::trace::{Done, Packed, Stay};
use crate::problem::{BEFORE_START, Min};

/// Good copies by part.
pub type Counted = Vec<(usize, i64)>;

/// What has happened to a run of the plan.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fate {
    /// When its load was done.
    pub loaded: Option<Min>,
    /// When it was taken off its printer, and the good copies of each part; no copies where it failed.
    pub ended: Option<(Min, Option<Counted>)>,
}

/// What has happened until a minute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Past {
    /// The minute.
    pub at: Min,
    /// By run of the plan.
    pub fates: Vec<Fate>,
}

impl<'s, L: Luck> Player<'s, L> {
    /// A life that goes on from the past, with everything done kept. What prints at that moment is left to no luck.
    pub fn resume(script: &'s Script<'s>, past: &Past, luck: L) -> Player<'s, L> {
        let mut player = Player::unsettled(script, luck, true);
        player.at = past.at;
        player.leave_open();
        for stand in &mut player.stands {
            stand.queue.retain(|&job| past.fates[job].loaded.is_none() && script.jobs[job].load_from.is_some());
        }
        let mut holds: Vec<Option<(Min, usize)>> = vec![None; script.printers.len()];
        let mut ends: Vec<(Min, usize)> = Vec::new();
        for (job, fate) in past.fates.iter().enumerate() {
            let (asked, mode) = (&script.jobs[job], &script.modes[script.jobs[job].mode]);
            let print_from = match (fate.loaded, asked.load_from) {
                (Some(loaded), _) => loaded,
                (None, None) => BEFORE_START,
                (None, Some(_)) => continue,
            };
            player.begun.load[job] = true;
            let last = &mut holds[asked.printer];
            if last.is_none_or(|(before, _)| before <= print_from) {
                *last = Some((print_from, job));
            }
            let load = asked.load_from.map(|from| {
                let minutes = asked.ready - mode.to_ready() - from;
                Done { from: print_from - minutes, to: print_from, who: asked.loader }
            });
            let ready = if fate.loaded.is_some() { print_from + mode.to_ready() } else { asked.ready };
            player.stay_of_job[job] = player.lived.stays.len();
            let harvest = fate.ended.as_ref().map(|(end, good)| {
                ends.push((*end, job));
                player.begun.harvest[job] = true;
                let minutes = if good.is_some() { mode.harvest } else { 0 };
                Done { from: end - minutes, to: *end, who: asked.harvester }
            });
            let (job, printer, mode) = (Some(job), asked.printer, asked.mode);
            player.lived.stays.push(Stay { job, printer, mode, load, ready, harvest });
        }
        ends.sort_unstable();
        for (end, job) in ends {
            player.count_past(past, job, end);
        }
        for (p, last) in holds.into_iter().enumerate() {
            if let Some((_, job)) = last {
                player.stands[p].material = Some(script.modes[script.jobs[job].mode].material);
                if past.fates[job].ended.is_none() {
                    player.stand_there(p, job);
                }
            }
        }
        player.carry_over(past.at);
        player.at = past.at;
        player.close_what_waits();
        player
    }

    fn held_of(&self, job: usize, ready: Min) -> Held {
        let asked = &self.script.jobs[job];
        let load = self.lived.stays[self.stay_of_job[job]].load;
        Held {
            from: From::Job(job),
            mode: asked.mode,
            loaded: load.map_or(BEFORE_START, |load| load.from),
            ready,
            lost: None,
            ask: asked.harvest_from,
            harvester: asked.harvester,
            aside: Min::MIN,
            cause: Cause::None,
            told: false,
        }
    }

    fn count_past(&mut self, past: &Past, job: usize, end: Min) {
        let script = self.script;
        let mode = script.jobs[job].mode;
        let Some((_, good)) = &past.fates[job].ended else { return };
        let of = |&(part, copies): &(usize, i64)| {
            let good = good.as_ref().map_or(0, |good| good.iter().find(|g| g.0 == part).map_or(copies, |g| g.1));
            (part, good, copies)
        };
        let counts: Vec<(usize, i64, i64)> = script.modes[mode].yields.iter().map(of).collect();
        let cause = if good.is_none() { Cause::Failed(mode) } else { Cause::None };
        let held = self.held_of(job, end);
        self.count(held, &counts, end, cause);
    }

    fn stand_there(&mut self, p: usize, job: usize) {
        let stay = self.lived.stays[self.stay_of_job[job]].clone();
        let held = self.held_of(job, stay.ready);
        let mode = &self.script.modes[held.mode];
        self.count_nights(stay.load.map_or(0, |load| load.to), stay.ready - mode.cool, 1);
        self.stands[p].held = Some(held);
        self.push((held.ready.max(held.ask), Event::Printer(p)));
    }

    /// Boxes packed before the moment, and tasks under way at it, in the order of their start.
    fn carry_over(&mut self, at: Min) {
        enum Open {
            Load(usize),
            Harvest(usize),
            Box(usize),
        }
        let script = self.script;
        let mut open: Vec<(Min, Open)> = Vec::new();
        for (job, asked) in script.jobs.iter().enumerate() {
            let mode = &script.modes[asked.mode];
            let over = |from: Min, to: Min| from < at && at < to;
            match asked.load_from {
                Some(from) if !self.begun.load[job] && over(from, asked.ready - mode.to_ready()) => {
                    open.push((from, Open::Load(job)));
                }
                _ => {}
            }
            if self.stay_of_job[job] != NOWHERE
                && !self.begun.harvest[job]
                && over(asked.harvest_from, asked.harvest_from + mode.harvest)
            {
                open.push((asked.harvest_from, Open::Harvest(job)));
            }
        }
        for order in &script.boxes_of {
            open.extend(
                order.iter().filter(|&&b| script.boxes[b].from < at).map(|&b| (script.boxes[b].from, Open::Box(b))),
            );
        }
        open.sort_by_key(|o| o.0);
        for (from, what) in open {
            self.at = from;
            match what {
                Open::Load(job) => {
                    let asked = &script.jobs[job];
                    let stand = &self.stands[asked.printer];
                    if stand.held.is_none() && stand.queue.front() == Some(&job) {
                        let harvest = (asked.harvest_from, asked.harvester);
                        let step = self.load(
                            asked.printer,
                            From::Job(job),
                            asked.mode,
                            (from, asked.loader, Min::MIN),
                            harvest,
                        );
                        if matches!(step, Step::Begun) {
                            self.stands[asked.printer].queue.pop_front();
                            self.begun.load[job] = true;
                        }
                    }
                }
                Open::Harvest(job) => {
                    let p = script.jobs[job].printer;
                    if let Some(held) = self.stands[p].held.filter(|held| held.from == From::Job(job)) {
                        let _ = self.try_harvest(p, held);
                    }
                }
                Open::Box(at_box) => self.carry_box(at_box, at),
            }
        }
    }

    fn carry_box(&mut self, at_box: usize, at: Min) {
        let packing = &self.script.boxes[at_box];
        self.see_first_lots();
        let after = self.script.problem.orders[packing.order].after;
        if after.is_some_and(|(first, _)| self.lived.ready[first].is_none()) {
            return;
        }
        let (next, last) = self.next_box[packing.order];
        let there = |(slot, upto): &(usize, i64)| self.supply.usable(*slot, packing.from) >= *upto;
        if self.script.boxes_of[packing.order].get(next) != Some(&at_box) || !packing.takes.iter().all(there) {
            return;
        }
        let to = packing.from + self.script.problem.pack_box;
        if to > at {
            let _ = self.try_box(packing.order);
        } else if self.crew.was_there(packing.packer, packing.from, to) {
            self.begun.pack[at_box] = true;
            self.next_box[packing.order] = (next + 1, last.max(to));
            self.supply.box_up(&packing.takes);
            let done = Done { from: packing.from, to, who: packing.packer };
            self.lived.packed.push(Packed { packing: at_box, done });
        }
    }
}
