//! A complete search for tiny instances. (Story to come.)

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
use goal::{Goal, total_lateness};
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
    if least_idle {
        return nothing;
    }
    Search::new(&facts, incumbent, node_limit, stop).run()
}

struct Search<'f, 'a, 's> {
    facts: &'f Facts<'a>,
    budget: Budget<'s>,
    /// Lateness and makespan of the best plan known.
    known: Option<(i64, i64)>,
    best: Option<Schedule>,
    late_bound: i64,
    /// Good prices from before.
    tags: Option<Tags>,
}

impl<'f, 'a, 's> Search<'f, 'a, 's> {
    fn new(facts: &'f Facts<'a>, incumbent: Option<Merit>, limit: u64, stop: &'s dyn Fn() -> bool) -> Self {
        Search {
            facts,
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
        let anything = i64::MAX / 1_000_000;
        let mut width = 0;
        if self.known.is_none() {
            self.pass(self.late_bound, Some(horizon), WIDTHS[0]);
        }
        loop {
            let (late, makespan) = match self.known {
                None => (anything, None),
                Some((late, _)) if late > self.late_bound => (late - 1, None),
                Some((late, value)) => (late, Some((value - 1).min(i64::from(horizon)) as Min)),
            };
            if makespan.is_some_and(|m| m < 0) {
                return true;
            }
            let before = self.known;
            let (complete, stopped) = self.pass(late, makespan, WIDTHS[width]);
            if stopped {
                return false;
            }
            match (complete, makespan) {
                (true, Some(_)) => return true,
                (true, None) => match self.known {
                    None => return true,
                    Some((late, _)) => {
                        self.late_bound = late;
                        width = 0;
                    }
                },
                (false, _) if self.known == before => width += 1,
                (false, _) => {}
            }
        }
    }

    /// Looks for something better within limits. Returns whether all was searched, and whether the search was cut off.
    fn pass(&mut self, late: i64, makespan: Option<Min>, width: usize) -> (bool, bool) {
        let goal = Goal::new(self.facts, late, makespan);
        let rounds =
            std::env::var("ROUNDS").ok().and_then(|r| r.parse().ok()).unwrap_or(if width > 1000 { 60 } else { 25 });
        let Some(mut bounds) = self.bounds(&goal, rounds) else { return (true, false) };
        let outcome = pass::run(self.facts, &goal, &mut bounds, width, &mut self.budget);
        if let Some(found) = outcome.best {
            let merit = found.merit(self.facts.problem, false);
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
        let state = self.start();
        if !bounds.floor(self.facts, goal, &state, &mut Floor::default()) {
            return None;
        }
        let (cover, table) = (&bounds.cover, &bounds.table);
        let found = master::search(self.facts, cover, table, &state, self.tags.as_ref(), rounds);
        if let Some(prices) = &found {
            self.tags = Some(prices.tags.clone());
        }
        bounds.prices.extend(found);
        (bounds.slack(self.facts, &state, &mut Vec::new()) >= 0).then_some(bounds)
    }

    /// The room at the start, with as much stock given out as can be: no state of the search needs less.
    fn start(&self) -> State {
        let mut state = State::start(self.facts);
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

    /// The least makespan that prices do not rule out for plans no later past due than the best one.
    fn root_bound(&mut self) -> i64 {
        let horizon = self.facts.problem.horizon;
        let (late, value) = self.known.unwrap_or((i64::MAX / 1_000_000, i64::from(horizon)));
        let (mut no, mut may) = (-1, value.clamp(0, i64::from(horizon)) as Min);
        while no + 1 < may {
            let middle = no + (may - no) / 2;
            let goal = Goal::new(self.facts, late, Some(middle));
            if self.bounds(&goal, 10).is_none() { no = middle } else { may = middle }
        }
        i64::from(may)
    }
}
