//! From the tasks of a search to a schedule: the tasks are done once more, with an eye on which printer is which.

use super::apply::{Split, apply, harvest_splits};
use super::facts::Facts;
use super::goal::Goal;
use super::moves::{Move, Moves, Task};
use super::state::{Holds, State};
use crate::problem::Min;
use crate::schedule::{Give, PackedBox, PlacedRun, PlacedTask, Schedule};

/// A task that was chosen, and which way of giving out the parts.
pub(super) struct Done {
    pub done: Move,
    pub split: usize,
}

/// Who a task belongs to.
#[derive(Clone, Copy)]
enum Owner {
    Load(usize),
    Harvest(usize),
    Box(usize),
}

struct Book<'f, 'a> {
    facts: &'f Facts<'a>,
    schedule: Schedule,
    /// By printer in the order of [`Facts::printers`]: its run, while it has one.
    on: Vec<Option<usize>>,
    /// The printer at each place of the state.
    names: Vec<usize>,
    tasks: Vec<(Move, Owner)>,
}

/// The schedule of a path from a starting state; none where runs that were on printers at the start cannot all be
/// harvested in the simplest way.
pub(super) fn schedule(facts: &Facts<'_>, goal: &Goal, root: &State, stock: &Split, path: &[Done]) -> Option<Schedule> {
    let mut book = Book {
        facts,
        schedule: Schedule::default(),
        on: vec![None; facts.printers.len()],
        names: (0..facts.printers.len()).collect(),
        tasks: Vec::new(),
    };
    for (i, &(class, slot)) in facts.printers.iter().enumerate() {
        if let Some(running) = &facts.problem.classes[class].running {
            book.on[i] = Some(book.schedule.runs.len());
            let harvest = PlacedTask { pool: 0, from: 0, to: 0 };
            let run = PlacedRun { class, slot, mode: running.mode, load: None, ready: running.ready, harvest };
            book.schedule.runs.push(run);
        }
    }
    book.gives(None, stock);
    let mut state = root.clone();
    let mut moves = Moves::default();
    for step in path {
        forward(facts, goal, &mut state, &mut moves, &mut book.names);
        let splits = harvest_splits(facts, goal, &state, &step.done);
        let split = splits.get(step.split)?;
        book.note(&state, &step.done, split);
        apply(facts, goal, &mut state, &step.done, split, &moves, Some(&mut book.names));
    }
    while state.spots.iter().any(|s| matches!(Holds::of(s.code), Holds::Run { .. })) {
        moves.find(facts, goal, &state);
        let harvests = moves.all.iter().filter(|m| matches!(m.task, Task::Harvest { .. }));
        let next = *harvests.min_by_key(|m| m.from)?;
        book.note(&state, &next, &Split::new());
        apply(facts, goal, &mut state, &next, &Split::new(), &moves, Some(&mut book.names));
    }
    book.deal();
    Some(book.schedule)
}

/// As [`super::pass::advance`], with names.
fn forward(facts: &Facts<'_>, goal: &Goal, state: &mut State, moves: &mut Moves, names: &mut Vec<usize>) {
    let settled = state.clone();
    super::pass::advance(facts, goal, state, moves);
    if *state != settled {
        let mut again = settled;
        if facts.segment(state.now) != facts.segment(again.now) {
            again.spots.iter_mut().for_each(|s| s.skip = 0);
        }
        again.now = state.now;
        again.settle(facts, Some(names));
        *state = again;
    }
    moves.find(facts, goal, state);
}

impl Book<'_, '_> {
    fn note(&mut self, state: &State, done: &Move, split: &Split) {
        let problem = self.facts.problem;
        let nobody = PlacedTask { pool: 0, from: done.from, to: done.to };
        match done.task {
            Task::Load { spot, mode, .. } => {
                let (printer, mode) = (self.names[usize::from(spot)], usize::from(mode));
                let (class, slot) = self.facts.printers[printer];
                let run = self.schedule.runs.len();
                let ready = done.to + problem.modes[mode].to_ready();
                let harvest = PlacedTask { pool: 0, from: 0, to: 0 };
                self.schedule.runs.push(PlacedRun { class, slot, mode, load: Some(nobody), ready, harvest });
                self.on[printer] = Some(run);
                self.tasks.push((*done, Owner::Load(run)));
            }
            Task::Harvest { spot } => {
                let printer = self.names[usize::from(spot)];
                if let Some(run) = self.on[printer].take() {
                    self.schedule.runs[run].harvest = nobody;
                    self.tasks.push((*done, Owner::Harvest(run)));
                    self.gives(Some(run), split);
                }
            }
            Task::Pack { line } => {
                let l = &self.facts.lines[usize::from(line)];
                let packed = PackedBox { order: l.order, boxes: l.boxes, task: nobody };
                self.tasks.push((*done, Owner::Box(self.schedule.boxes.len())));
                self.schedule.boxes.push(packed);
            }
        }
        debug_assert!(state.now <= done.from);
    }

    fn gives(&mut self, run: Option<usize>, split: &Split) {
        for &(pair, count) in split {
            let p = &self.facts.pairs[pair];
            self.schedule.gives.push(Give { run, part: p.part, order: p.order, count: i64::from(count), spare: 0 });
        }
    }

    /// Deals the tasks of each team to its operators, and with them to pools.
    fn deal(&mut self) {
        let mut order: Vec<usize> = (0..self.tasks.len()).collect();
        order.sort_by_key(|&i| (self.tasks[i].0.from, self.tasks[i].0.to, i));
        let mut free: Vec<Vec<Min>> = self.facts.teams.iter().map(|t| vec![t.from; t.members.len()]).collect();
        for i in order {
            let (task, owner) = self.tasks[i];
            let team = &self.facts.teams[usize::from(task.team)];
            let free = &mut free[usize::from(task.team)];
            let someone = free.iter().position(|&f| f <= task.from).unwrap_or(0);
            free[someone] = free[someone].max(task.to);
            let placed = PlacedTask { pool: team.members[someone], from: task.from, to: task.to };
            match owner {
                Owner::Load(run) => self.schedule.runs[run].load = Some(placed),
                Owner::Harvest(run) => self.schedule.runs[run].harvest = placed,
                Owner::Box(packed) => self.schedule.boxes[packed].task = placed,
            }
        }
    }
}
