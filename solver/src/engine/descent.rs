//! The descent: aim at a makespan just above the bound, let the search come as near as it can, and move the aim up until
//! it is met; then down again from there while work is left.
//!
//! Starting far down matters. A plan that was built for a later end has its nights arranged for that end, and small
//! moves do not undo a whole week of them; a floor that starts empty under a tight aim arranges them anew.

use super::aims::Aims;
use super::deadlines::between_due_and_ready;
use super::guide::Guide;
use super::hunt::Limit;
use super::meet::meet;
use super::rounds::{ATTEMPTS, Manner, Rounds, WORK, are_many, manners};
use super::sequences;
use super::threads::side_by_side;
use crate::columns::bound::{Bound, Effort, Relaxation, rounds_for};
use crate::columns::master::Column;
use crate::days::{Days, Turn};
use crate::finish::finish;
use crate::floor::{Floor, Machine};
use crate::improve::Gait;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use std::sync::Mutex;

/// The part of the work with which the plan known is improved as it is.
const AS_IT_IS: u64 = 8;
/// Hundredths of the way from due to ready.
const LATENESS_SHARES: [i64; 6] = [0, 12, 25, 50, 75, 90];
/// Rounds of columns for the finer bound, up to so many days; fewer beyond, where each is dearer.
const FINER_ROUNDS: usize = 700;
const FINER_DAYS: usize = 11;

/// What a descent starts from.
pub(super) struct Task<'t, 'p, 'r> {
    pub(super) problem: &'p Problem<'p>,
    /// The latest each shipment may be.
    pub(super) allowed: &'t [Min],
    pub(super) start: &'t Schedule,
    /// The bound on the makespan.
    pub(super) low: Min,
    pub(super) coarse: &'t Bound,
    pub(super) relaxation: Relaxation<'p>,
    pub(super) guide: &'t Guide,
    pub(super) seed: u64,
    /// Whether days may be searched by themselves.
    pub(super) by_days: bool,
    pub(super) limit: &'t Limit<'r>,
    /// Told the best value so far and the bound.
    pub(super) tell: &'t dyn Fn(Option<i64>, i64),
}

/// What descents found.
pub(super) struct Outcome {
    pub(super) plans: Vec<(Merit, Schedule)>,
    pub(super) bound: i64,
}

impl Outcome {
    /// What two searches found, the worst first; the second with a finer bound.
    pub(super) fn joined(
        low: Min,
        makespan: Min,
        found: Option<Vec<(Merit, Schedule)>>,
        more: Option<(Min, Vec<(Merit, Schedule)>)>,
    ) -> Outcome {
        let (finer, more) = more.unwrap_or_default();
        let mut plans: Vec<_> = found.into_iter().flatten().chain(more).collect();
        plans.sort_by_key(|p| std::cmp::Reverse(p.0));
        Outcome { plans, bound: i64::from(low.max(finer.min(makespan))) }
    }
}

/// Two descents in different manners, and before one of them the finer bound; where printers are few, sequences after them.
pub(super) fn descend(task: Task<'_, '_, '_>) -> Outcome {
    let Task { problem, allowed, start, seed, limit, tell, .. } = task;
    let found = in_two_manners(task);
    if are_many(problem) { found } else { sequences::sooner(problem, allowed, start, found, seed, limit, tell) }
}

