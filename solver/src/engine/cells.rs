//! The descent for a large room: in one cell, copied, and mended on the whole.

use super::descent::{self, Outcome, Task};
use super::stage;
use crate::division::Division;
use crate::finish::finish;
use crate::improve::Search;
use crate::problem::Min;

/// Work on the whole floor, in steps of longest paths.
const MEND: u64 = 400_000_000;

/// Descends in a cell, and from its plan on the whole.
pub(super) fn descend(task: Task<'_, '_, '_>, division: &Division<'_>) -> Outcome {
    let Some((_, start)) = stage::quick(&division.cell) else { return descent::descend(task) };
    let Task { problem: whole, allowed, start: known, low, coarse, relaxation, guide, seed, limit, tell } = task;
    let makespan = known.ready_times(whole).into_iter().max().unwrap_or(0);
    let in_cell = Task {
        problem: &division.cell,
        allowed,
        start: &start,
        low,
        coarse,
        relaxation,
        guide,
        seed,
        limit,
        tell: &|_, bound| tell(Some(i64::from(makespan)), bound),
    };
    let Outcome { mut plans, bound } = descent::descend(in_cell);
    plans.sort_by_key(|p| p.0);
    let plan = plans.into_iter().next().map_or(start, |p| p.1);
    let last = plan.ready_times(&division.cell).into_iter().max().unwrap_or(0);
    let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(last)).collect();
    let floor = division.copied(whole, &plan, &deadlines);
    let mut search = Search::new(floor, guide.price.clone(), seed).with_nights(guide.night.clone()).downhill();
    let mut found = Vec::new();
    if std::env::var("PW_T").is_ok() { eprintln!("cell {last} short {} low {low}", search.shortage()); }
    search.aim(&deadlines);
    let mut best = makespan;
    if search.meet(last, MEND, &|| limit.over()) && let Some(plan) = finish(&search.floor, false) {
        best = best.min(plan.0.value as Min);
        found.push(plan);
    }
    if std::env::var("PW_T").is_ok() { eprintln!("mended {best} work {}", search.work()); }
    let low = low.max(bound as Min);
    let more = descent::one(&mut search, allowed, low, best, MEND, limit, &|m| if std::env::var("PW_T").is_ok() { eprintln!("{m:?}") });
    found.extend(more);
    found.sort_by_key(|p| std::cmp::Reverse(p.0));
    Outcome { plans: found, bound }
}
