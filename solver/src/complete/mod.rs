//! A complete search for tiny instances: the best plan, and the proof that none is better.
//!
//! # What is searched
//!
//! The operators' tasks (loads, harvests, boxes) in order of their starts. A state is the room at one moment
//! ([`state`]); from it any task that can be next is put at its earliest ([`moves`]), and the moment moves on to its
//! start ([`apply`]). Only then can another task be put, never before it. Waiting is not a choice. That loses nothing:
//!
//! Take a best plan, its tasks in order of start, and put them one after another, each with the same people, as early as
//! they go, but not before the one put last. By induction none starts later than it did: what a printer or a part has
//! to wait for ends no later, and of the tasks under way at its old start none is under way that was not before, since
//! all of them began earlier then and now. Lateness and makespan only fall. What a task itself forbids (downtime, the
//! horizon, the longest printing in a night) may make its possible starts a broken set; the earliest possible one is
//! still no later than its old one. Four rules need more:
//!
//! - **Release.** A run moved before a release loses what it was for. So a load is also put at its earliest from each
//!   release on that matters to it (a *fence*).
//! - **Printers in a night.** A run moved to before a night may take a place there; moved earlier within one day it
//!   prints in fewer nights, not more, because no load ends inside a night. So where places are short the end of a
//!   night is a fence too.
//! - **Which team.** Operators who come and go together are one team. A task goes to the team that can start it first;
//!   any other team is of use only if it starts before that place would have ended, for a place that has ended is in
//!   nobody's way.
//! - **Changeover.** A run that gives nothing can still be worth it, because it pays the changeover early
//!   (`facts::carriers` says when). Such runs are branches of their own, and must be followed by one that gives.
//!
//! Parts are given out at the harvest ([`apply`]): every way of dealing them to the shipments is a branch, except that
//! nothing is held back from all, since what comes later is usable later.
//!
//! # What is left out
//!
//! From each state the best that can follow depends on the state alone, so each of these may be argued by itself: among
//! the best continuations take one whose starts add up to the least.
//!
//! - A task that comes in every plan (a harvest, a box) and can be done with before another starts goes first.
//! - A load that could have been done with before something that was preferred to it does not come next on its printer,
//!   up to the next fence (`Spot::skip`).
//! - Runs that the others make superfluous: a best plan with the fewest runs has none, and as states with equal keys
//!   have had equally many runs, the other cuts keep that number.
//! - Of two states that hold the same and still need the same, one that is no earlier in anything and no better in what
//!   it has come to ([`layers`]). States are kept by number of tasks, layer by layer, so that each is gone on from once
//!   and only if no other beats it.
//! - States from which nothing better can come, by what is on the printers and on the way ([`bounds`]) and by prices
//!   ([`prices`]), which come from a linear program over printer histories ([`master`]), for the whole and again for
//!   states in the midst of large layers.
//!
//! # Idle minutes
//!
//! A printer's idle minutes are those up to its last harvest in which it is up, less what it printed; no task moved
//! earlier adds any, so the order of starts serves here too. But a run that gives nothing may be worth it for printing
//! through a wait. So any run may be loaded as one that gives nothing, as long as another follows on its printer (the
//! last one on a printer only adds idle minutes), no run is superfluous, and of two states the one with fewer idle
//! minutes must have them whether its printers go on or not ([`layers`]).
//!
//! All this is about the plates in `Problem::modes`: those that some shipment needs, and those on printers at the start.
//!
//! # How it goes
//!
//! First the weighted lateness is lowered until it is proven, then the makespan or the idle minutes, each time asking for something better
//! than what is known ([`goal`]). A pass ([`pass`]) keeps a bounded number of states per layer; the last passes leave
//! none out, and what they do not find does not exist. All limits but the caller's `stop` are counts, so that the same
//! call has the same answer.

mod apply;
mod bounds;
mod cover;
mod facts;
mod follow;
mod goal;
mod layers;
mod leaf;
mod master;
mod moves;
mod pass;
mod prices;
mod state;
#[cfg(test)]
mod tests;
mod timetable;

