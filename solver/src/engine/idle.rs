//! Least idle: the bound and the search where idle printer minutes count.

use super::descent::histories;
use super::guide::Guide;
use super::hunt::{Limit, slot};
use crate::columns::idle::idle_bound;
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::Search;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// Work of the search, in steps of longest paths.
const WORK: u64 = 1_500_000_000;
/// Rounds of columns for the bound.
const ROUNDS: usize = 400;

/// What came of it.
pub(super) struct Done {
    pub(super) plan: Option<(Merit, Schedule)>,
    pub(super) bound: i64,
}

/// Searches for fewer idle minutes among plans that keep the deadlines, and proves how few there must be.
pub(super) fn improve(
    problem: &Problem<'_>,
    relaxed: &Problem<'_>,
    allowed: &[Min],
    start: &Schedule,
    seed: u64,
    limit: &Limit<'_>,
) -> Done {
    let last = allowed.iter().copied().max().unwrap_or(0);
    let known = histories(problem, start);
    let bound = idle_bound(relaxed, allowed, &known, slot(last), ROUNDS, &|| limit.over());
    let guide = Guide::plain(problem);
    let mut best: Option<(Merit, Schedule)> = None;
    let floors: [Floor<'_>; 2] = [Floor::new(problem, allowed), Floor::with_runs(problem, &start.runs, allowed)];
    for floor in floors {
        let mut search = Search::new(floor, guide.price.clone(), seed).counting_idle();
        search.aim(allowed);
        search.settle(last, WORK / 2, &|| limit.over());
        let done = if search.shortage() == 0 { finish(&search.floor, true) } else { None };
        if let Some(done) = done
            && best.as_ref().is_none_or(|b| done.0 < b.0)
        {
            best = Some(done);
        }
    }
    Done { plan: best, bound }
}
