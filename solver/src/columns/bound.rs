//! The climb: from one makespan that prices exclude to the next, until none do.

use super::master::{Aim, Column};
use super::prices::{Prices, Rows};
use super::reach::{best_by_minute, tails};
use super::rounds::{Patience, Priced};
use crate::history::Scratch;
use crate::problem::{Min, Problem};
use crate::room::{Room, next_down};

/// A master whose share is this close to what the prices allow has said what it can; less will do at a makespan that is
/// only a step on the way down to the bound.
const CLOSE_ENOUGH: f64 = 5e-4;
const CLOSE_FROM_AFAR: f64 = 1e-2;

/// Minutes of a slot of operator time to begin with, the first that gives no more than so many rows.
const SLOTS: [Min; 3] = [30, 60, 120];
const MOST_ROWS: usize = 900;

/// With more columns than this a new master starts without those that had no weight.
const KEPT_COLUMNS: usize = 600;

/// Climbs with boxes, at most, and how far the bound has to move for another with marks of its own.
const PACKED_CLIMBS: usize = 4;
const MOVED: Min = 10;

/// What the climb found.
#[derive(Debug, Clone)]
pub struct Bound {
    /// No plan that keeps the deadlines is ready before this minute.
    pub makespan: Min,
    /// The prices that prove it.
    pub prices: Option<Prices>,
    /// The columns known, with how many printers follow each in the last fractional plan.
    pub columns: Vec<(Column, f64)>,
    /// Whether the climb ended because no prices exclude the bound.
    pub closed: bool,
    /// How many rounds it took.
    pub rounds: usize,
}

/// How long the climb may go on.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Most columns priced.
    pub rounds: usize,
    /// Slots are not made finer than this many minutes,
    pub finest: Min,
    /// nor coarser than this many.
    pub coarsest: Min,
}

/// The relaxation of an instance under deadlines for its shipments.
pub struct Relaxation<'p> {
    problem: &'p Problem<'p>,
    room: Room<'p>,
    down: Vec<Vec<Min>>,
    deadlines: Vec<Min>,
    rows: Rows,
}

/// Rounds of columns, so many up to so many days and fewer beyond, where each is dearer, as it is where one round takes
/// several passes.
pub fn rounds_for(rounds: usize, days: usize, until: Min, passes: usize) -> usize {
    rounds * days / (until as usize / 1440).max(days) / passes.max(1)
}