use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use bounds::{Bounds, Floor};
use cover::Cover;
use facts::Facts;
use goal::{Aim, Goal, total_lateness};
use pass::Budget;
use prices::Tags;
use state::State;
use timetable::Timetable;

/// What the search found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The best plan, if one better than the incumbent was found.
    pub best: Option<Schedule>,
    /// Everything was searched: there is nothing better in weighted lateness and value than `best` or, where that is
    /// none, than the incumbent; where there is neither, no plan within the horizon exists.
    pub proven: bool,
    /// No plan has less weighted lateness, in thousandths.
    pub late_bound: i64,
    /// No plan that is no later past due than the best one has less makespan, or idle minutes.
    pub value_bound: i64,
    /// States looked at.
    pub nodes: u64,
}

/// How many states a layer keeps, pass after pass.
const WIDTHS: [usize; 4] = [20, 200, 2_000, usize::MAX];

/// More lateness than any plan has.
const ANYTHING: i64 = i64::MAX / 1_000_000;

/// Rounds of histories for the prices of a pass; half as many where a layer keeps no more than
const ROUNDS: usize = 60;
/// so many states.
const FEW: usize = 200;

/// Searches for the plan with the least weighted lateness and then the least makespan (`least_idle`: then the fewest
/// idle minutes), better than the incumbent, looking at no more than `node_limit` states and until `stop` says so.
pub fn search(
    problem: &Problem<'_>,
    least_idle: bool,
    incumbent: Option<Merit>,
    node_limit: u64,
    stop: &dyn Fn() -> bool,
) -> Found {
    let nothing = Found { best: None, proven: false, late_bound: 0, value_bound: 0, nodes: 0 };
    let Some(facts) = Facts::new(problem) else { return nothing };
    Search::new(&facts, least_idle, incumbent, node_limit, stop).run()
}

struct Search<'f, 'a, 's> {
    facts: &'f Facts<'a>,
    least_idle: bool,
    budget: Budget<'s>,
    /// Lateness and value of the best plan known.
    known: Option<(i64, i64)>,
    best: Option<Schedule>,
    late_bound: i64,
    /// Good prices from before.
    tags: Option<Tags>,
}

impl<'f, 'a, 's> Search<'f, 'a, 's> {
    fn new(
        facts: &'f Facts<'a>,
        least_idle: bool,
        incumbent: Option<Merit>,
        limit: u64,
        stop: &'s dyn Fn() -> bool,
    ) -> Self {
        Search {
            facts,
            least_idle,
            budget: Budget { nodes: 0, limit, stop },
            known: incumbent.map(|m| (m.late, m.value)),
            best: None,
            late_bound: total_lateness(facts, &vec![0; facts.problem.orders.len()]),
            tags: None,
        }
    }

    fn run(mut self) -> Found {
        let proven = self.solve();
        let (late, value) = self.known.unwrap_or((0, 0));
        let value_bound = if proven { value } else { self.root_bound() };
        let late_bound = if proven { late } else { self.late_bound };
        Found { best: self.best, proven, late_bound, value_bound, nodes: self.budget.nodes }
    }

    /// Whether the best plan known at the end is proven to be the best.
    fn solve(&mut self) -> bool {
        let horizon = self.facts.problem.horizon;
        let mut width = 0;
        if self.known.is_none() {
            self.pass(Aim { late: self.late_bound, makespan: Some(horizon), idle: None }, WIDTHS[0]);
        }
        loop {
            let (aim, last) = match self.known {
                None => (Aim { late: ANYTHING, makespan: None, idle: None }, false),
                Some((late, _)) if late > self.late_bound => {
                    (Aim { late: late - 1, makespan: None, idle: None }, false)
                }
                Some((_, value)) if value <= 0 => return true,
                Some((late, value)) => (self.aim(late, value - 1), true),
            };
            let before = self.known;
            let (complete, stopped) = self.pass(aim, WIDTHS[width]);
            if stopped {
                return false;
            }
            match (complete, self.known) {
                (true, None) => return true,
                (true, Some(_)) if last => return true,
                (true, Some((late, _))) => {
                    self.late_bound = late;
                    width = 0;
                }
                (false, known) if known == before => width += 1,
                (false, _) => {}
            }
        }
    }

