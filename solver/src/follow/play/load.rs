//! Which run goes onto a printer next, and its load.

use super::{Held, Luck, Player, Step};
use crate::follow::LOOK_AHEAD;
use crate::follow::script::ANYBODY;
use crate::follow::supply::{Cause, From, NEVER};
use crate::follow::trace::Done;
use crate::problem::{Min, Mode};

impl<L: Luck> Player<'_, L> {
    pub(super) fn try_load(&mut self, p: usize) -> Step {
        let script = self.script;
        let next = self.stands[p].queue.front().copied();
        let due = next.map(|job| (job, script.jobs[job].load_from.unwrap_or(self.at)));
        let first = due.filter(|d| d.1 <= self.at).map(|d| script.jobs[d.0].rank);
        if !self.again.is_empty()
            && let Some(at) = self.again_for(p, due, first)
        {
            let step = self.load_again(p, at);
            if first.is_none() || !matches!(step, Step::Waits) {
                return step;
            }
        }
        match due {
            Some((first, from)) if from <= self.at => {
                let place = self.fitting(p);
                let job = self.stands[p].queue.get(place).copied().unwrap_or(first);
                let opens = self.supply.opens_for_job(job);
                if opens > self.at {
                    // While nobody knows when, whoever finds out wakes the printer.
                    return if opens == NEVER { Step::Nothing } else { self.later(p, opens) };
                }
                let asked = &script.jobs[job];
                let (load, harvest) = match place {
                    0 => ((from, asked.loader, Min::MIN), (asked.harvest_from, asked.harvester)),
                    _ => ((self.at, ANYBODY, Min::MIN), (self.at, ANYBODY)),
                };
                let step = self.load(p, From::Job(job), asked.mode, load, harvest);
                if matches!(step, Step::Begun) {
                    self.stands[p].queue.remove(place);
                    self.begun.load[job] = true;
                }
                step
            }
            Some((_, from)) => self.later(p, from),
            None => Step::Nothing,
        }
    }

    /// The place in a printer's list of the run to load now: the first, unless that one is late and the coming night or
    /// downtime keeps it out, or the shipment that it is for is not open; then the first that may go, of what the printer holds.
    pub(super) fn fitting(&self, p: usize) -> usize {
        let script = self.script;
        let stand = &self.stands[p];
        let open = |job: usize| self.supply.opens_for_job(job) <= self.at;
        let goes = |job: usize, swap: Min| {
            let mode = &script.modes[script.jobs[job].mode];
            self.kept_out(p, mode, self.at + mode.load + swap, false).is_none()
        };
        let Some(&first) = stand.queue.front() else { return 0 };
        let holds = |job: usize| stand.material.is_none_or(|held| held == script.modes[script.jobs[job].mode].material);
        let swap = if holds(first) { 0 } else { script.problem.changeover };
        let late = script.jobs[first].load_from.is_some_and(|from| from < self.at);
        if open(first) && (!late || goes(first, swap)) {
            return 0;
        }
        let others = stand.queue.iter().enumerate().skip(1).take(LOOK_AHEAD);
        let mut others = others.filter(|(_, job)| holds(**job) && open(**job) && goes(**job, 0));
        others.next().map_or(0, |(place, _)| place)
    }

    /// Minutes of a load, with the changeover where the printer holds another material.
    pub(super) fn to_load(&self, p: usize, mode: &Mode) -> Min {
        let swap = self.stands[p].material.is_some_and(|held| held != mode.material);
        mode.load + if swap { self.script.problem.changeover } else { 0 }
    }

    pub(super) fn load(
        &mut self,
        p: usize,
        from: From,
        mode: usize,
        (asked, loader, aside): (Min, usize, Min),
        (ask, harvester): (Min, usize),
    ) -> Step {
        let script = self.script;
        let m = &script.modes[mode];
        let minutes = self.to_load(p, m);
        let print_from = self.at + minutes;
        if let Some(end) = self.kept_out(p, m, print_from, self.at < aside) {
            return self.later(p, end);
        }
        let Some(who) = self.somebody(loader, asked, aside, minutes) else { return Step::Waits };
        let done = Done { from: self.at, to: print_from, who };
        self.work(p, done);
        let stand = &mut self.stands[p];
        let cause = match stand.cause {
            _ if self.at <= asked => Cause::None,
            Cause::None => Cause::Crew,
            known => known,
        };
        stand.cause = cause;
        let printing = self.luck.print(mode, p, m.print);
        let lost = printing.lost_after.map(|after| print_from + after);
        self.count_nights(print_from, lost.unwrap_or(print_from + m.print), 1);
        let mut held = Held {
            from,
            mode,
            loaded: self.at,
            ready: print_from + printing.minutes + m.cool,
            lost,
            ask,
            harvester,
            aside: Min::MIN,
            cause,
            told: false,
        };
        if let Some(lost) = lost {
            held.cause = self.lose(p, mode, lost, printing.repair);
            // Nobody notices before somebody is there.
            held.lost = Some(script.staffed.get(lost as usize).copied().unwrap_or(lost));
        }
        self.hold(p, held, Some(done));
        Step::Begun
    }

    /// Everything on the plate will be lost; and with the printer broken, it is under repair from then on.
    pub(super) fn lose(&mut self, p: usize, mode: usize, lost: Min, repair: Option<Min>) -> Cause {
        match repair {
            Some(minutes) => {
                self.lived.broken += 1;
                self.stands[p].broken_until = lost + minutes;
                Cause::Broke(p)
            }
            None => {
                self.lived.failed += 1;
                Cause::Failed(mode)
            }
        }
    }
}