fn in_two_manners(task: Task<'_, '_, '_>) -> Outcome {
    let Task { problem, allowed, start, low, coarse, relaxation, guide, seed, by_days, limit, tell } = task;
    let makespan = start.ready_times(problem).into_iter().max().unwrap_or(0);
    let best: Mutex<Option<i64>> = Mutex::new(None);
    let report = |merit: &Merit| {
        if let Ok(mut best) = best.lock() {
            *best = Some(best.map_or(merit.value, |b: i64| b.min(merit.value)));
        }
    };
    let as_it_is = || {
        let floor = Floor::with_runs(problem, &start.runs, allowed);
        let aims = Aims::from(low, makespan, WORK / AS_IT_IS / ATTEMPTS, WORK / AS_IT_IS);
        meet(&mut guide.search(Gait::Wandering, floor, seed ^ 0x9e37_79b9), allowed, aims, limit, &report)
    };
    let [one, other] = manners(problem, low, makespan);
    // One need is as good as another only where none is due before the rest.
    let by_days = by_days && allowed.iter().all(|&d| d >= makespan);
    let rounds = |manner: Manner, turn: Turn, seed: u64| {
        let rounds = Rounds { problem, allowed, low, makespan, guide, limit, report: &report };
        let table = || Days::new(problem, low, &coarse.columns, &guide.price, turn, seed);
        match manner.by_days.filter(|_| by_days).and_then(|longer| Some((longer, table()?))) {
            Some((longer, days)) => super::by_days::go(&rounds, days, [manner.work, longer * manner.work], seed),
            None => rounds.go(manner, seed),
        }
    };
    let first = || rounds(one, Turn::Reversed, seed);
    let second = || {
        let columns: Vec<Column> = coarse.columns.iter().filter(|c| c.1 > 1e-9).map(|c| c.0.clone()).collect();
        // A round prices every class of printers, and every day more makes it dearer.
        let most = rounds_for(FINER_ROUNDS, FINER_DAYS, makespan, problem.classes.len());
        let effort = Effort { rounds: most.max(40), finest: 3, coarsest: relaxation.slot() };
        let finer = relaxation.refine(coarse, makespan, columns, effort, &|_| limit.over());
        let mut plans = as_it_is();
        plans.extend(rounds(other, Turn::Half, seed ^ 0x7f4a_7c15));
        (finer, plans)
    };
    let (found, more) = side_by_side(first, second, &|| tell(best.lock().ok().and_then(|best| *best), i64::from(low)));
    Outcome::joined(low, makespan, found, more)
}

/// One try to meet deadlines from an empty floor.
pub(super) fn attempt(
    problem: &Problem<'_>,
    deadlines: &[Min],
    guide: &Guide,
    seed: u64,
    least_idle: bool,
    limit: &Limit<'_>,
) -> Option<(Merit, Schedule)> {
    let mut search = guide.search(Gait::Wandering, Floor::new(problem, deadlines), seed);
    search.aim(deadlines);
    let last = deadlines.iter().copied().max().unwrap_or(0);
    search.meet(last, WORK / ATTEMPTS, &|| limit.over()).then(|| finish(&search.floor, least_idle)).flatten()
}

/// A plan less late than another: aims from its due dates towards its ready times, one after the other on the same floor,
/// until one is met.
pub(super) fn less_late(
    problem: &Problem<'_>,
    than: &Schedule,
    start: Option<&Schedule>,
    guide: &Guide,
    seed: u64,
    least_idle: bool,
    limit: &Limit<'_>,
) -> Option<(Merit, Schedule)> {
    let open = vec![problem.horizon; problem.orders.len()];
    let floor = start.map_or_else(|| Floor::new(problem, &open), |start| Floor::with_runs(problem, &start.runs, &open));
    let mut search = guide.search(Gait::Wandering, floor, seed);
    for share in LATENESS_SHARES {
        let aims = between_due_and_ready(problem, than, share);
        search.aim(&aims);
        let last = aims.iter().copied().max().unwrap_or(0);
        if limit.over() {
            break;
        }
        if search.meet(last, WORK / ATTEMPTS, &|| limit.over()) {
            return finish(&search.floor, least_idle);
        }
    }
    None
}

/// A schedule's printer histories as columns.
pub(super) fn histories(problem: &Problem<'_>, schedule: &Schedule) -> Vec<Column> {
    let floor = Floor::with_runs(problem, &schedule.runs, &vec![problem.horizon; problem.orders.len()]);
    let column = |m: &Machine| Column { class: m.class, legs: m.runs.iter().map(|r| r.leg).collect() };
    floor.machines.iter().map(column).collect()
}
