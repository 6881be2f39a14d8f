//! Whether anything good can still come of a state.

use super::cover::Cover;
use super::facts::{Facts, NEVER};
use super::goal::{Goal, lateness};
use super::prices::Prices;
use super::state::{Holds, State};
use super::timetable::Timetable;
use crate::problem::Min;

/// What is computed once per pass.
pub(super) struct Bounds {
    pub cover: Cover,
    pub table: Timetable,
    pub prices: Vec<Prices>,
}

/// The least that a state can still come to.
#[derive(Debug, Default)]
pub(super) struct Floor {
    /// By order: it is not ready before.
    pub ready: Vec<Min>,
    /// Nor is everything.
    pub all: Min,
    /// There are no fewer idle minutes.
    pub idle: i64,
}

impl Bounds {
    /// The least that a state can come to; none where nothing within the goal's limits can.
    pub(super) fn floor(&self, facts: &Facts<'_>, goal: &Goal, state: &State, floor: &mut Floor) -> bool {
        floor.ready.clone_from(&state.ready);
        floor.all = 0;
        floor.idle = 0;
        let problem = facts.problem;
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let Holds::Run { mode, epoch, carrier } = Holds::of(spot.code) else {
                floor.idle += i64::from(spot.idle);
                continue;
            };
            let end = self.table.harvested(class, mode, spot.time);
            if goal.idle.is_some() {
                if end > goal.last {
                    return false;
                }
                floor.idle += i64::from(facts.up(class, end) - spot.printed);
            }
            if epoch == 0 {
                continue;
            }
            let by = self.table.plate(class, mode).map_or(-1, |p| self.table.plates[class][p].by);
            if end > if carrier { goal.last } else { by } {
                return false;
            }
            if !carrier {
                let yields = &problem.modes[mode].yields;
                let finish = yields.iter().map(|y| problem.finish[y.0]).min().unwrap_or(0);
                floor.all = floor.all.max(end + finish);
            }
        }
        for (p, pair) in facts.pairs.iter().enumerate().filter(|(p, _)| state.rest[*p] > 0) {
            let at = self.soonest(facts, state, p) + problem.finish[pair.part];
            if at > goal.usable_by[p] {
                return false;
            }
            floor.ready[pair.order] = floor.ready[pair.order].max(at);
        }
        for (line, &packed) in facts.lines.iter().zip(&state.packed) {
            if packed < line.count {
                let at = floor.ready[line.order].max(state.now + problem.pack_box);
                floor.ready[line.order] = at;
            }
        }
        floor.all = floor.ready.iter().copied().max().unwrap_or(0).max(floor.all);
        goal.idle.is_none_or(|most| floor.idle <= most)
            && floor.ready.iter().zip(&goal.ready_by).all(|(at, by)| at <= by)
            && (goal.on_time || late(facts, &floor.ready) <= goal.late)
    }

    /// The earliest end of a harvest that brings one more part to a pair.
    fn soonest(&self, facts: &Facts<'_>, state: &State, pair: usize) -> Min {
        let p = &facts.pairs[pair];
        let modes = &facts.problem.modes;
        let makes = |mode: usize| modes[mode].yields.iter().any(|y| y.0 == p.part && y.1 > 0);
        let mut soonest = NEVER;
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let on = Holds::of(spot.code);
            if let Holds::Run { mode, epoch, carrier: false } = on
                && facts.serves[epoch][p.order]
                && makes(mode)
            {
                soonest = soonest.min(self.table.harvested(class, mode, spot.time));
            }
            let harvest = match on {
                Holds::Run { mode, .. } => modes[mode].harvest,
                Holds::Nothing { .. } => 0,
            };
            let free = (spot.time + harvest).max(facts.problem.orders[p.order].release);
            soonest = soonest.min(self.table.brought[class][pair].get(free as usize).copied().unwrap_or(NEVER));
        }
        soonest
    }

    /// How much room the prices leave; below zero, none.
    pub(super) fn slack(&self, facts: &Facts<'_>, goal: &Goal, state: &State, open: &mut Vec<i64>) -> i64 {
        let mut least = i64::MAX;
        self.cover.open(facts, &self.table, state, open);
        for prices in &self.prices {
            least = least.min(prices.slack(facts, goal, &self.table, state, open));
            if least < 0 {
                break;
            }
        }
        least
    }
}

fn late(facts: &Facts<'_>, ready: &[Min]) -> i64 {
    facts.problem.orders.iter().zip(ready).map(|(o, &at)| lateness(o, at)).sum()
}
