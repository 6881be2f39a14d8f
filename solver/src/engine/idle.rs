//! Least idle: the bound and the searches where idle printer minutes count.
//!
//! The bound's first prices tell the searches what a copy of each part is worth in idle minutes. Two of them then go side
//! by side: from tables of days where these can be searched by themselves ([`Days`]), else from empty floors, in paces
//! ([`Search::settle_in_paces`]). Before the second the bound is proven anew with finer slots, and the plan known is trimmed as
//! it is.

use super::descent::histories;
use super::hunt::Limit;
use super::threads::side_by_side;
use crate::columns::bound::{Relaxation, rounds_for};
use crate::columns::idle::IdleBound;
use crate::columns::rounds::{Patience, within};
use crate::days::{Days, Turn};
use crate::finish::finish;
use crate::floor::Floor;
use crate::improve::{Gait, Search};
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// Work of the searches, in steps of longest paths: of the first, of the second, and of what trims the plan known.
const WORK: [u64; 2] = [2_400_000_000, 1_600_000_000];
const AS_IT_IS: u64 = 150_000_000;
/// Rounds of columns for the bound, and for the finer one, up to so many days; fewer beyond, where each is dearer.
const ROUNDS: usize = 400;
const FINER_ROUNDS: usize = 300;
const FINER_DAYS: usize = 15;
/// Prices and columns agree that differ by no more than this part.
const AGREE: f64 = 1e-3;
/// Up to so many days a master can carry slots of so many minutes untied.
const UNTIED_DAYS: Min = 10;
const SLOT: Min = 30;
/// Slots are not made finer than so many minutes.
const FINEST: Min = 3;
/// Rounds of blocks of a table of days, at most.
const MOST_ROUNDS: usize = 200;
/// What a missing copy costs in a table of days, by what it is worth.
const DEAR: i64 = 2;
/// A copy is worth this part of its printer minutes to a search, in hundredths, whatever the relaxation says.
const LEAST_WORTH: i64 = 30;

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
    let last = allowed.iter().copied().max().unwrap_or(0).min(problem.horizon);
    let stop = || limit.over();
    let relaxation = match last / 1440 {
        ..UNTIED_DAYS => Relaxation::new(relaxed, allowed, SLOT),
        _ => Relaxation::recurring(relaxed, allowed, last),
    };
    let known = IdleBound::none(histories(problem, start));
    let near = within(AGREE);
    let patience = Patience { near: &near, rounds: ROUNDS, stop: &stop };
    let coarse = relaxation.least_idle(known, &patience);
    let minutes = mix::prices(problem);
    let price = worth(&relaxation, &coarse, &minutes);
    let columns = coarse.columns.clone();
    let dear: Vec<i64> = price.iter().map(|price| price * DEAR).collect();
    // One need is as good as another only where none is due before the rest; and where there is far more time than it takes,
    // printers do best to stop, which no day but the last can.
    let busy = start.ready_times(problem).into_iter().max().is_some_and(|makespan| last < makespan / 2 * 3);
    let alike = busy && allowed.iter().all(|&by| by >= last);
    let plans_of = |seed: u64, work: u64, turn: Turn| {
        if let Some(days) = Days::new(problem, last, &columns, &dear, turn, seed).filter(|_| alike) {
            let floor = by_days(problem, allowed, days.counting_idle(&price), work, &stop);
            let mut search = Search::new(floor, dear.clone(), seed).counting_idle().in_gait(Gait::Downhill);
            search.aim(allowed);
            search.settle(last, AS_IT_IS, &stop);
            if search.shortage() > 0 {
                search.settle_dear(allowed, AS_IT_IS, &minutes, &stop);
            }
            return packed(search, allowed, &minutes, &stop);
        }
        let mut search = Search::new(Floor::new(problem, allowed), price.clone(), seed).counting_idle();
        search.settle_in_paces(allowed, work, &minutes, &stop);
        packed(search, allowed, &minutes, &stop)
    };
    let first = || plans_of(seed, WORK[0], Turn::Reversed);
    let second = || {
        let bound = finer(relaxation, coarse, last, &stop);
        let mut search =
            Search::new(Floor::with_runs(problem, &start.runs, allowed), price.clone(), seed).counting_idle();
        search.settle_dear(allowed, AS_IT_IS, &minutes, &stop);
        let mut plans = packed(search, allowed, &minutes, &stop);
        plans.extend(plans_of(seed ^ 0x7f4a_7c15, WORK[1], Turn::Half));
        (bound.minutes, plans)
    };
    let (found, more) = side_by_side(first, second, &|| ());
    let (bound, more) = more.unwrap_or_default();
    let plan = found.into_iter().flatten().chain(more).min_by_key(|plan| plan.0);
    Done { plan, bound }
}

/// The floor of a table of days ([`Days`]), on which the search goes on.
fn by_days<'p>(
    problem: &'p Problem<'_>,
    allowed: &[Min],
    mut days: Days<'_>,
    work: u64,
    stop: &dyn Fn() -> bool,
) -> Floor<'p> {
    if !days.aim(allowed.iter().copied().max().unwrap_or(0), stop) {
        return Floor::new(problem, allowed);
    }
    for _ in 0..MOST_ROUNDS {
        if days.work() >= work || stop() {
            break;
        }
        days.round(stop);
    }
    days.sweep(stop);
    days.floor(problem, allowed)
}

/// What a copy of each part is worth, in thousandths of an idle minute.
fn worth(relaxation: &Relaxation<'_>, bound: &IdleBound, minutes: &[i64]) -> Vec<i64> {
    let rows = relaxation.rows();
    let proven = bound.prices.as_ref().map(|prices| rows.part_prices(relaxation.problem(), prices));
    let least = minutes.iter().map(|price| price * LEAST_WORTH / 100);
    match proven {
        Some(proven) => least.zip(proven).map(|(least, price)| least.max(price as i64)).collect(),
        None => least.collect(),
    }
}

/// The plans of a floor: where boxes are packed too late, operators are kept free for them, and the search goes on.
fn packed(mut search: Search<'_>, allowed: &[Min], minutes: &[i64], stop: &dyn Fn() -> bool) -> Vec<(Merit, Schedule)> {
    let mut plans = Vec::new();
    while let Some((merit, schedule)) = finish(&search.floor, true) {
        let again = search.keep_for_packing(&schedule, allowed) && !stop();
        plans.push((merit, schedule));
        if !again {
            break;
        }
        search.settle_dear(allowed, AS_IT_IS, minutes, stop);
    }
    plans
}

/// The bound proven on, with ever finer slots where operator time has a price.
fn finer(mut relaxation: Relaxation<'_>, coarse: IdleBound, last: Min, stop: &dyn Fn() -> bool) -> IdleBound {
    let most = rounds_for(FINER_ROUNDS, FINER_DAYS, last, relaxation.problem().terrains().len());
    let near = within(AGREE);
    let mut bound = coarse;
    let until = bound.rounds + most.max(100);
    while bound.rounds < until && !stop() {
        let coarsest = relaxation.slot();
        let same = bound.prices.as_ref().and_then(|prices| relaxation.make_finer(prices, FINEST, coarsest));
        if same.is_none() {
            break;
        }
        let patience = Patience { near: &near, rounds: until - bound.rounds, stop };
        bound = relaxation.least_idle(IdleBound { prices: same, ..bound }, &patience);
    }
    bound
}
