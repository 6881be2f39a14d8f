//! One of two searches side by side: attempts from an empty floor, then from one dive after another.
//!
//! A round ends where its aims meet: what was met and what was not are neighbours, or the work is done. The next round,
//! from a floor with other luck, may still meet a lower aim. An empty floor is filled at no cost; a floor that was dived
//! for ([`crate::dive`]) begins with half as much missing or less, and each one misses something else, but a dive costs
//! as much as a thousand moves. Where printers are few or differ, dives are worth it for both searches, and so is letting
//! moves that push raise the shortage a little. Where many are alike, that takes a third more time and finds nothing
//! more; and:
//!
//! * close to the bound (the known plan within half a percent) no dive fits better than what a search finds from an empty
//!   floor, if it may raise the shortage and has the patience for it, or if its printers may push others aside;
//! * farther away, aims near the bound are out of reach from an empty floor, and working up from them used most of the work.
//!   A dive for an aim two thirds of the way down lacks one to two percent, and 0.3 after three attempts' work, where an
//!   empty floor lacks 0.6 to 1.4. So one search tries an empty floor once and dives then, with longer attempts; the other,
//!   which first makes the bound finer, is patient for a third of the work. Where days can be searched by themselves
//!   ([`super::by_days`]), both do that instead, with less work, and no dive comes near it.
//!
//! The first round may aim past the known plan: a floor of its own comes down from there, where that plan's end leaves no
//! aim between it and the night before. Whatever a round finds is then tried for a few minutes earlier as it is.

use super::aims::{Aims, settled};
use super::guide::Guide;
use super::hunt::Limit;
use super::meet::meet;
use crate::dive::Dive;
use crate::floor::Floor;
use crate::improve::Gait;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};

/// Work of all rounds together, in steps of longest paths, and the attempts it is divided into.
pub(super) const WORK: u64 = 1_200_000_000;
pub(super) const ATTEMPTS: u64 = 18;
/// What a round of columns of a dive counts, in steps of longest paths: in general, and where many printers are alike, whose
/// rounds price few paths, and the bound is not close.
const ROUND: u64 = 600_000;
const ROUND_ALIKE: u64 = 150_000;

/// Attempts, at most, to end a plan that a round has found a few minutes earlier.
const LAST_ATTEMPTS: u64 = 3;
/// The part of the way from the bound to the known plan by which the first round may aim past it.
const BEYOND: Min = 10;

/// With so many times the work a search by days goes on that has no plan yet.
const LONGER: u64 = 3;

/// So many printers that live under the same conditions are many.
const MANY: usize = 40;
/// Work of all rounds together where they are fewer: the rest is for sequences ([`super::sequences`]).
const WORK_OF_FEW: u64 = WORK / 3 * 2;
/// A bound is close that lies below the known plan by less than this part of its makespan.
const CLOSE: Min = 200;

/// How a search goes about it.
#[derive(Clone, Copy)]
pub(super) struct Manner {
    gait: Gait,
    /// Where days can be searched by themselves ([`super::by_days`]), that is what it does, with so many times the work if it
    /// has no plan by then.
    pub(super) by_days: Option<u64>,
    /// Work of all its rounds, and the part of it that the round from an empty floor gets.
    pub(super) work: u64,
    from_empty: u64,
    /// How far from the best plan to the bound later rounds begin, in hundredths: the one after the empty floor, and the rest.
    down: [i64; 2],
    /// How later rounds begin.
    later: Later,
}

/// How rounds begin that do not begin from an empty floor for the first time.
#[derive(Clone, Copy)]
enum Later {
    /// From an empty floor again, with so many times the work of an attempt in the round before.
    Emptied(u64),
    /// From a dive, with so many times the work of an attempt; a dive's rounds of columns count so many steps each.
    Dived { longer: u64, round: u64 },
}

/// Whether a room has many printers that live under the same conditions.
pub(super) fn are_many(problem: &Problem<'_>) -> bool {
    let alike = |terrain: &Vec<usize>| terrain.iter().map(|&c| problem.classes[c].printers.len()).sum::<usize>();
    problem.terrains().iter().map(alike).max().unwrap_or(0) >= MANY
}

