//! Plans as sequences: which plates a printer takes in which order, timed again from the start after every change.
//!
//! The search of [`crate::improve`] books every task to the minute, and a printer plans again only through the minutes that
//! all others leave. Where the crew is busy most of the day that leaves it little: between two tasks lie minutes that are
//! too few for a third, and nobody moves up to close them. Here a plan is taken for what it decides, not for when: each
//! printer has a *sequence* of jobs, the crew has an order in which it takes tasks, boxes have a place in it. One pass
//! ([`timing`]) gives every task the earliest minute there is, so that whatever ends sooner makes all that follows sooner,
//! on all printers. A change with its pass costs two thirds of what a move of paths does (20 microseconds for 134 runs, 60
//! for 394), and moves the whole floor; what it lacks is the paths' eye for nights, so it begins from the best plan they found.
//!
//! # The pass
//!
//! It is the serial schedule-generation scheme (Kolisch, *European Journal of Operational Research* 90 (1996) 320-333, from
//! memory) with the minutes that tasks began at in the last plan as priorities. The task with the least of them is placed
//! next, a printer's tasks in their order, into the first free minutes of any operator. Timing a plan by its own minutes
//! gives no task a later one than it had, save where two shifts overlap or a box's copies are dealt out otherwise. What "as early as possible" would
//! spoil is a load that was kept for the morning because a night's places were for others: such a job may not begin
//! before a minute, and moves set and clear that; nor may one that was loaded after a release, and would be too early for it.
//!
//! # What is sought
//!
//! All needs are always covered; what counts is by how many minutes boxes are packed past an aim a little before the best
//! plan's end, summed over boxes, and only minutes in which somebody is on shift: a box on Monday morning is as near to
//! Saturday's last minute as it is to Monday's first. Every plan that ends before the best is kept, and the aim moves on.
//! Moves that cost nothing are made; one that costs a minute more is made with a chance that falls from 4 % to none, with
//! its square for two minutes, and so on, which is simulated annealing (Kirkpatrick, Gelatt, Vecchi, *Science* 220 (1983)
//! 671-680, from memory) without a logarithm, whose last bits differ between machines. At higher temperatures the weeks
//! fall apart: a change on Monday moves everything after it.
//!
//! Shipments are served in turn as [`crate::finish`] does, which has the last word: it deals out copies and packs the
//! boxes of the best sequences, and the checker judges that.

mod boxes;
mod crew;
mod moves;
mod timing;

use crate::finish::{finish, turns};
use crate::floor::Floor;
use crate::problem::{Class, Min, Problem};
use crate::schedule::{Merit, PlacedRun, Schedule};
use boxes::Packing;
use crew::Crew;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use timing::{Clock, Times};

/// The chance that a move is made which costs one minute more, in the beginning.
const WORSE: f64 = 0.04;
/// The aim lies before the best plan's end by one part in so many, and by one minute at least.
const AHEAD: Min = 250;
/// No task may take longer: its minutes are looked for in words of bits.
const LONGEST_TASK: Min = 64;

/// A run of a printer's sequence, and the minutes by which its tasks come in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Job {
    mode: usize,
    /// It was on the printer at the start.
    held: bool,
    /// Not loaded before.
    not_before: Min,
    load_key: Min,
    harvest_key: Min,
}

/// What a plan decides.
#[derive(Debug, Clone)]
struct Decisions {
    /// By printer, in the order of classes.
    lines: Vec<Vec<Job>>,
    /// The order in which shipments are served.
    turn: Vec<usize>,
    /// By shipment, the minutes by which its boxes come in turn.
    boxes: Vec<Vec<Min>>,
}

/// Sequences that are being changed.
struct Sequences<'p> {
    problem: &'p Problem<'p>,
    /// By printer, its class and its position in it.
    printers: Vec<(usize, usize)>,
    now: Decisions,
    /// By part, copies that the jobs make, and those that are needed beyond stock.
    supply: Vec<i64>,
    need: Vec<i64>,
    times: Times,
    crew: Crew,
    clock: Clock,
    packing: Packing,
    /// What a load may be kept for.
    waits: Vec<(Min, Min)>,
    rng: ChaCha8Rng,
}

/// What stands against sequences, and when they end; the less the better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Verdict {
    /// Minutes of packing past the aim.
    past: i64,
    makespan: Min,
    /// A shipment is later than it may be.
    late: bool,
}

