//! One pass: layer after layer, each layer the states of one more task, at most so many of them.
//!
//! A pass that never had to leave a state out has seen everything: what it did not find is not there.

use super::apply::{Split, apply, give_stock, harvest_splits, stock_splits};
use super::bounds::{Bounds, Floor};
use super::facts::Facts;
use super::goal::{Goal, total_lateness};
use super::layers::{Layer, Step};
use super::leaf::{Done, schedule};
use super::master;
use super::moves::{Move, Moves, Task};
use super::state::{Holds, Spot, State};
use crate::schedule::Schedule;

/// A layer of so many states is worth prices of its own,
const LARGE: usize = 400;
/// found at most so many times,
const TRIES: usize = 6;
/// in so many rounds;
const ROUNDS: usize = 25;
/// and so many prices are kept.
const KEPT: usize = 8;

/// So many states later it is asked again whether to stop,
const ASK: u64 = 512;
/// and holding a state against so many others takes as long as one.
const MEET: u64 = 64;

/// How a pass ended.
pub(super) struct Outcome {
    /// The best plan within the goal, if one was found.
    pub best: Option<Schedule>,
    /// Nothing was left out.
    pub complete: bool,
    /// The search was told to end, or ran out of nodes.
    pub stopped: bool,
}

/// What a pass may use up.
pub(super) struct Budget<'s> {
    pub nodes: u64,
    pub limit: u64,
    pub stop: &'s dyn Fn() -> bool,
}

impl Budget<'_> {
    /// Counts a state, or the time of several; false where the search is to end.
    fn count(&mut self, states: u64) -> bool {
        let asked = self.nodes / ASK;
        self.nodes += states;
        self.nodes < self.limit && (asked == self.nodes / ASK || !(self.stop)())
    }
}

/// A plan found: where it ends, and what it comes to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Reached {
    late: i64,
    /// The makespan, or the idle minutes where these count.
    value: i64,
}

struct Pass<'p, 'a> {
    facts: &'p Facts<'a>,
    goal: &'p Goal,
    bounds: &'p mut Bounds,
    layers: Vec<Layer>,
    /// Starting states, by how the stock is given out.
    roots: Vec<(State, Split)>,
    best: Option<(Reached, Schedule)>,
    moves: Moves,
    inner: Moves,
    floor: Floor,
    open: Vec<i64>,
}

/// Searches for plans within the goal.
pub(super) fn run(
    facts: &Facts<'_>,
    goal: &Goal,
    bounds: &mut Bounds,
    width: usize,
    budget: &mut Budget<'_>,
) -> Outcome {
    let mut pass = Pass {
        facts,
        goal,
        bounds,
        layers: Vec::new(),
        roots: Vec::new(),
        best: None,
        moves: Moves::default(),
        inner: Moves::default(),
        floor: Floor::default(),
        open: Vec::new(),
    };
    let (complete, stopped) = pass.layers(width, budget);
    Outcome { best: pass.best.map(|b| b.1), complete, stopped }
}

impl Pass<'_, '_> {
    fn layers(&mut self, width: usize, budget: &mut Budget<'_>) -> (bool, bool) {
        let mut layer = self.first();
        let mut complete = true;
        let (mut state, mut child) = (State::default(), State::default());
        while layer.alive > 0 {
            let (mut chosen, cut) = layer.chosen(width);
            complete &= !cut;
            if !self.reprice(&layer, &mut chosen, budget) {
                return (false, true);
            }
            let mut next = Layer::default();
            let depth = self.layers.len();
            self.layers.push(std::mem::take(&mut layer));
            for index in chosen {
                self.layers[depth].read(self.facts, index, &mut state);
                let mut moves = std::mem::take(&mut self.moves);
                moves.find(self.facts, self.goal, &state);
                for done in &moves.all {
                    for (s, split) in harvest_splits(self.facts, self.goal, &state, done).iter().enumerate() {
                        child.copy_from(&state);
                        apply(self.facts, self.goal, &mut child, done, split, &moves, None);
                        let step = Step { parent: index, done: *done, split: s as u32 };
                        let met = self.visit(&mut child, &mut next, step);
                        if !budget.count(1 + met / MEET) {
                            return (false, true);
                        }
                    }
                }
                self.moves = moves;
            }
            self.layers[depth].shed();
            layer = next;
        }
        (complete, false)
    }