/// The two, for a plan of a makespan and a bound on it. The second makes the bound finer before.
pub(super) fn manners(problem: &Problem<'_>, low: Min, makespan: Min) -> [Manner; 2] {
    let patient = Manner {
        gait: Gait::Wandering,
        by_days: None,
        work: WORK,
        from_empty: 1,
        down: [33; 2],
        later: Later::Emptied(3),
    };
    let pushing = Manner {
        gait: Gait::Downhill,
        by_days: None,
        work: WORK,
        from_empty: 3,
        down: [25; 2],
        later: Later::Dived { longer: 1, round: ROUND },
    };
    if !are_many(problem) {
        let rolling = Manner { gait: Gait::Rolling, work: WORK_OF_FEW, ..pushing };
        return [Manner { from_empty: 8, down: [75; 2], ..rolling }, rolling];
    }
    if makespan - low < makespan / CLOSE {
        return [patient, pushing];
    }
    let diving = Manner {
        by_days: Some(LONGER),
        work: WORK / 5 * 2,
        from_empty: ATTEMPTS,
        down: [65, 40],
        later: Later::Dived { longer: 3, round: ROUND_ALIKE },
        ..pushing
    };
    [diving, Manner { by_days: Some(LONGER), work: WORK / 4, ..patient }]
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
        let (mut work, attempt) = (manner.work, WORK / ATTEMPTS);
        let beyond = makespan + (makespan - low) / BEYOND;
        let mut half_way: Option<(Min, Dive<'p>)> = None;
        let mut aims = Aims::from(low, beyond.min(problem.horizon), attempt, work / manner.from_empty);
        aims.first = settled(problem, aims.first);
        let mut floor = Floor::new(problem, allowed);
        let mut plans: Vec<(Merit, Schedule)> = Vec::new();
        let mut best = makespan;
        for round in 0u64.. {
            let mut search = guide.search(manner.gait, floor, seed.wrapping_add(round));
            let met = meet(&mut search, allowed, aims, limit, report);
            work = work.saturating_sub(search.work().max(1));
            if let Some((merit, schedule)) = soonest(&met).filter(|found| found.0.value < i64::from(best)) {
                let (earlier, spent) = self.last_minutes(manner.gait, *merit, schedule, seed.wrapping_add(round));
                work = work.saturating_sub(spent);
                best = soonest(&earlier).map_or(*merit, |found| found.0.min(*merit)).value as Min;
                plans.extend(earlier);
            }
            plans.extend(met);
            if best <= low || work < attempt || limit.over() {
                break;
            }
            let way = i64::from(best - 1 - low);
            let down = manner.down[usize::from(round > 0)];
            let first = settled(problem, best - 1 - (way * down / 100) as Min);
            let attempt = match manner.later {
                Later::Emptied(longer) => {
                    floor = Floor::new(problem, allowed);
                    longer.saturating_mul(aims.attempt)
                }
                Later::Dived { longer, round: steps } => {
                    let (dived, rounds) = self.dived(first, &mut half_way, seed.wrapping_add(round));
                    floor = dived;
                    work = work.saturating_sub(rounds * steps);
                    longer * attempt
                }
            };
            aims = Aims { low, first, best, attempt, work, again: true };
        }
        plans
    }

    /// Earlier by a few minutes: a plan as it is, with pushes and without. Says what work that took.
    pub(super) fn last_minutes(
        &self,
        gait: Gait,
        merit: Merit,
        schedule: &Schedule,
        seed: u64,
    ) -> (Vec<(Merit, Schedule)>, u64) {
        let Rounds { problem, allowed, low, guide, limit, report, .. } = *self;
        let attempt = WORK / ATTEMPTS;
        let pushing = if gait == Gait::Wandering { Gait::Downhill } else { gait };
        let (mut plans, mut best, mut spent) = (Vec::new(), merit.value as Min, 0);
        let mut floor = Floor::with_runs(problem, &schedule.runs, allowed);
        for again in 0..LAST_ATTEMPTS {
            if best <= low || limit.over() {
                break;
            }
            let gait = if again % 2 == 0 { pushing } else { Gait::Wandering };
            let mut search = guide.search(gait, floor.clone(), seed ^ again);
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

pub(super) fn soonest(plans: &[(Merit, Schedule)]) -> Option<&(Merit, Schedule)> {
    plans.iter().min_by_key(|plan| (plan.0.value, plan.0))
}
