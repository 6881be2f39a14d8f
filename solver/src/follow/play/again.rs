//! What failed is made again: which runs are due anew, and where among the planned ones they may go.

use super::{Again, Event, Luck, Player, Step};
use crate::follow::script::ANYBODY;
use crate::follow::supply::{Cause, From};
use crate::problem::Min;

impl<L: Luck> Player<'_, L> {
    /// Plans runs for copies that nothing to come makes up for.
    pub(super) fn make_good(&mut self, part: usize, plate: Option<usize>, cause: Cause, certain: bool) -> bool {
        let script = self.script;
        let mut made = false;
        loop {
            let wanting = self.supply.wanting(part, certain);
            if wanting <= 0 {
                return made;
            }
            let makers = &script.makers[part];
            let copies = |mode: usize| script.modes[mode].yields.iter().find(|y| y.0 == part).map_or(1, |y| y.1);
            let cost = |mode: &usize| {
                (wanting.div_euclid(copies(*mode)) + i64::from(wanting % copies(*mode) > 0))
                    * i64::from(script.modes[*mode].print + script.modes[*mode].cool)
            };
            let mode = plate.filter(|mode| makers.contains(mode)).or_else(|| makers.iter().copied().min_by_key(cost));
            let Some(mode) = mode else { return made };
            self.supply.count_on(&script.modes[mode].yields);
            self.again.push(Again { mode, rank: self.supply.urgency(part), cause, since: self.at });
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

    /// The run to be made again that may go onto this printer now: into the time before its next planned load, in front
    /// of it where it is for a shipment due earlier, or behind them all.
    pub(super) fn again_for(&self, p: usize, next: Option<(usize, Min)>, due_rank: Option<usize>) -> Option<usize> {
        let script = self.script;
        let stand = &self.stands[p];
        let fits = |again: &Again| {
            let mode = &script.modes[again.mode];
            if mode.group.index() != script.printers[p].group {
                return false;
            }
            let Some((next_job, from)) = next else { return true };
            if self.manner.urgent && due_rank.is_some_and(|rank| again.rank < rank) {
                return true;
            }
            let same = stand.material.is_none_or(|held| held == mode.material);
            let swaps = if same { 0 } else { 2 * script.problem.changeover };
            let ready = self.at + mode.load + mode.to_ready();
            let harvest = script.staffed.get(ready as usize).copied().unwrap_or(Min::MAX / 4);
            harvest + mode.harvest + swaps - from <= script.slack[next_job] / 100 * self.manner.slack_percent
        };
        (0..self.again.len()).filter(|&a| fits(&self.again[a])).min_by_key(|&a| (self.again[a].rank, a))
    }

    pub(super) fn load_again(&mut self, p: usize, at: usize) -> Step {
        let again = self.again[at];
        let number = self.lived.again;
        let step = self.load(p, From::Again(number), again.mode, (again.since, ANYBODY), (self.at, ANYBODY));
        if matches!(step, Step::Begun) {
            self.again.remove(at);
            self.lived.again += 1;
            if let Some(held) = &mut self.stands[p].held {
                held.cause = again.cause;
            }
        }
        step
    }
}
