//! The search where idle minutes count: copies at the relaxation's prices, and more wanted than needed.
//!
//! A plan with few idle minutes prints through its nights, with long plates that nobody needs where there is no other, and
//! makes what is needed in the time that this leaves. Every plate of the needed kind that finds room elsewhere frees a
//! night for a long one: it has a price in idle minutes, and the relaxation of the bound ([`crate::columns::idle`]) knows
//! it. At a far dearer price, as a penalty, no move may lose a plate that another printer could make up for later, and
//! everything is stuck; at that price a move may.
//!
//! So the search goes in *paces*. In each of them a little more is wanted than is needed, so that one plate more is worth
//! something as long as one less costs something, and moves are judged by idle minutes and copies together, copy by copy.
//! After each pace the price of a part moves a little, up where it is short and down where there is more than is needed,
//! as multipliers of a relaxed constraint do; and less worsening is tolerated than before. In the end what is needed is
//! asked for, at prices that no longer give way.

use super::Search;
use crate::problem::Min;

/// Paces, and the part of the work they get, in tenths; the rest is for what is needed in the end.
const PACES: u64 = 40;
const PACED: u64 = 8;
/// The part of all idle minutes and copies by which a move may raise them, at most and in the beginning.
const TOLERANCE: f64 = 0.0003;
/// How far prices vary from one path to the next, in thousandths, and the share of moves that push.
const VARIES: i64 = 20;
const PUSHES: f64 = 0.2;
/// Of so many windows one is the whole time and two reach to its end.
const WINDOWS: i32 = 16;
/// A price moves by so much where the copies are this part of the need away from it, and no more where they are further.
const MOVES: f64 = 0.006;
const AWAY: f64 = 0.01;
/// Prices do not fall below this part of those at first, in hundredths.
const LOWEST: i64 = 30;
/// What the prices of the end are to those of the last pace, and to the printer minutes of what is still missing then.
const FIRM: f64 = 1.3;
const DEAR: i64 = 20;

impl Search<'_> {
    /// The same search, counting idle minutes too; its prices are in thousandths of an idle minute.
    pub fn counting_idle(mut self) -> Self {
        self.count_idle = true;
        self.tolerance = TOLERANCE;
        self.idle = (0..self.floor.machines.len()).map(|m| self.idle_of(m)).collect();
        self
    }

    /// Pace after pace, and what is needed in the end; `dear` prices what is missing even then.
    pub fn settle_in_paces(&mut self, deadlines: &[Min], work: u64, dear: &[i64], stop: &dyn Fn() -> bool) {
        let last = deadlines.iter().copied().max().unwrap_or(0);
        let first = self.price.clone();
        (self.varies, self.pushes, self.windows) = (VARIES, PUSHES, WINDOWS);
        self.aim(deadlines);
        let extra = self.floor.demand.want_more();
        for pace in 0..PACES {
            let left = (PACES - pace) as f64 / PACES as f64;
            self.tolerance = TOLERANCE * left * left;
            self.settle(last, work * PACED / 10 / PACES, stop);
            for part in (0..first.len()).filter(|&p| first[p] > 0) {
                let (missing, need) = (self.floor.demand.missing(part), self.floor.demand.needed(part) - extra[part]);
                let over = (extra[part] - missing) as f64 / need.max(1) as f64;
                let moved = self.price[part] as f64 * (1.0 - MOVES * (over / AWAY).clamp(-1.0, 1.0));
                self.price[part] = (moved as i64).max(first[part] * LOWEST / 100).max(1);
            }
        }
        self.aim(deadlines);
        self.tolerance = TOLERANCE / PACES as f64;
        self.price.iter_mut().for_each(|p| *p = (*p as f64 * FIRM) as i64);
        self.settle(last, work / 10, stop);
        self.settle_dear(deadlines, work / 10, dear, stop);
    }

    /// What is needed before everything else, then fewer idle minutes.
    pub fn settle_dear(&mut self, deadlines: &[Min], work: u64, dear: &[i64], stop: &dyn Fn() -> bool) {
        let last = deadlines.iter().copied().max().unwrap_or(0);
        self.aim(deadlines);
        self.price = dear.iter().map(|price| price * DEAR).collect();
        self.settle(last, work, stop);
    }

    /// A printer's idle minutes.
    pub(super) fn idle_of(&self, machine: usize) -> i64 {
        let m = &self.floor.machines[machine];
        let Some(end) = m.runs.last().map(|r| r.leg.harvest_to) else { return 0 };
        let problem = self.floor.problem;
        let printed: Min =
            m.runs.iter().map(|r| problem.printed(m.class, r.leg.mode, r.leg.load_from.is_some(), r.leg.ready)).sum();
        let down: Min = problem.classes[m.class].downtime.iter().map(|d| (d.1.min(end) - d.0).max(0)).sum();
        i64::from(end - printed - down)
    }

    pub(super) fn recount_idle(&mut self, machine: usize) {
        if self.count_idle {
            self.idle[machine] = self.idle_of(machine);
        }
    }
}
