//! One of two searches side by side: attempts from an empty floor, then from one dive after another.
//!
//! A round ends where its aims meet: what was met and what was not are neighbours, or the work is done. The next round,
//! from a floor with other luck, may still meet a lower aim. An empty floor is filled at no cost; a floor that was dived for
//! ([`crate::dive`]) begins with half as much missing or less, and each one misses something else, but a dive costs as much
//! as a thousand moves. Where printers are few or differ, dives are worth it for both searches. Where many are alike, a
//! search that may raise the shortage and has the patience for it gets as far from an empty floor.
//!
//! The first round may aim past the known plan: a floor of its own comes down from there, where that plan's end leaves no
//! aim between it and the night before. Whatever a round finds is then tried for a few minutes earlier as it is.

use super::aims::{Aims, settled};
use super::guide::Guide;
use super::hunt::Limit;
use super::meet::meet;
use crate::dive::Dive;
use crate::floor::Floor;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// Work of all rounds together, in steps of longest paths, and the attempts it is divided into.
pub(super) const WORK: u64 = 1_200_000_000;
pub(super) const ATTEMPTS: u64 = 18;
/// What a round of columns of a dive counts, in steps of longest paths.
const DIVE_WORK: u64 = 600_000;

/// Attempts, at most, to end a plan that a round has found a few minutes earlier.
const LAST_ATTEMPTS: u64 = 3;
/// The part of the way from the bound to the known plan by which the first round may aim past it.
const BEYOND: Min = 10;

/// So many printers that live under the same conditions are many.
const MANY: usize = 40;

/// How a search goes about it.
#[derive(Clone, Copy)]
pub(super) struct Manner {
    /// Whether no move may raise the shortage ([`crate::improve::Search::downhill`]).
    downhill: bool,
    /// The part of the work that the round from an empty floor gets.
    from_empty: u64,
    /// Whether later rounds begin from dives, how far from the best plan to the bound, in hundredths, and how many times the
    /// work of an attempt in the round before theirs have.
    dives: bool,
    down: i64,
    longer: u64,
}

/// The two.
pub(super) fn manners(problem: &Problem<'_>) -> [Manner; 2] {
    let alike = |terrain: &Vec<usize>| terrain.iter().map(|&c| problem.classes[c].printers.len()).sum::<usize>();
    let many = problem.terrains().iter().map(alike).max().unwrap_or(0) >= MANY;
    let patient = Manner { downhill: false, from_empty: 1, dives: false, down: 33, longer: 3 };
    let diving = Manner { downhill: false, from_empty: 8, dives: true, down: 75, longer: 1 };
    let other = Manner { downhill: true, from_empty: 3, dives: true, down: 25, longer: 1 };
    [if many { patient } else { diving }, other]
}

/// What rounds know.
pub(super) struct Rounds<'t, 'p, 'r> {
    pub(super) problem: &'p Problem<'p>,
    /// The latest each shipment may be.
    pub(super) allowed: &'t [Min],
    /// The bound on the makespan, and that of the plan known.
    pub(super) low: Min,
    pub(super) makespan: Min,
    pub(super) guide: &'t Guide,
    pub(super) limit: &'t Limit<'r>,
    /// Told of each plan.
    pub(super) report: &'t dyn Fn(&Merit),
}

impl<'p> Rounds<'_, 'p, '_> {
    /// Round after round, as long as work is left; every plan found.
    pub(super) fn go(&self, manner: Manner, seed: u64) -> Vec<(Merit, Schedule)> {
        let Rounds { problem, allowed, low, makespan, guide, limit, report } = *self;
        let (mut work, attempt) = (WORK, WORK / ATTEMPTS);
        let beyond = makespan + (makespan - low) / BEYOND;
        let mut half_way: Option<(Min, Dive<'p>)> = None;
        let mut aims = Aims::from(low, beyond.min(problem.horizon), attempt, work / manner.from_empty);
        aims.first = settled(problem, aims.first);
        let mut floor = Floor::new(problem, allowed);
        let mut plans: Vec<(Merit, Schedule)> = Vec::new();
        let mut best = makespan;
        for round in 0u64.. {
            let mut search = guide.search_so(manner.downhill, floor, seed.wrapping_add(round));
            let met = meet(&mut search, allowed, aims, limit, report);
            work = work.saturating_sub(search.work().max(1));
            if let Some((merit, schedule)) = soonest(&met).filter(|found| found.0.value < i64::from(best)) {
                let (earlier, spent) = self.last_minutes(*merit, schedule, seed.wrapping_add(round));
                work = work.saturating_sub(spent);
                best = soonest(&earlier).map_or(*merit, |found| found.0.min(*merit)).value as Min;
                plans.extend(earlier);
            }
            plans.extend(met);
            if best <= low || work < attempt || limit.over() {
                break;
            }
            let way = i64::from(best - 1 - low);
            let first = settled(problem, best - 1 - (way * manner.down / 100) as Min);
            floor = Floor::new(problem, allowed);
            if manner.dives {
                let (dived, rounds) = self.dived(first, &mut half_way, seed.wrapping_add(round));
                floor = dived;
                work = work.saturating_sub(rounds * DIVE_WORK);
            }
            aims = Aims { low, first, best, attempt: manner.longer.saturating_mul(aims.attempt), work, again: true };
        }
        plans
    }

    /// Earlier by a few minutes: a plan as it is, in the one manner and the other. Says what work that took.
    fn last_minutes(&self, merit: Merit, schedule: &Schedule, seed: u64) -> (Vec<(Merit, Schedule)>, u64) {
        let Rounds { problem, allowed, low, guide, limit, report, .. } = *self;
        let attempt = WORK / ATTEMPTS;
        let (mut plans, mut best, mut spent) = (Vec::new(), merit.value as Min, 0);
        let mut floor = Floor::with_runs(problem, &schedule.runs, allowed);
        for again in 0..LAST_ATTEMPTS {
            if best <= low || limit.over() {
                break;
            }
            let mut search = guide.search_so(again % 2 == 0, floor.clone(), seed ^ again);
            let aims = Aims { low, first: best - 1, best, attempt, work: LAST_ATTEMPTS * attempt, again: true };
            let earlier = meet(&mut search, allowed, aims, limit, report);
            spent += search.work();
            if let Some((merit, schedule)) = soonest(&earlier) {
                best = best.min(merit.value as Min);
                floor = Floor::with_runs(problem, &schedule.runs, allowed);
            }
            plans.extend(earlier);
        }
        (plans, spent)
    }

    /// A floor dived for an aim; a second one for the same aim goes on from half way of the first. Says how many rounds of
    /// columns it took.
    fn dived(&self, aim: Min, half_way: &mut Option<(Min, Dive<'p>)>, seed: u64) -> (Floor<'p>, u64) {
        let stop = || self.limit.over();
        let (before, mut dive) = match half_way {
            Some((of, dive)) if *of == aim => (dive.rounds(), dive.clone()),
            _ => {
                let deadlines: Vec<Min> = self.allowed.iter().map(|&d| d.min(aim)).collect();
                let mut dive = Dive::new(Floor::new(self.problem, &deadlines), &deadlines);
                dive.go_on(dive.floor.machines.len() / 2, seed, &stop);
                *half_way = Some((aim, dive.clone()));
                (0, dive)
            }
        };
        dive.go_on(0, seed, &stop);
        let rounds = dive.rounds() - before;
        (dive.floor, rounds)
    }
}

fn soonest(plans: &[(Merit, Schedule)]) -> Option<&(Merit, Schedule)> {
    plans.iter().min_by_key(|plan| (plan.0.value, plan.0))
}
