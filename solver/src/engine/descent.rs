//! The descent: aim at a makespan just above the bound, let the search come as near as it can, and move the aim up until
//! it is met; then down again from there while work is left.
//!
//! Starting far down matters. A plan that was built for a later end has its nights arranged for that end, and small
//! moves do not undo a whole week of them; a floor that starts empty under a tight aim arranges them anew.

use super::deadlines::between_due_and_ready;
use super::guide::Guide;
use super::hunt::Limit;
use super::threads::Turns;
use crate::columns::bound::{Bound, Effort, Relaxation};
use crate::columns::master::Column;
use crate::finish::finish;
use crate::floor::{Booked, Floor};
use crate::history::Leg;
use crate::improve::Search;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use std::sync::Mutex;
use std::time::Duration;

/// Work of one descent, in steps of longest paths.
const WORK: u64 = 1_200_000_000;
/// Attempts it is divided into.
const ATTEMPTS: u64 = 18;
/// Each round after the first gives an attempt so many times the work, and begins this part of the way from the best plan
/// to the bound: where a move may not raise the shortage, a lucky start is worth more than patience.
const AGAIN: (u64, Min) = (1, 12);
const AGAIN_LONGER: (u64, Min) = (3, 3);
/// Attempts at neighbouring aims before the next one lies half way to the best plan.
const PATIENCE: Min = 3;
/// Hundredths of the way from due to ready.
const LATENESS_SHARES: [i64; 6] = [0, 12, 25, 50, 75, 90];
/// Rounds of columns for the finer bound.
const FINER_ROUNDS: usize = 700;

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
    pub(super) limit: &'t Limit<'r>,
    /// Told the best value so far and the bound.
    pub(super) tell: &'t dyn Fn(Option<i64>, i64),
}

/// What descents found.
pub(super) struct Outcome {
    pub(super) plans: Vec<(Merit, Schedule)>,
    pub(super) bound: i64,
}