impl<'p> Relaxation<'p> {
    /// The relaxation with slots of so many minutes.
    pub fn new(problem: &'p Problem<'p>, deadlines: &[Min], slot: Min) -> Relaxation<'p> {
        Relaxation::unchained(problem, deadlines, slot).with_chains(problem.horizon)
    }

    /// The same with any number of printers completing a chain ([`super::chains`]).
    pub fn unchained(problem: &'p Problem<'p>, deadlines: &[Min], slot: Min) -> Relaxation<'p> {
        let deadlines: Vec<Min> = deadlines.iter().map(|&d| d.min(problem.horizon)).collect();
        Relaxation {
            problem,
            room: Room::new(problem),
            down: problem.classes.iter().map(|c| next_down(c, problem.horizon)).collect(),
            rows: Rows::new(problem, &deadlines, slot),
            deadlines,
        }
    }

    /// The relaxation with slots as fine as a master up to a makespan can carry, those that recur tied.
    pub fn recurring(problem: &'p Problem<'p>, deadlines: &[Min], until: Min) -> Relaxation<'p> {
        Relaxation::recurring_unchained(problem, deadlines, until).with_chains(until)
    }

    /// The same with any number of printers completing a chain.
    pub fn recurring_unchained(problem: &'p Problem<'p>, deadlines: &[Min], until: Min) -> Relaxation<'p> {
        let mut relaxation = Relaxation::unchained(problem, deadlines, SLOTS[0]).tied(until);
        for &slot in &SLOTS[1..] {
            if relaxation.rows.tied_rows(until) <= MOST_ROWS {
                break;
            }
            relaxation = Relaxation::unchained(problem, deadlines, slot).tied(until);
        }
        relaxation
    }

    fn with_chains(self, until: Min) -> Relaxation<'p> {
        Relaxation { rows: self.rows.with_chains(self.problem, until), ..self }
    }

    /// Minutes of its longest slot.
    pub fn slot(&self) -> Min {
        self.rows.slots.iter().map(|s| s.1 - s.0).max().unwrap_or(1)
    }

    /// So many rounds of columns, with the slots as they are.
    pub fn unrefined(&self, rounds: usize) -> Effort {
        Effort { rounds, finest: self.slot(), coarsest: self.slot() }
    }

    /// The instance.
    pub fn problem(&self) -> &'p Problem<'p> {
        self.problem
    }

    /// The empty room.
    pub fn room(&self) -> &Room<'p> {
        &self.room
    }

    /// The deadlines.
    pub fn deadlines(&self) -> &[Min] {
        &self.deadlines
    }

    /// The last of them.
    pub fn last_deadline(&self) -> Min {
        self.deadlines.iter().copied().max().unwrap_or(0)
    }

    /// By class, the next downtime from each minute.
    pub fn down(&self) -> &[Vec<Min>] {
        &self.down
    }

    /// The rows that are priced.
    pub fn rows(&self) -> &Rows {
        &self.rows
    }

    /// By makespan up to `until`, the most that all printers can be worth at these prices, with what operators and
    /// nights up to it take off them.
    pub fn worth_by(&self, prices: &Prices, until: Min) -> Vec<i64> {
        let problem = self.problem;
        let tariff = self.rows.tariff(problem, prices, &self.deadlines, 0);
        let tails = tails(problem);
        let mut worth = self.rows.worth_of_limits(problem, &self.room, prices);
        worth.truncate(until as usize + 1);
        for (class, down) in problem.classes.iter().zip(&self.down) {
            let best = best_by_minute(&self.room, class, down, &tariff, &tails, until);
            let printers = class.printers.len() as i64;
            worth.iter_mut().zip(best).for_each(|(worth, best)| *worth += printers * best);
        }
        worth
    }

    /// The first makespan up to `until` that the prices do not exclude; `until + 1` where they exclude all.
    pub fn first_not_excluded(&self, prices: &Prices, until: Min) -> Min {
        let needed = self.rows.worth_of_needs(self.problem, prices);
        // Both sides of the test only grow with the makespan.
        self.worth_by(prices, until).partition_point(|&possible| possible < needed) as Min
    }

    /// Climbs from `from` (a makespan known to be no more than the best) up to at most `until`, starting from known
    /// histories, in rounds of columns ([`super::rounds`]) at one target after another.
    pub fn climb(
        &self,
        from: Min,
        until: Min,
        known: &[Column],
        centre: Option<Prices>,
        effort: Effort,
        stop: &dyn Fn(Min) -> bool,
    ) -> Bound {
        let mut columns: Vec<Column> = known.to_vec();
        let mut found = Bound { makespan: from, prices: None, columns: Vec::new(), closed: false, rounds: 0 };
        let mut centre: Option<Prices> = centre;
        let mut rounds = 0;
        let mut scratch = Scratch::default();
        let mut target = until;
        while rounds < effort.rounds && !stop(found.makespan) {
            if columns.len() > KEPT_COLUMNS {
                // Old columns that nobody follows only slow the master down.
                let idle_until = columns.len() - KEPT_COLUMNS / 2;
                let mut at = 0;
                columns.retain(|_| {
                    at += 1;
                    at > idle_until || found.columns.get(at - 1).is_none_or(|c| c.1 > 1e-9)
                });
            }
            columns = columns.iter().map(|c| cut(c, target)).collect();
            let deadlines: Vec<Min> = self.deadlines.iter().map(|&d| d.min(target)).collect();
            let priced = Priced {
                problem: self.problem,
                room: &self.room,
                rows: &self.rows,
                deadlines: &deadlines,
                until: target,
                aim: Aim::Share,
            };
            let makespan = found.makespan;
            let close = if target > makespan { CLOSE_FROM_AFAR } else { CLOSE_ENOUGH };
            let patience = Patience {
                // Prices that exclude a makespan go on as long as they may exclude as much again.
                near: &|allowed, reached| allowed - reached < close.max(1.0 - allowed),
                rounds: effort.rounds - rounds,
                stop: &|| stop(makespan),
            };
            let agreed = priced.agree(&mut columns, centre, &patience, &mut scratch);
            rounds += agreed.rounds;
            centre = agreed.steady;
            if agreed.failed {
                break;
            }
            found.columns = columns.iter().cloned().zip(agreed.weights).collect();
            // The centre has bounded the share best: how far down does it exclude?
            let mut excluded = false;
            if let Some(prices) = centre.clone() {
                let first = self.first_not_excluded(&prices, until);
                if first > found.makespan || found.prices.is_none() {
                    found.makespan = found.makespan.max(first);
                    found.prices = Some(prices);
                }
                excluded = first > target;
            }
            if rounds < effort.rounds && target <= found.makespan && !excluded {
                found.closed = true;
                break;
            }
            target = found.makespan;
            if target > until {
                break;
            }
        }
        found.rounds = rounds;
        found
    }

    /// Climbs on from a bound with what late boxes take ([`super::packing`]), whose marks move along with it.
    pub fn climb_packed(&mut self, mut bound: Bound, until: Min, effort: Effort, stop: &dyn Fn(Min) -> bool) -> Bound {
        for _ in 0..PACKED_CLIMBS {
            let Some(prices) = bound.prices.as_ref().filter(|_| bound.makespan < until) else { break };
            let Some(same) = self.watch_packing(prices, bound.makespan) else { break };
            let before = bound.makespan;
            let columns: Vec<Column> = bound.columns.iter().filter(|c| c.1 > 1e-9).map(|c| c.0.clone()).collect();
            let next = self.climb(before, until, &columns, Some(same.clone()), effort, stop);
            let columns = if next.columns.is_empty() { bound.columns } else { next.columns };
            bound = Bound { prices: next.prices.or(Some(same)), columns, ..next };
            if bound.makespan < before + MOVED {
                break;
            }
        }
        bound
    }

    /// Climbs on from a bound with ever finer slots of operator time where that has a price; returns the better bound.
    pub fn refine(
        mut self,
        bound: &Bound,
        until: Min,
        columns: Vec<Column>,
        effort: Effort,
        stop: &dyn Fn(Min) -> bool,
    ) -> Min {
        let mut makespan = bound.makespan;
        let mut columns = columns;
        let Some(mut prices) = bound.prices.clone() else { return makespan };
        // Finer slots take no fewer rounds than coarser ones, and a climb that is cut short gains next to nothing.
        let (mut rounds, mut coarser) = (0, 1);
        while rounds + coarser <= effort.rounds && makespan < until && !stop(makespan) {
            let Some(same) = self.make_finer(&prices, effort.finest, effort.coarsest) else { break };
            let left = Effort { rounds: effort.rounds - rounds, ..effort };
            let next = self.climb(makespan, until, &columns, Some(same.clone()), left, stop);
            coarser = next.rounds.max(1);
            rounds += coarser;
            makespan = makespan.max(next.makespan);
            prices = next.prices.unwrap_or(same);
            columns = next.columns.into_iter().filter(|c| c.1 > 1e-9).map(|c| c.0).collect();
        }
        makespan
    }

    /// Makes slots finer where operator time has a price, and coarser where it has none; the same prices on them, or `None`
    /// where nothing changes.
    pub fn make_finer(&mut self, prices: &Prices, finest: Min, coarsest: Min) -> Option<Prices> {
        let (rows, same) = self.rows.refined(prices, finest, coarsest);
        let changes = rows.slots != self.rows.slots;
        if changes {
            self.rows = rows;
        }
        changes.then_some(same)
    }

    /// Adds what boxes take that are packed late, near a makespan; the same prices on all else, or `None` where nothing is
    /// packed.
    pub fn watch_packing(&mut self, prices: &Prices, makespan: Min) -> Option<Prices> {
        let (rows, same) = self.rows.with_packing(self.problem, prices, makespan);
        let packs = !rows.packing.marks.is_empty();
        if packs {
            self.rows = rows;
        }
        packs.then_some(same)
    }

    /// The same relaxation with only some shipments' needs: whatever they cannot do alone, they cannot do with others.
    pub fn only(mut self, orders: &[usize]) -> Relaxation<'p> {
        self.rows = self.rows.only(self.problem, &self.deadlines, orders);
        self
    }

    /// The same relaxation with operator time priced alike where it recurs, for makespans of months.
    pub fn tied(mut self, until: Min) -> Relaxation<'p> {
        self.rows = self.rows.tied(until);
        self
    }
}

/// The history with only the runs that are over by a minute.
fn cut(column: &Column, until: Min) -> Column {
    Column { class: column.class, legs: column.legs.iter().copied().filter(|l| l.harvest_to <= until).collect() }
}