    /// A plan no later past due than this, of no more than this value.
    fn aim(&self, late: i64, value: i64) -> Aim {
        match self.least_idle {
            true => Aim { late, makespan: None, idle: Some(value) },
            false => {
                let makespan = value.min(i64::from(self.facts.problem.horizon)) as Min;
                Aim { late, makespan: Some(makespan), idle: None }
            }
        }
    }

    /// Looks for something better within limits. Returns whether all was searched, and whether the search was cut off.
    fn pass(&mut self, aim: Aim, width: usize) -> (bool, bool) {
        let goal = Goal::new(self.facts, aim);
        let rounds = if width > FEW { ROUNDS } else { ROUNDS / 2 };
        if !Timetable::fits(self.facts, &goal) {
            return (false, true);
        }
        let Some(mut bounds) = self.bounds(&goal, rounds) else { return (true, false) };
        let outcome = pass::run(self.facts, &goal, &mut bounds, width, &mut self.budget);
        if let Some(found) = outcome.best {
            let merit = found.merit(self.facts.problem, self.least_idle);
            self.known = Some((merit.late, merit.value));
            self.best = Some(found);
        }
        (outcome.complete, outcome.stopped)
    }

    /// The bounds for a goal; none where they show at once that it cannot be reached.
    fn bounds(&mut self, goal: &Goal, rounds: usize) -> Option<Bounds> {
        if goal.latest(self.facts) < self.late_bound {
            return None;
        }
        let cover = Cover::new(self.facts, goal);
        let table = Timetable::new(self.facts, goal, &cover);
        let mut bounds = Bounds { cover, table, prices: Vec::new() };
        let state = self.start(goal.idle.is_some());
        if !bounds.floor(self.facts, goal, &state, &mut Floor::default()) {
            return None;
        }
        let (cover, table) = (&bounds.cover, &bounds.table);
        let found = master::search(self.facts, goal, cover, table, &state, self.tags.as_ref(), rounds);
        if let Some(prices) = &found {
            self.tags = Some(prices.tags.clone());
        }
        bounds.prices.extend(found);
        (bounds.slack(self.facts, goal, &state, &mut Vec::new()) >= 0).then_some(bounds)
    }

    /// The room at the start, with as much stock given out as can be: no state of the search needs less.
    fn start(&self, idle: bool) -> State {
        let mut state = State::start(self.facts, idle);
        for (part, pairs) in self.facts.pairs_of_part.iter().enumerate() {
            if let [only] = pairs[..] {
                let given = self.facts.problem.stock[part].min(i64::from(state.rest[only]));
                state.rest[only] -= given as i32;
            } else {
                for &p in pairs {
                    let given = self.facts.problem.stock[part].min(i64::from(state.rest[p]));
                    state.rest[p] -= given as i32;
                }
            }
        }
        state
    }

    /// The least value that prices do not rule out for plans no later past due than the best one.
    fn root_bound(&mut self) -> i64 {
        if self.known.is_none() && self.least_idle {
            return 0;
        }
        let (late, value) = self.known.unwrap_or((ANYTHING, i64::from(self.facts.problem.horizon)));
        let (mut no, mut may) = (-1, value.max(0));
        while no + 1 < may {
            let middle = no + (may - no) / 2;
            let goal = Goal::new(self.facts, self.aim(late, middle));
            let out = Timetable::fits(self.facts, &goal) && self.bounds(&goal, ROUNDS / 4).is_none();
            if out { no = middle } else { may = middle }
        }
        may
    }
}