    /// Prices that were found for the start of it all leave much room later. Where a layer is large, prices are found
    /// for a state in its midst, as long as that rules out many of the others too. False where
    /// the search is to end.
    fn reprice(&mut self, layer: &Layer, chosen: &mut Vec<u32>, budget: &mut Budget<'_>) -> bool {
        let mut state = State::default();
        for _ in 0..TRIES {
            if chosen.len() < LARGE {
                break;
            }
            if !budget.count(ASK) {
                return false;
            }
            layer.read(self.facts, chosen[chosen.len() / 2], &mut state);
            let known = self.bounds.prices.last().map(|p| &p.tags);
            let (cover, table) = (&self.bounds.cover, &self.bounds.table);
            let Some(prices) = master::search(self.facts, self.goal, cover, table, &state, known, ROUNDS) else {
                break;
            };
            let before = chosen.len();
            chosen.retain(|&index| {
                layer.read(self.facts, index, &mut state);
                cover.open(self.facts, table, &state, &mut self.open);
                prices.slack(self.facts, self.goal, table, &state, &self.open) >= 0
            });
            if self.bounds.prices.len() > KEPT {
                self.bounds.prices.remove(1);
            }
            self.bounds.prices.push(prices);
            if chosen.len() * 4 > before * 3 {
                break;
            }
        }
        true
    }

    fn first(&mut self) -> Layer {
        let mut layer = Layer::default();
        let start = State::start(self.facts, self.goal.idle.is_some());
        for split in stock_splits(self.facts, self.goal, &start) {
            let mut state = start.clone();
            give_stock(&mut state, &split);
            state.settle(self.facts, None);
            let root = self.roots.len() as u32;
            self.roots.push((state.clone(), split));
            let none = Move { task: Task::Pack { line: 0 }, team: 0, from: 0, to: 0 };
            self.visit(&mut state, &mut layer, Step { parent: root, done: none, split: 0 });
        }
        layer
    }

    /// Judges a new state: a plan, a dead end, or one to go on from. Returns how many others it was held against.
    fn visit(&mut self, state: &mut State, next: &mut Layer, step: Step) -> u64 {
        if self.goal.missed(self.facts, state) {
            return 0;
        }
        if state.served(self.facts) {
            let over = |s: &Spot| match Holds::of(s.code) {
                Holds::Run { epoch, .. } => epoch == 0,
                Holds::Nothing { owed, .. } => !owed,
            };
            let empty = |s: &Spot| matches!(Holds::of(s.code), Holds::Nothing { .. });
            let plan = self.goal.idle.is_none() || state.spots.iter().all(empty);
            if !state.spots.iter().all(over) || (plan && self.finish(state, step)) {
                return 0;
            }
        }
        if !advance(self.facts, self.goal, state, &mut self.inner) {
            return 0;
        }
        if !self.bounds.floor(self.facts, self.goal, state, &mut self.floor) || self.no_better() {
            return 0;
        }
        let score = self.bounds.slack(self.facts, self.goal, state, &mut self.open);
        if score < 0 {
            return 0;
        }
        next.offer(self.facts, self.goal, state, &self.floor, score, step)
    }

    fn no_better(&self) -> bool {
        self.best.as_ref().is_some_and(|(best, _)| {
            let late = total_lateness(self.facts, &self.floor.ready);
            let value = if self.goal.idle.is_some() { self.floor.idle } else { i64::from(self.floor.all) };
            let values = self.goal.idle.is_some() || self.goal.makespan.is_some();
            if values { Reached { late, value } >= *best } else { late >= best.late }
        })
    }

    /// All is served: what is still on printers is harvested as soon as it can be. False where that does not work out
    /// in the simplest way.
    fn finish(&mut self, state: &State, step: Step) -> bool {
        let reached = Reached {
            late: total_lateness(self.facts, &state.ready),
            value: match self.goal.idle {
                Some(_) => state.spots.iter().map(|s| i64::from(s.idle)).sum(),
                None => i64::from(state.ready.iter().copied().max().unwrap_or(0)),
            },
        };
        if self.best.as_ref().is_some_and(|(best, _)| reached >= *best) {
            return true;
        }
        let mut path = Vec::new();
        let mut at = step;
        for layer in self.layers.iter().rev() {
            path.push(Done { done: at.done, split: at.split as usize });
            at = layer.steps[at.parent as usize];
        }
        path.reverse();
        let (root, stock) = &self.roots[at.parent as usize];
        match schedule(self.facts, self.goal, root, stock, &path) {
            Some(found) => {
                self.best = Some((reached, found));
                true
            }
            None => false,
        }
    }
}

/// Moves the present on to the earliest start of anything; false where nothing can be done.
pub(super) fn advance(facts: &Facts<'_>, goal: &Goal, state: &mut State, moves: &mut Moves) -> bool {
    moves.find(facts, goal, state);
    let Some(now) = moves.all.iter().map(|m| m.from).min() else { return false };
    if now > state.now {
        if facts.segment(now) != facts.segment(state.now) {
            state.spots.iter_mut().for_each(|s| s.skip = 0);
        }
        state.now = now;
        state.settle(facts, None);
    }
    true
}
