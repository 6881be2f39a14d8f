//! The descent for a large room: in one cell, copied, and mended on the whole.

use super::aims::Aims;
use super::descent::{self, Outcome, Task};
use super::meet::meet;
use super::rounds::ATTEMPTS;
use super::{campaign, in_step, stage};
use crate::division::Division;
use crate::finish::finish;
use crate::improve::Gait;
use crate::problem::Min;

/// Work on the whole floor, in steps of longest paths.
const MEND: u64 = 100_000_000;
/// And where that does not do.
const LATER: u64 = 800_000_000;

/// Descends in a cell, and from its plan on the whole.
pub(super) fn descend<'p>(task: Task<'_, 'p, '_>, division: &Division<'p>) -> Outcome {
    let beside = in_step::beside(&task, division);
    let division = beside.as_ref().unwrap_or(division);
    let Some((_, start)) = stage::quick(&division.cell) else { return descent::descend(task) };
    let Task { problem: whole, allowed, start: known, low, coarse, relaxation, guide, seed, by_days, limit, tell } =
        task;
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
        // What operators have left beside printers in step comes in pieces, of which a day by itself makes less.
        by_days: by_days && beside.is_none(),
        limit,
        tell: &|_, bound| tell(Some(i64::from(makespan)), bound),
    };
    let descend = if campaign::is_long(makespan) { campaign::descend } else { descent::descend };
    let Outcome { mut plans, bound } = descend(in_cell);
    plans.sort_by_key(|p| p.0);
    let plan = plans.into_iter().next().map_or(start, |p| p.1);
    let last = plan.ready_times(&division.cell).into_iter().max().unwrap_or(0);
    let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(last)).collect();
    let floor = division.copied(whole, &plan, &deadlines);
    let mut search = guide.search(Gait::Downhill, floor, seed);
    search.aim(&deadlines);
    let met = search.meet(last, MEND, &|| limit.over());
    let mut plans: Vec<_> = if met { finish(&search.floor, false).into_iter().collect() } else { Vec::new() };
    if plans.is_empty() {
        // What the division left over takes longer: the aim moves up from the cell's.
        let aims = Aims::from(last, makespan, LATER / ATTEMPTS, LATER);
        plans = meet(&mut search, allowed, aims, limit, &|_| ());
    }
    Outcome { plans, bound }
}