/// Whether plans of a problem can be taken for sequences: no spares, no shipment that waits for another, no task that takes
/// no time or more than 64 minutes.
pub fn applies(problem: &Problem<'_>) -> bool {
    let fits = |minutes: Min| 0 < minutes && minutes <= LONGEST_TASK;
    problem.confidence.is_none()
        && problem.orders.iter().all(|o| o.after.is_none())
        && problem.modes.iter().all(|m| fits(m.load) && fits(m.load + problem.changeover) && fits(m.harvest))
        && problem.pack_box <= LONGEST_TASK
}

/// A plan that ends sooner than a plan known, with no shipment later than allowed; `None` where none is found. `low` is a
/// bound on the makespan, `work` the number of tasks to place in all.
pub fn improve(
    problem: &Problem<'_>,
    allowed: &[Min],
    known: &Schedule,
    low: Min,
    seed: u64,
    work: u64,
    stop: &dyn Fn() -> bool,
) -> Option<(Merit, Schedule)> {
    let mut best = known.ready_times(problem).into_iter().max().unwrap_or(0);
    let ahead = |best: Min| (best - (best / AHEAD).max(1)).max(low);
    let mut sequences = Sequences::new(problem, known, seed);
    let mut aim = ahead(best);
    let mut verdict = sequences.begin(allowed, aim)?;
    let mut kept: Option<Decisions> = None;
    let (mut moves, mut tasks) = (0u64, 0u64);
    loop {
        if verdict.makespan < best && !verdict.late {
            best = verdict.makespan;
            kept = Some(sequences.now.clone());
            aim = ahead(best);
            verdict = sequences.time(allowed, aim)?;
        }
        moves += 1;
        if best <= low || tasks >= work || moves.is_multiple_of(256) && stop() {
            break;
        }
        tasks += 1;
        let Some(before) = sequences.change() else { continue };
        tasks += sequences.tasks();
        let worse = WORSE * (1.0 - tasks as f64 / work as f64).max(0.0);
        let mut limit = verdict.past;
        while sequences.rng.random::<f64>() < worse {
            limit += 1;
        }
        match sequences.time(allowed, aim).filter(|v| v.past <= limit) {
            Some(v) => {
                verdict = v;
                sequences.take_keys();
            }
            None => sequences.take_back(before),
        }
    }
    sequences.now = kept?;
    sequences.time(allowed, aim)?;
    let finished = finish(&Floor::with_runs(problem, &sequences.runs(), allowed), false);
    let late = |plan: &Schedule| plan.ready_times(problem).iter().zip(allowed).any(|(ready, allowed)| ready > allowed);
    finished.filter(|(merit, plan)| *merit < known.merit(problem, false) && !late(plan))
}

impl<'p> Sequences<'p> {
    fn new(problem: &'p Problem<'p>, known: &Schedule, seed: u64) -> Sequences<'p> {
        let of_class = |(class, c): (usize, &Class)| (0..c.printers.len()).map(move |slot| (class, slot));
        let printers: Vec<(usize, usize)> = problem.classes.iter().enumerate().flat_map(of_class).collect();
        let waits = waits(problem);
        let mut lines: Vec<Vec<Job>> = vec![Vec::new(); printers.len()];
        let mut runs: Vec<&PlacedRun> = known.runs.iter().collect();
        runs.sort_by_key(|r| (r.class, r.slot, r.harvest.from, r.load.is_some()));
        for run in runs {
            // Classes and their printers are in order here, too.
            let line = &mut lines[printers.partition_point(|&p| p < (run.class, run.slot))];
            let empty_from = line.last().map_or(0, |job| job.harvest_key);
            let load_key = run.load.map_or(0, |load| load.from);
            let kept_for = waits.iter().rev().find(|wait| empty_from < wait.0 && wait.1 <= load_key);
            line.push(Job {
                mode: run.mode,
                held: run.load.is_none(),
                not_before: kept_for.map_or(0, |wait| wait.1),
                load_key,
                harvest_key: run.harvest.from,
            });
        }
        let mut boxes: Vec<Vec<Min>> = vec![Vec::new(); problem.orders.len()];
        known.boxes.iter().for_each(|b| boxes[b.order].push(b.task.from));
        boxes.iter_mut().for_each(|keys| keys.sort_unstable());
        let mut need: Vec<i64> = problem.stock.iter().map(|&stock| -stock).collect();
        problem.orders.iter().flat_map(|o| &o.needs).for_each(|&(part, copies)| need[part] += copies);
        let mut sequences = Sequences {
            problem,
            times: Times::new(problem, &printers),
            printers,
            now: Decisions { lines, turn: (0..problem.orders.len()).collect(), boxes },
            supply: Vec::new(),
            need,
            crew: Crew::new(problem),
            clock: Clock::new(problem),
            packing: Packing::new(problem),
            waits,
            rng: ChaCha8Rng::seed_from_u64(seed),
        };
        sequences.count_supply();
        sequences
    }

    /// Times the plan as it is, shipments in the turn that does best; `None` where it cannot be timed.
    fn begin(&mut self, allowed: &[Min], aim: Min) -> Option<Verdict> {
        let mut best: Option<(Verdict, Vec<usize>)> = None;
        for turn in turns(self.problem) {
            self.now.turn = turn;
            let Some(verdict) = self.time(allowed, aim) else { continue };
            if best.as_ref().is_none_or(|b| verdict < b.0) {
                best = Some((verdict, self.now.turn.clone()));
            }
        }
        self.now.turn = best?.1;
        let verdict = self.time(allowed, aim);
        self.take_keys();
        verdict
    }

    /// Tasks that a pass places.
    fn tasks(&self) -> u64 {
        self.now.lines.iter().map(|line| 2 * line.len() as u64).sum::<u64>()
            + self.now.boxes.iter().map(|keys| keys.len() as u64).sum::<u64>()
    }
}

