//! States of equally many tasks, of which only those are kept that no other one is as good as.

use super::bounds::Floor;
use super::facts::Facts;
use super::goal::Goal;
use super::moves::Move;
use super::state::{Holds, Pending, Spot, State};
use crate::problem::Min;
use std::collections::HashMap;

/// How a state came about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Position in the layer before.
    pub parent: u32,
    pub done: Move,
    /// Which way of giving out the parts.
    pub split: u32,
}

/// Where a state lies in the store.
#[derive(Debug, Clone, Copy)]
struct Entry {
    at: usize,
    /// The next entry with the same hash.
    next: Option<u32>,
    score: i64,
    alive: bool,
}

/// The states of one layer.
#[derive(Default)]
pub(super) struct Layer {
    store: Vec<i32>,
    entries: Vec<Entry>,
    pub steps: Vec<Step>,
    heads: HashMap<u64, u32>,
    scratch: Vec<i32>,
    /// How many are kept.
    pub alive: usize,
}

/// Words at the head of a stored state: present, makespan so far, floor of the makespan, operators at work, pending.
const HEAD: usize = 5;

impl Layer {
    /// Keeps a state unless one that is kept already is as good in every way; drops those that it is as good as.
    /// Returns how many it was held against.
    pub(super) fn offer(
        &mut self,
        facts: &Facts<'_>,
        goal: &Goal,
        state: &State,
        floor: &Floor,
        score: i64,
        step: Step,
    ) -> u64 {
        let mut row = std::mem::take(&mut self.scratch);
        write(state, floor, &mut row);
        let shape = Shape::of(facts, goal);
        let hash = hash(&row[HEAD..HEAD + shape.key]);
        let head = self.heads.get(&hash).copied();
        let (mut at, mut before, mut kept, mut met) = (head, None::<u32>, true, 0);
        while let Some(i) = at {
            let entry = self.entries[i as usize];
            let other = &self.store[entry.at..];
            met += 1;
            at = entry.next;
            if other[HEAD..HEAD + shape.key] == row[HEAD..HEAD + shape.key] {
                if shape.as_good(other, &row) {
                    kept = false;
                    break;
                }
                if shape.as_good(&row, other) {
                    self.entries[i as usize].alive = false;
                    self.alive -= 1;
                    match (before, at) {
                        (Some(b), _) => self.entries[b as usize].next = at,
                        (None, Some(next)) => _ = self.heads.insert(hash, next),
                        (None, None) => _ = self.heads.remove(&hash),
                    }
                    continue;
                }
            }
            before = Some(i);
        }
        if kept {
            let next = self.heads.get(&hash).copied();
            let entry = Entry { at: self.store.len(), next, score, alive: true };
            self.store.extend_from_slice(&row);
            self.heads.insert(hash, self.entries.len() as u32);
            self.entries.push(entry);
            self.steps.push(step);
            self.alive += 1;
        }
        self.scratch = row;
        met
    }

    /// The states to go on from, best first, at most `width`; and whether some were left out.
    pub(super) fn chosen(&self, width: usize) -> (Vec<u32>, bool) {
        let mut order: Vec<u32> = (0..self.entries.len() as u32).filter(|&i| self.entries[i as usize].alive).collect();
        order.sort_by_key(|&i| (-self.entries[i as usize].score, i));
        let cut = order.len() > width;
        order.truncate(width);
        (order, cut)
    }

    /// Reads a state back.
    pub(super) fn read(&self, facts: &Facts<'_>, index: u32, state: &mut State) {
        let row = &self.store[self.entries[index as usize].at..];
        let printers = facts.printers.len();
        let (pairs, lines, orders) = (facts.pairs.len(), facts.lines.len(), facts.problem.orders.len());
        state.now = row[0];
        let codes = &row[HEAD..];
        let times = &codes[printers + pairs + lines..];
        state.spots.clear();
        state.spots.extend((0..printers).map(|i| Spot {
            code: codes[i],
            time: times[i],
            skip: times[printers + i] as u32,
            idle: times[2 * printers + i],
            printed: times[3 * printers + i],
        }));
        state.rest.clear();
        state.rest.extend_from_slice(&codes[printers..printers + pairs]);
        state.packed.clear();
        state.packed.extend_from_slice(&codes[printers + pairs..printers + pairs + lines]);
        let ready = &times[4 * printers..];
        state.ready.clear();
        state.ready.extend_from_slice(&ready[..orders]);
        let (busy, pending) = (row[3] as usize, row[4] as usize);
        let tail = &ready[2 * orders..];
        state.busy.clear();
        state.busy.extend((0..busy).map(|i| (tail[2 * i] as usize, tail[2 * i + 1])));
        let tail = &tail[2 * busy..];
        state.pending.clear();
        state.pending.extend((0..pending).map(|i| Pending {
            pair: tail[3 * i] as usize,
            usable: tail[3 * i + 1],
            count: tail[3 * i + 2],
        }));
    }

