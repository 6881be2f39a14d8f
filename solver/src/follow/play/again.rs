//! What failed is made again: which runs are due anew, and where among the planned ones they may go.

use super::{Again, Event, Luck, Player, Step};
use crate::follow::script::ANYBODY;
use crate::follow::supply::{Cause, From, NEVER};
use crate::problem::Min;

const A_DAY: Min = 1440;

impl<L: Luck> Player<'_, L> {
    /// Plans runs for copies that nothing to come makes up for.
    pub(super) fn make_good(&mut self, part: usize, plate: Option<usize>, cause: Cause, certain: bool) -> bool {
        let script = self.script;
        let mut made = false;
        loop {
            let Some((wanting, order)) = self.supply.wanting(part, certain) else { return made };
            let makers = &script.makers[part];
            let copies = |mode: usize| script.modes[mode].yields.iter().find(|y| y.0 == part).map_or(1, |y| y.1);
            let cost = |mode: &usize| {
                (wanting.div_euclid(copies(*mode)) + i64::from(wanting % copies(*mode) > 0))
                    * i64::from(script.modes[*mode].print + script.modes[*mode].cool)
            };
            let mode = plate.filter(|mode| makers.contains(mode)).or_else(|| makers.iter().copied().min_by_key(cost));
            let Some(mode) = mode else { return made };
            let number = self.agains;
            self.agains += 1;
            self.supply.count_on(number, &script.modes[mode].yields, order, self.at);
            let (since, leisure) = (self.at, self.at_leisure(part, mode, order));
            self.again.push(Again { number, mode, order, cause, since, leisure, certain });
            made = true;
            for p in 0..self.stands.len() {
                let stand = &self.stands[p];
                let until = stand.busy_until;
                if stand.held.is_none() && script.printers[p].group == script.modes[mode].group.index() {
                    self.push((until, Event::Printer(p)));
                }
            }
        }
    }

    /// When nothing more happens and something is still missing: what was counted on does not come.
    pub(super) fn last_resort(&mut self) -> bool {
        self.at <= self.script.problem.horizon
            && (0..self.script.slots_of.len()).filter(|&part| self.make_good(part, None, Cause::None, true)).count() > 0
    }

    /// Until when a run made again can be loaded with a day left before its shipment is due.
    fn at_leisure(&self, part: usize, mode: usize, order: usize) -> Min {
        let mode = &self.script.modes[mode];
        let takes = mode.load + mode.to_ready() + mode.harvest + self.script.problem.finish[part];
        self.script.deadline[order].saturating_sub(takes + A_DAY)
    }

    /// Until when a run made again stands aside.
    fn aside(&self, again: &Again) -> Min {
        if self.manner.aside { again.leisure } else { Min::MIN }
    }

    /// The run to be made again that may go onto this printer now: into the time before its next planned load, in front
    /// of it where it is for a shipment due earlier, or behind them all.
    pub(super) fn again_for(&mut self, p: usize, next: Option<(usize, Min)>, due_rank: Option<usize>) -> Option<usize> {
        let script = self.script;
        let stand = &self.stands[p];
        let fits = |again: &Again| {
            let mode = &script.modes[again.mode];
            if mode.group.index() != script.printers[p].group {
                return false;
            }
            if !self.supply.is_open(again.order, self.at) {
                return false;
            }
            let Some((next_job, from)) = next else { return true };
            // What is planned next may have to wait itself.
            let opens = self.supply.opens_for_job(next_job);
            let from = from.max(opens);
            if opens > self.at && from == NEVER {
                return true;
            }
            if self.manner.urgent && due_rank.is_some_and(|rank| script.rank[again.order] < rank) {
                return true;
            }
            let same = stand.material.is_none_or(|held| held == mode.material);
            let back = if same { 0 } else { script.problem.changeover };
            let ready = self.at + self.to_load(p, mode) + mode.to_ready();
            let harvest = match self.at < self.aside(again) {
                true => self.crew.unplanned(ready, mode.harvest, &self.begun),
                false => script.staffed.get(ready as usize).copied(),
            };
            let harvest = harvest.unwrap_or(Min::MAX / 4);
            harvest + mode.harvest + back - from <= script.slack[next_job] / 100 * self.manner.slack_percent
        };
        let mut fitting: Vec<usize> = (0..self.again.len()).filter(|&a| fits(&self.again[a])).collect();
        fitting.sort_by_key(|&a| (script.rank[self.again[a].order], a));
        for at in fitting {
            let again = self.again[at];
            let mode = &script.modes[again.mode];
            let print_from = self.at + self.to_load(p, mode);
            match self.kept_out(p, mode, print_from, self.at < self.aside(&again)) {
                None => return Some(at),
                Some(end) => self.push((end, Event::Printer(p))),
            }
        }
        None
    }

    pub(super) fn load_again(&mut self, p: usize, at: usize) -> Step {
        let again = self.again[at];
        if self.at > again.since && !self.supply.still_wanted(again.number, again.certain) {
            self.again.remove(at);
            self.push((self.at, Event::Printer(p)));
            return Step::Nothing;
        }
        let (number, aside) = (self.lived.again, self.aside(&again));
        let step = self.load(p, From::Again(number), again.mode, (again.since, ANYBODY, aside), (self.at, ANYBODY));
        if matches!(step, Step::Begun) {
            self.again.remove(at);
            self.supply.loaded_again(again.number, From::Again(number), self.at);
            self.lived.again += 1;
            if let Some(held) = &mut self.stands[p].held {
                held.cause = again.cause;
                held.aside = aside.saturating_add(self.script.modes[again.mode].to_ready());
            }
        }
        step
    }
}