/// Two descents in different manners, and before one of them the finer bound.
pub(super) fn descend(task: Task<'_, '_, '_>) -> Outcome {
    let Task { problem, allowed, start, low, coarse, relaxation, guide, seed, limit, tell } = task;
    let makespan = start.ready_times(problem).into_iter().max().unwrap_or(0);
    let best: Mutex<Option<i64>> = Mutex::new(None);
    let report = |merit: &Merit| {
        if let Ok(mut best) = best.lock() {
            *best = Some(best.map_or(merit.value, |b: i64| b.min(merit.value)));
        }
    };
    let start_again = || {
        let mut search = search_of(refloor(problem, start, allowed), guide, seed ^ 0x9e37_79b9);
        one(&mut search, allowed, low, makespan, WORK / 8, limit, &report)
    };
    // A round ends where its aims meet; the next one, with more patience for each aim, may still meet a lower one.
    let in_rounds = |downhill: bool, seed: u64| {
        let mut plans: Vec<(Merit, Schedule)> = Vec::new();
        let mut aims =
            Aims { low, first: low + (makespan - low) / 24, best: makespan, attempt: WORK / ATTEMPTS, work: WORK };
        for round in 0u64.. {
            let search = search_of(Floor::new(problem, allowed), guide, seed.wrapping_add(round));
            let mut search = if downhill { search.downhill() } else { search };
            plans.extend(meet(&mut search, allowed, aims, limit, &report));
            let best = plans.iter().map(|p| p.0.value as Min).min().unwrap_or(makespan).min(makespan);
            let left = aims.work.saturating_sub(search.work().max(1));
            if best <= low || left < aims.attempt || limit.over() {
                break;
            }
            let (longer, part) = if downhill { AGAIN } else { AGAIN_LONGER };
            let first = best - 1 - (best - 1 - low) / part;
            aims = Aims { first, best, attempt: longer * aims.attempt, work: left, ..aims };
        }
        plans
    };
    let (mut plans, mut bound) = (Vec::new(), i64::from(low));
    let turns = Turns::default();
    std::thread::scope(|scope| {
        let first = scope.spawn(|| {
            let _turn = turns.take();
            in_rounds(false, seed)
        });
        let second = scope.spawn(|| {
            let _turn = turns.take();
            let columns: Vec<Column> = coarse.columns.iter().filter(|c| c.1 > 1e-9).map(|c| c.0.clone()).collect();
            // A round prices every class of printers.
            let rounds = (FINER_ROUNDS / problem.classes.len().max(1)).max(40);
            let effort = Effort { rounds, finest: 3, coarsest: relaxation.slot() };
            let finer = relaxation.refine(coarse, makespan, columns, effort, &|_| limit.over());
            let mut plans = start_again();
            plans.extend(in_rounds(true, seed ^ 0x7f4a_7c15));
            (finer, plans)
        });
        while !(first.is_finished() && second.is_finished()) {
            std::thread::sleep(Duration::from_millis(100));
            tell(best.lock().ok().and_then(|b| *b), bound);
        }
        if let Ok(found) = first.join() {
            plans.extend(found);
        }
        if let Ok((finer, found)) = second.join() {
            bound = bound.max(i64::from(finer.min(makespan)));
            plans.extend(found);
        }
    });
    plans.sort_by_key(|p| std::cmp::Reverse(p.0));
    Outcome { plans, bound }
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
    let mut search = Search::new(Floor::new(problem, deadlines), guide.price.clone(), seed);
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
    let floor = start.map_or_else(|| Floor::new(problem, &open), |start| refloor(problem, start, &open));
    let mut search = Search::new(floor, guide.price.clone(), seed);
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

/// Attempts at one aim after another, on a floor as it stands.
pub(super) fn one(
    search: &mut Search<'_>,
    allowed: &[Min],
    low: Min,
    makespan: Min,
    work: u64,
    limit: &Limit<'_>,
    report: &dyn Fn(&Merit),
) -> Vec<(Merit, Schedule)> {
    let first = low + (makespan - low) / 24;
    let aims = Aims { low, first, best: makespan, attempt: work / ATTEMPTS, work };
    meet(search, allowed, aims, limit, report)
}

/// Where a round of attempts begins and ends.
#[derive(Debug, Clone, Copy)]
struct Aims {
    /// The bound on the makespan.
    low: Min,
    /// The first aim.
    first: Min,
    /// The makespan of the best plan known.
    best: Min,
    /// Work of an attempt, and of the round.
    attempt: u64,
    work: u64,
}

fn meet(
    search: &mut Search<'_>,
    allowed: &[Min],
    aims: Aims,
    limit: &Limit<'_>,
    report: &dyn Fn(&Merit),
) -> Vec<(Merit, Schedule)> {
    let mut plans: Vec<(Merit, Schedule)> = Vec::new();
    let Aims { low, first: mut target, mut best, attempt, work } = aims;
    let mut failed = low - 1;
    let mut patience = 1;
    while target < best && target > failed && search.work() < work && !limit.over() {
        let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(target)).collect();
        search.aim(&deadlines);
        let met = search.meet(target, attempt, &|| limit.over());
        let done = if met { finish(&search.floor, false) } else { None };
        match done {
            Some((merit, schedule)) => {
                report(&merit);
                let ready = merit.value as Min;
                plans.push((merit, schedule));
                patience = 1;
                if ready <= low {
                    break;
                }
                // Packing may end later than the parts were aimed at; then nothing lower is within reach either.
                if ready > target {
                    failed = failed.max(target);
                }
                best = best.min(ready);
                target = (failed + (best - failed) / 2).max(failed + 1).max(low);
            }
            None => {
                failed = failed.max(target);
                let short = search.shortage() / 1000 / search.floor.machines.len().max(1) as i64;
                let step = (short as Min * patience / 2).max(4 * patience);
                // Where steps do not help, minutes are not what is missing: a shift is, and the next one may be far off.
                let leap = if patience > PATIENCE { (best - target) / 2 } else { 0 };
                target += step.max(leap);
                patience += 1;
            }
        }
    }
    plans
}

fn search_of<'p>(floor: Floor<'p>, guide: &Guide, seed: u64) -> Search<'p> {
    Search::new(floor, guide.price.clone(), seed).with_nights(guide.night.clone())
}

/// A floor with a schedule's runs on it.
pub(super) fn refloor<'p>(problem: &'p Problem<'p>, schedule: &Schedule, deadlines: &[Min]) -> Floor<'p> {
    let mut floor = Floor::new(problem, deadlines);
    for machine in 0..floor.machines.len() {
        let (class, slot) = (floor.machines[machine].class, floor.machines[machine].slot);
        let mut runs: Vec<_> = schedule.runs.iter().filter(|r| (r.class, r.slot) == (class, slot)).collect();
        runs.sort_by_key(|r| (r.harvest.from, r.load.is_some()));
        for (at, run) in runs.into_iter().enumerate() {
            let leg = Leg {
                mode: run.mode,
                load_from: run.load.map(|l| l.from),
                print_from: run.ready - problem.modes[run.mode].to_ready(),
                ready: run.ready,
                harvest_from: run.harvest.from,
                harvest_to: run.harvest.to,
            };
            floor.rebook(machine, at, Booked { leg, load: run.load, harvest: run.harvest });
        }
    }
    floor
}

/// A schedule's printer histories as columns.
pub(super) fn histories(problem: &Problem<'_>, schedule: &Schedule) -> Vec<Column> {
    let floor = refloor(problem, schedule, &vec![problem.horizon; problem.orders.len()]);
    let column = |m: &crate::floor::Machine| Column { class: m.class, legs: m.runs.iter().map(|r| r.leg).collect() };
    floor.machines.iter().map(column).collect()
}
