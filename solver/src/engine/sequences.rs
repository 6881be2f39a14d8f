//! The best plan of the descents, taken for sequences ([`crate::sequence`]), by two searches with other luck.

use super::descent::Outcome;
use super::hunt::Limit;
use super::threads::side_by_side;
use crate::problem::{Min, Problem};
use crate::schedule::Schedule;
use crate::sequence;

/// Tasks that each of the two may place.
const WORK: u64 = 50_000_000;

/// Adds what is found to what descents found, from their best plan or, where that is no better, the one they started from.
pub(super) fn sooner(
    problem: &Problem<'_>,
    allowed: &[Min],
    start: &Schedule,
    mut outcome: Outcome,
    seed: u64,
    limit: &Limit<'_>,
    tell: &dyn Fn(Option<i64>, i64),
) -> Outcome {
    let found = outcome.plans.last().filter(|plan| plan.0 < start.merit(problem, false));
    let known = found.map_or(start, |plan| &plan.1);
    let value = i64::from(known.ready_times(problem).into_iter().max().unwrap_or(0));
    if !sequence::applies(problem) || value <= outcome.bound || limit.over() {
        return outcome;
    }
    let low = outcome.bound as Min;
    let search = |seed: u64| sequence::improve(problem, allowed, known, low, seed, WORK, &|| limit.over());
    let tell = || tell(Some(value), outcome.bound);
    let (one, other) = side_by_side(|| search(seed), || search(seed ^ 0x51ed_270b), &tell);
    let found: Vec<_> = [one, other].into_iter().flatten().flatten().collect();
    outcome.plans.extend(found);
    outcome.plans.sort_by_key(|plan| std::cmp::Reverse(plan.0));
    outcome
}
