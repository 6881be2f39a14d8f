//! What a task changes, and who is given what it brings.
//!
//! Parts are given to shipments at the harvest, and stock at the start; where it is open who gets them, each way is a
//! branch of its own. Nothing is held back from all who could use it: what comes later is usable later.

use super::facts::Facts;
use super::goal::Goal;
use super::moves::{Move, Moves, Task};
use super::state::{Holds, Pending, Spot, State};
use crate::problem::Min;

/// How many of its parts a run or the stock gives to each pair.
pub(super) type Split = Vec<(usize, i32)>;

/// Changes a state by a task. `passed` are the loads that the task was preferred to; `names` follow their printers.
pub(super) fn apply(
    facts: &Facts<'_>,
    goal: &Goal,
    state: &mut State,
    done: &Move,
    split: &Split,
    passed: &Moves,
    names: Option<&mut Vec<usize>>,
) {
    let before = facts.segment(state.now);
    let segment = facts.segment(done.from);
    if segment != before {
        state.spots.iter_mut().for_each(|s| s.skip = 0);
    }
    for p in &passed.passed {
        if p.from < done.from && p.to <= done.from && facts.segment(p.from) == segment {
            state.spots[p.spot].skip |= 1 << p.position;
        }
    }
    state.now = done.from;
    state.busy.push((usize::from(done.team), done.to));
    match done.task {
        Task::Load { spot, mode, carrier } => {
            let (spot, mode) = (usize::from(spot), usize::from(mode));
            let holds = Holds::Run { mode, epoch: facts.epoch(done.from), carrier };
            let time = done.to + facts.problem.modes[mode].to_ready();
            let before = state.spots[spot];
            let print = if goal.idle.is_some() { facts.problem.modes[mode].print } else { 0 };
            let printed = before.printed + print;
            state.spots[spot] = Spot { code: holds.code(), time, skip: 0, idle: before.idle, printed };
        }
        Task::Harvest { spot } => {
            let spot = usize::from(spot);
            if let Holds::Run { mode, carrier, .. } = Holds::of(state.spots[spot].code) {
                let material = facts.problem.modes[mode].material + 1;
                let holds = Holds::Nothing { material, owed: carrier };
                let printed = state.spots[spot].printed;
                let class = facts.printers[spot].0;
                let idle = if goal.idle.is_some() { facts.up(class, done.to) - printed } else { 0 };
                state.spots[spot] = Spot { code: holds.code(), time: done.to, skip: 0, idle, printed };
                give(facts, state, split, done.to);
            }
        }
        Task::Pack { line } => {
            let line = usize::from(line);
            state.packed[line] += 1;
            let order = facts.lines[line].order;
            state.ready[order] = state.ready[order].max(done.to);
        }
    }
    state.settle(facts, names);
}

/// Gives parts that leave a printer at a minute.
fn give(facts: &Facts<'_>, state: &mut State, split: &Split, at: Min) {
    for &(pair, count) in split {
        let p = &facts.pairs[pair];
        let usable = at + facts.problem.finish[p.part];
        state.rest[pair] -= count;
        state.ready[p.order] = state.ready[p.order].max(usable);
        if facts.lines.iter().any(|l| l.order == p.order) {
            match state.pending.iter_mut().find(|e| e.pair == pair && e.usable == usable) {
                Some(same) => same.count += count,
                None => state.pending.push(Pending { pair, usable, count }),
            }
        }
    }
}

/// Gives stock, which is usable from the start.
pub(super) fn give_stock(state: &mut State, split: &Split) {
    for &(pair, count) in split {
        state.rest[pair] -= count;
    }
}

/// The ways to give out the stock.
pub(super) fn stock_splits(facts: &Facts<'_>, goal: &Goal, state: &State) -> Vec<Split> {
    let parts: Vec<(usize, i64)> = (0..facts.problem.stock.len()).map(|p| (p, facts.problem.stock[p])).collect();
    splits(facts, goal, state, &parts, |_| true, |_| 0, false)
}

/// The ways to give out what a harvest brings; none where a run would give nothing for which it was loaded.
pub(super) fn harvest_splits(facts: &Facts<'_>, goal: &Goal, state: &State, done: &Move) -> Vec<Split> {
    let Task::Harvest { spot } = done.task else { return vec![Split::new()] };
    let Holds::Run { mode, epoch, carrier } = Holds::of(state.spots[usize::from(spot)].code) else { return Vec::new() };
    if carrier && goal.idle.is_none() {
        return vec![Split::new()];
    }
    // A harvest that starts later and ends sooner may bring the same part sooner.
    let withhold = facts.overtaking && done.to > done.from + shortest_harvest(facts);
    let parts = &facts.problem.modes[mode].yields;
    let serves = |order: usize| facts.serves[epoch][order];
    let usable = |part: usize| done.to + facts.problem.finish[part];
    let mut ways = splits(facts, goal, state, parts, serves, usable, withhold);
    if carrier {
        // It gives nothing: one that could is another branch.
        ways.retain(|way| way.is_empty());
    } else if epoch > 0 {
        ways.retain(|way| !way.is_empty());
    }
    ways
}

fn shortest_harvest(facts: &Facts<'_>) -> Min {
    facts.problem.modes.iter().map(|m| m.harvest).min().unwrap_or(0)
}

fn splits(
    facts: &Facts<'_>,
    goal: &Goal,
    state: &State,
    parts: &[(usize, i64)],
    serves: impl Fn(usize) -> bool,
    usable: impl Fn(usize) -> Min,
    withhold: bool,
) -> Vec<Split> {
    let mut ways = vec![Split::new()];
    for &(part, count) in parts {
        let mut takers: Vec<(usize, i32)> = facts.pairs_of_part[part]
            .iter()
            .filter(|&&p| state.rest[p] > 0 && serves(facts.pairs[p].order) && usable(part) <= goal.usable_by[p])
            .map(|&p| (p, state.rest[p]))
            .collect();
        let wanted: i64 = takers.iter().map(|t| i64::from(t.1)).sum();
        let most = count.min(wanted) as i32;
        if most <= 0 {
            continue;
        }
        if goal.first_come {
            takers.sort_by_key(|t| (goal.usable_by[t.0], t.0));
        }
        let least = if withhold { 0 } else { most };
        let mut of_part = Vec::new();
        for total in (least..=most).rev() {
            deal(&takers, total, goal.first_come, &mut Split::new(), &mut of_part);
        }
        ways = ways
            .iter()
            .flat_map(|way| of_part.iter().map(move |more| way.iter().chain(more).copied().collect::<Split>()))
            .collect();
    }
    ways
}

/// All ways to deal `total` to takers, or the one in which the first come first.
fn deal(takers: &[(usize, i32)], total: i32, first_come: bool, so_far: &mut Split, ways: &mut Vec<Split>) {
    let Some((&(pair, room), others)) = takers.split_first() else {
        if total == 0 {
            ways.push(so_far.clone());
        }
        return;
    };
    let beyond: i32 = others.iter().map(|t| t.1).sum();
    for count in ((total - beyond).max(0)..=room.min(total)).rev() {
        if count > 0 {
            so_far.push((pair, count));
        }
        deal(others, total - count, first_come, so_far, ways);
        if count > 0 {
            so_far.pop();
        }
        if first_come {
            break;
        }
    }
}
