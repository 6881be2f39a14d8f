//! Several farms planned at once, each as if it were alone, after which a plan of one may stand in for that of another.
//!
//! Threads take one farm after the other; a farm's search does not know of them, so the plans are the same whatever
//! the threads do. Then every plan is tried on every other farm: a plan for a poorer farm is a plan for a richer one,
//! and where the checker agrees and it is better than what was found there, it is kept. So no scenario is shown worse
//! than one from which it differs by more printers, hands or hours.

use crate::farms::Farm;
use crate::two_threads;
use platewright_checker as checker;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};
use platewright_report::comparison::Entry;
use platewright_solver::decide::{Planner, merit};
use platewright_solver::{Answer, EngineChoice};
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

/// How each farm is searched.
pub struct Search<'a> {
    /// By which engine.
    pub engine: EngineChoice,
    /// Longest wall time for one farm.
    pub time_limit: Option<Duration>,
    /// Seed of the random choices, the same for all.
    pub seed: u64,
    /// Set from outside to end all searches.
    pub stop: &'a AtomicBool,
    /// Told the name of a farm that is done.
    pub done: &'a (dyn Fn(&str) + Sync),
}

impl Search<'_> {
    /// Lets a planner answer whose time begins now.
    fn ask<T>(&self, question: impl FnOnce(&Planner<'_>) -> T) -> T {
        question(&Planner {
            engine: self.engine,
            until: self.time_limit.and_then(|limit| Instant::now().checked_add(limit)),
            seed: self.seed,
            stop: self.stop,
            progress: &|_, _| {},
            accept: &|instance, plan| checker::check(instance, plan).holds(),
        })
    }
}

/// Plans every farm, in the order given.
pub fn plan(farms: Vec<Farm>, search: &Search<'_>) -> Vec<Entry> {
    let answers: Vec<_> = alone(&farms, search).into_iter().map(plan_or_reasons).collect();
    let best = (0..farms.len()).map(|at| best(at, &farms, &answers, search)).collect::<Vec<_>>();
    let entry =
        |(farm, outcome): (Farm, _)| Entry { name: farm.name, about: farm.about, instance: farm.instance, outcome };
    farms.into_iter().zip(best).map(entry).collect()
}

/// Each farm's own answer, in the order given.
pub fn alone(farms: &[Farm], search: &Search<'_>) -> Vec<Answer> {
    two_threads::each(farms, |farm| {
        let answer = search.ask(|planner| planner.plan(&farm.name, &farm.instance));
        (search.done)(&farm.name);
        answer
    })
}

fn plan_or_reasons(answer: Answer) -> Result<Plan, Vec<String>> {
    match answer {
        Answer::Plan(plan) => Ok(*plan),
        Answer::None { reasons, .. } => Err(reasons),
    }
}

/// The best plan for a farm of all that were found, its own first where it is as good.
fn best(
    at: usize,
    farms: &[Farm],
    answers: &[Result<Plan, Vec<String>>],
    search: &Search<'_>,
) -> Result<Plan, Vec<String>> {
    let (farm, own) = (&farms[at], &answers[at]);
    let mut best = own.clone();
    for (other, plan) in farms.iter().zip(answers).filter(|(other, _)| other.name != farm.name) {
        let Ok(plan) = plan else { continue };
        let better = |plan: &Plan| best.as_ref().ok().is_none_or(|best| merit(plan) < merit(best));
        if let Some(plan) = carried(plan, &other.name, &farm.instance, own.as_ref().ok(), search).filter(better) {
            best = Ok(plan);
        }
    }
    best
}

/// A plan of another farm as one of this, with the bounds that were proven here; none where it breaks a rule here.
fn carried(plan: &Plan, from: &str, to: &Instance, own: Option<&Plan>, search: &Search<'_>) -> Option<Plan> {
    let bound = own.map_or(Minutes::ZERO, |own| own.claims.bound);
    let late_bound = own.map_or(WeightedMinutes::ZERO, |own| own.claims.late_bound);
    let mut carried = search.ask(|planner| planner.carry(plan, to, bound, late_bound))?;
    carried.claims.notes.push(format!("the plan of {from} is better here than what was found, and stands in"));
    Some(carried)
}