    /// Lets go of all but how the states came about.
    pub(super) fn shed(&mut self) {
        self.store = Vec::new();
        self.entries = Vec::new();
        self.heads = HashMap::new();
    }
}

fn write(state: &State, floor: &Floor, row: &mut Vec<i32>) {
    row.clear();
    let so_far = state.ready.iter().copied().max().unwrap_or(0);
    row.extend([state.now, so_far, floor.all.max(so_far), state.busy.len() as i32, state.pending.len() as i32]);
    row.extend(state.spots.iter().map(|s| s.code));
    row.extend_from_slice(&state.rest);
    row.extend_from_slice(&state.packed);
    row.extend(state.spots.iter().map(|s| s.time));
    row.extend(state.spots.iter().map(|s| s.skip as i32));
    row.extend(state.spots.iter().map(|s| s.idle));
    row.extend(state.spots.iter().map(|s| s.printed));
    row.extend_from_slice(&state.ready);
    row.extend_from_slice(&floor.ready);
    row.extend(state.busy.iter().flat_map(|b| [b.0 as i32, b.1]));
    row.extend(state.pending.iter().flat_map(|p| [p.pair as i32, p.usable, p.count]));
}

fn hash(key: &[i32]) -> u64 {
    key.iter().fold(0xcbf2_9ce4_8422_2325, |h: u64, &k| {
        (h.rotate_left(5) ^ u64::from(k as u32)).wrapping_mul(0x517c_c1b7_2722_0a95)
    })
}

/// How to read a stored state.
struct Shape<'g> {
    goal: &'g Goal,
    printers: usize,
    orders: usize,
    /// Words that must be equal.
    key: usize,
}

impl<'g> Shape<'g> {
    fn of(facts: &Facts<'_>, goal: &'g Goal) -> Shape<'g> {
        let printers = facts.printers.len();
        let key = printers + facts.pairs.len() + facts.lines.len();
        Shape { goal, printers, orders: facts.problem.orders.len(), key }
    }

    /// Whether all that can follow from `b` can follow from `a` no worse; their keys are equal.
    fn as_good(&self, a: &[i32], b: &[i32]) -> bool {
        if a[0] > b[0] || (self.goal.makespan.is_some() && a[1] > b[2]) {
            return false;
        }
        let (x, y) = (&a[HEAD + self.key..], &b[HEAD + self.key..]);
        let p = self.printers;
        if (0..p).any(|i| x[i] > y[i] || x[p + i] & !y[p + i] != 0) {
            return false;
        }
        // A printer that goes on has what it printed to set against its idle minutes, one that stays as it is has these.
        let more = |i: usize| match Holds::of(a[HEAD + i]) {
            Holds::Nothing { .. } => (x[2 * p + i] - y[2 * p + i]).max(y[3 * p + i] - x[3 * p + i]),
            Holds::Run { .. } => y[3 * p + i] - x[3 * p + i],
        };
        if self.goal.idle.is_some() && (0..p).map(more).sum::<Min>() > 0 {
            return false;
        }
        let (x, y) = (&x[4 * p..], &y[4 * p..]);
        let o = self.orders;
        if !self.goal.on_time && (0..o).any(|i| x[i] > y[o + i]) {
            return false;
        }
        let (x, y) = (&x[2 * o..], &y[2 * o..]);
        let (busy_a, busy_b) = (a[3] as usize, b[3] as usize);
        free_as_soon(&x[..2 * busy_a], &y[..2 * busy_b], b[0])
            && usable_as_soon(&x[2 * busy_a..][..3 * a[4] as usize], &y[2 * busy_b..][..3 * b[4] as usize])
    }
}

/// In each team, the operators of the one are free no later than those of the other, from a minute on.
fn free_as_soon(a: &[i32], b: &[i32], from: Min) -> bool {
    let mut i = 0;
    while i < a.len() {
        let team = a[i];
        // Within a team the latest come first.
        let of_b = b.chunks_exact(2).filter(|e| e[0] == team).map(|e| e[1]);
        let mut theirs = of_b.chain(std::iter::repeat(from));
        while i < a.len() && a[i] == team {
            if a[i + 1] > theirs.next().unwrap_or(from).max(from) {
                return false;
            }
            i += 2;
        }
    }
    true
}

/// At every moment, as much of each pair is usable in the one as in the other; the totals are equal.
fn usable_as_soon(a: &[i32], b: &[i32]) -> bool {
    // Of what is pending in `a` beyond a moment there must be no more than in `b`.
    a.chunks_exact(3).all(|event| {
        let beyond = |events: &[i32]| -> i64 {
            events.chunks_exact(3).filter(|e| e[0] == event[0] && e[1] >= event[1]).map(|e| i64::from(e[2])).sum()
        };
        beyond(a) <= beyond(b)
    })
}
