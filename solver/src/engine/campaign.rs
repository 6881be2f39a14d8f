//! The descent for months: window after window, each planned with a look ahead and then left as it is.
//!
//! A search over months moves a few runs among twenty thousand. What a window can reach, though, hardly depends on the
//! rest: at the prices that prove the bound, the most that all printers can be worth by each minute is known
//! ([`Relaxation::worth_by`]), so by the window's end that share of all needs is the most to ask for. A window asks for all of
//! it, in the proportions of the whole: it will lack a little, and a search that has less to look for stops short of what
//! it could find. Then its runs are fixed up to where the next window begins, some days before its own end, so that no
//! window ends with idle printers. The last window descends towards the bound like any plan.

use super::aims::Aims;
use super::descent::{self, Outcome, Task};
use super::meet::meet;
use super::rounds::ATTEMPTS;
use super::threads::side_by_side;
use crate::columns::bound::{Effort, Relaxation};
use crate::columns::prices::Prices;
use crate::floor::Floor;
use crate::improve::Gait;
use crate::mix;
use crate::problem::{Min, Order, Problem};
use crate::schedule::{Merit, PlacedRun};
use std::sync::Mutex;

/// Makespans from here on are planned in windows.
const FROM: Min = 25 * 1440;
/// A window is followed by the next after so many minutes,
const STEP: Min = 7 * 1440;
/// and looks so much farther ahead.
const AHEAD: Min = 3 * 1440;
/// Work in one window, in steps of longest paths for each printer up to so many; and in the last window as in so many
/// others.
const WORK: u64 = 6_000_000;
const PRINTERS: usize = 100;
const LAST: u64 = 4;
/// What can be made by the bound, in the unit in which windows are measured.
const WHOLE: i64 = 1_000_000_000_000;
/// Rounds of columns for the finer bound.
const FINER_ROUNDS: usize = 200;

/// Is a makespan to be planned in windows?
pub(super) fn is_long(makespan: Min) -> bool {
    makespan >= FROM
}

/// Plans window after window, and proves a finer bound beside it.
pub(super) fn descend(task: Task<'_, '_, '_>) -> Outcome {
    let Some(prices) = task.coarse.prices.clone() else { return descent::descend(task) };
    let Task { problem, allowed, start, low, coarse, relaxation, guide, seed, limit, tell, .. } = task;
    let makespan = start.ready_times(problem).into_iter().max().unwrap_or(0);
    let worth = worth(&relaxation, &prices, low, makespan);
    let best: Mutex<i64> = Mutex::new(i64::from(makespan));
    let report = |merit: &Merit| {
        if let Ok(mut best) = best.lock() {
            *best = merit.value.min(*best);
        }
    };
    let printers: usize = problem.classes.iter().map(|c| c.printers.len()).sum();
    let work = WORK * printers.clamp(1, PRINTERS) as u64;
    let roll = |gait: Gait, seed: u64| {
        let mut fixed: Vec<PlacedRun> = Vec::new();
        let mut from = 0;
        while from + STEP + AHEAD < low && !limit.over() {
            let end = from + STEP + AHEAD;
            let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(end)).collect();
            let window = up_to(problem, allowed, end, worth[end as usize]);
            let floor = Floor::with_runs(&window, &fixed, &deadlines);
            let mut search = guide.search(gait, floor, seed + u64::from(from as u32)).beginning(from);
            search.aim(&deadlines);
            search.meet(end, work, &|| limit.over());
            from += STEP;
            fixed = search.floor.runs().into_iter().filter(|r| r.load.is_none_or(|l| l.from < from)).collect();
        }
        let floor = Floor::with_runs(problem, &fixed, allowed);
        let mut search = guide.search(gait, floor, seed).beginning(from);
        let aims = Aims::from(low, makespan, LAST * work / ATTEMPTS, LAST * work);
        meet(&mut search, allowed, aims, limit, &report)
    };
    let first = || roll(Gait::Downhill, seed);
    let second = || {
        let columns = coarse.columns.iter().filter(|c| c.1 > 1e-9).map(|c| c.0.clone()).collect();
        let effort = Effort { rounds: FINER_ROUNDS, finest: 3, coarsest: relaxation.slot() };
        let finer = relaxation.refine(coarse, makespan, columns, effort, &|_| limit.over());
        (finer, roll(Gait::Wandering, seed ^ 0x9e37_79b9))
    };
    let (found, more) = side_by_side(first, second, &|| tell(best.lock().ok().map(|best| *best), i64::from(low)));
    Outcome::joined(low, makespan, found, more)
}

/// By minute up to the bound, the most that can be made, at the prices that prove it.
fn worth(relaxation: &Relaxation<'_>, prices: &Prices, low: Min, makespan: Min) -> Vec<i64> {
    let mut worth = relaxation.worth_by(prices, makespan);
    worth.truncate(low.max(1) as usize + 1);
    let whole = worth.last().copied().unwrap_or(1).max(1);
    worth.iter().map(|&w| (i128::from(w) * i128::from(WHOLE) / i128::from(whole)) as i64).collect()
}

/// The problem with a share of all needs, those of the shipments due first, released before the end.
fn up_to<'a>(problem: &Problem<'a>, allowed: &[Min], end: Min, share: i64) -> Problem<'a> {
    let mut window = problem.clone();
    let mut turn: Vec<usize> = (0..problem.orders.len()).collect();
    turn.sort_by_key(|&o| (allowed[o], problem.orders[o].due.unwrap_or(Min::MAX), o));
    let mut left: Vec<i64> = mix::total_needs(problem)
        .iter()
        .map(|&n| (i128::from(n) * i128::from(share) / i128::from(WHOLE)) as i64)
        .collect();
    for order in turn {
        let o = &problem.orders[order];
        let due_by_then = allowed[order] <= end;
        let mut aims = Vec::new();
        for &(part, need) in o.aims.iter().filter(|_| o.release < end) {
            let aim = if due_by_then { need } else { need.min(left[part].max(0)) };
            left[part] -= aim;
            if aim > 0 {
                aims.push((part, aim));
            }
        }
        window.orders[order] = Order { aims, ..o.clone() };
    }
    window
}