/// What a load may be kept for, by when it ends: the end of a night, or a release. A printer that is empty before the first
/// minute can wait for the second.
fn waits(problem: &Problem<'_>) -> Vec<(Min, Min)> {
    let releases = problem.orders.iter().map(|o| (o.release, o.release)).filter(|wait| wait.0 > 0);
    let mut waits: Vec<(Min, Min)> = problem.nights.iter().copied().chain(releases).collect();
    waits.sort_unstable_by_key(|wait| (wait.1, wait.0));
    waits
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dispatch::quick;
    use platewright_model::Instance;
    use std::path::Path;

    fn saved(name: &str) -> Instance {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances").join(name);
        platewright_model::tables::read(&folder).expect("a saved instance")
    }

    #[test]
    fn a_plan_timed_by_its_own_minutes_is_no_later() {
        for name in
            ["harbour-week", "tiny-packing", "tiny-release", "tiny-changeover", "tiny-stock-running", "three-weekly"]
        {
            let instance = saved(name);
            let problem = Problem::new(&instance);
            let mut plans = 0;
            quick(&problem, false, 1, &|| false, &mut |merit, plan| {
                plans += 1;
                let open = vec![problem.horizon; problem.orders.len()];
                let mut sequences = Sequences::new(&problem, &plan, 1);
                let verdict = sequences.begin(&open, 0).expect("what is a plan can be timed");
                assert!(i64::from(verdict.makespan) <= merit.value, "{name}: {verdict:?} after {merit:?}");
                let again = sequences.time(&open, 0).expect("once more");
                assert!(again.makespan <= verdict.makespan, "{name}: {again:?} after {verdict:?}");
            });
            assert!(plans > 0, "{name} has a plan");
        }
    }

    #[test]
    fn what_is_taken_back_is_as_it_was() {
        let instance = saved("harbour-week");
        let problem = Problem::new(&instance);
        let mut last = None;
        quick(&problem, false, 1, &|| false, &mut |_, plan| last = Some(plan));
        let mut sequences = Sequences::new(&problem, &last.expect("the demo has a quick plan"), 1);
        let open = vec![problem.horizon; problem.orders.len()];
        let verdict = sequences.begin(&open, 0);
        let (lines, supply) = (sequences.now.lines.clone(), sequences.supply.clone());
        let mut changes = 0;
        for _ in 0..2_000 {
            let Some(before) = sequences.change() else { continue };
            changes += 1;
            assert!(sequences.supply.iter().zip(&sequences.need).all(|(supply, need)| supply >= need));
            sequences.take_back(before);
            assert_eq!((&sequences.now.lines, &sequences.supply), (&lines, &supply));
        }
        assert!(changes > 500, "{changes} changes");
        assert_eq!(sequences.time(&open, 0), verdict);
    }
}
