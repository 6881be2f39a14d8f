//! What has to be settled before the hunt: how careful to be with spares, and when the first lots are promised.
//!
//! Both make the problem that is searched a little narrower than the instance, and the problem that bounds are proven
//! on a little wider; the reasons are told in [`crate::spares`] and [`crate::after`]. Where neither is asked for, both
//! are the instance itself.

use super::hunt::{COMPLETE_STATES, FIRST_ROUNDS, Limit, is_small};
use super::{EngineChoice, Request, descent, guide};
use crate::columns::bound::Relaxation;
use crate::dispatch::{Manner, dispatch};
use crate::finish::finish;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use crate::{after, complete, mix};
use platewright_model::plan::Objective;

/// Levels of caution that are tried.
const LEVELS: u32 = 8;
/// Minutes by which first lots are promised later than the earliest found, until the rest can be planned around them.
const SLACKS: [Min; 7] = [0, 10, 60, 240, 720, 1440, 2880];
/// How often a first lot is tried for half-way between what is proven and what is found.
const ATTEMPTS: usize = 3;

/// The instance as it is searched and as bounds are proven on it, and a plan found on the way.
pub(super) struct Stage<'a> {
    pub(super) search: Problem<'a>,
    pub(super) relaxed: Problem<'a>,
    pub(super) known: Option<(Merit, Schedule)>,
}

/// A first lot: the shipment, before when no plan has it ready, when the best plan for it alone has, and when the
/// dispatcher's.
struct Lead {
    order: usize,
    earliest: Min,
    found: Min,
    dispatched: Min,
}

/// Sets the stage.
pub(super) fn set<'a>(problem: Problem<'a>, request: &Request<'_>, limit: &Limit<'_>) -> Stage<'a> {
    let mut stage = Stage { relaxed: problem.clone(), search: problem, known: None };
    let leads = after::leads(&stage.search);
    if leads.is_empty() {
        stage.search = cautious(stage.search, limit);
        return stage;
    }
    let open = stage.search.clone();
    let mut known: Vec<Lead> = Vec::new();
    for order in leads {
        let lead = lead(&stage, order, request, limit);
        promise(&mut stage.search, order, lead.found);
        after::release_after(&mut stage.relaxed, order, lead.earliest);
        known.push(lead);
    }
    // Promises from the earliest on, until the rest can be planned around one.
    let later = |slack: Min, of: fn(&Lead) -> Min| -> Vec<Min> {
        let lots = |lead: &Lead| after::line_of(&open, lead.order).len() as Min;
        known.iter().map(|lead| of(lead).saturating_add(slack * lots(lead)).min(open.horizon)).collect()
    };
    let mut promises: Vec<Vec<Min>> =
        SLACKS.iter().flat_map(|&s| [later(s, |lead| lead.found), later(s, |lead| lead.dispatched)]).collect();
    promises.sort();
    promises.dedup();
    for ready in promises {
        let mut search = open.clone();
        known.iter().zip(&ready).for_each(|(lead, &ready)| promise(&mut search, lead.order, ready));
        let search = cautious(search, limit);
        let mut done = limit.over() || quick(&search).is_some();
        if !done && request.engine != EngineChoice::Quick {
            let (aims, guide) = (vec![search.horizon; search.orders.len()], guide::Guide::plain(&search));
            let least_idle = request.objective == Objective::LeastIdle;
            stage.known = descent::attempt(&search, &aims, &guide, request.seed, least_idle, limit);
            done = stage.known.is_some();
        }
        if done {
            stage.search = search;
            break;
        }
    }
    stage
}

/// Promises a first lot for a minute.
fn promise(search: &mut Problem<'_>, order: usize, ready: Min) {
    search.orders[order].ready_by = ready;
    after::release_after(search, order, ready);
}

/// The problem with aims at which the dispatcher's plan reaches the confidence.
fn cautious<'a>(problem: Problem<'a>, limit: &Limit<'_>) -> Problem<'a> {
    if problem.confidence.is_none() {
        return problem;
    }
    for level in 0..LEVELS {
        let tried = problem.clone().aimed(level);
        let price = mix::prices(&tried);
        let Some(manner) = Manner::all(&tried).into_iter().next() else { break };
        let floor = dispatch(&tried, &price, manner, &|| false);
        // Where not even the aim is met, a higher one is not either.
        if finish(&floor, false).is_some() || !floor.demand.is_met() || limit.over() {
            return tried;
        }
    }
    problem
}

/// The dispatcher's best plan.
pub(super) fn quick(problem: &Problem<'_>) -> Option<(Merit, Schedule)> {
    let price = mix::prices(problem);
    let plans =
        Manner::all(problem).into_iter().filter_map(|m| finish(&dispatch(problem, &price, m, &|| false), false));
    plans.min_by_key(|plan| plan.0)
}

/// How early a first lot can be ready, with nothing else in the room but the lots before it.
fn lead(stage: &Stage<'_>, order: usize, request: &Request<'_>, limit: &Limit<'_>) -> Lead {
    let line = after::line_of(&stage.search, order);
    let room = cautious(undated(stage.search.only(&line)), limit);
    let first = quick(&room);
    let horizon = room.horizon;
    let mut found = first.as_ref().map_or(horizon, |f| f.1.ready_times(&room)[order]);
    let (mut earliest, dispatched) = (0, found);
    if request.engine != EngineChoice::Quick {
        let alone = undated(stage.relaxed.only(&[order]));
        let mut proven = false;
        if first.as_ref().is_some_and(|f| is_small(&alone, f.1.runs.len())) {
            let done = complete::search(&alone, false, None, COMPLETE_STATES, &|| limit.over());
            proven = done.proven && done.best.is_some();
            earliest = earliest.max(done.value_bound.min(i64::from(horizon)) as Min);
            if let (1, Some(best)) = (line.len(), done.best) {
                found = found.min(best.ready_times(&room)[order]);
            }
        }
        if !proven {
            let open = vec![horizon; alone.orders.len()];
            let relaxation = Relaxation::recurring(&alone, &open, found);
            let effort = relaxation.unrefined(FIRST_ROUNDS);
            earliest = earliest.max(relaxation.climb(0, found, &[], None, effort, &|_| limit.over()).makespan);
            let guide = guide::Guide::plain(&room);
            for _ in 0..ATTEMPTS {
                if earliest >= found || limit.over() {
                    break;
                }
                let mut aims: Vec<Min> = vec![horizon; room.orders.len()];
                aims[order] = earliest + (found - earliest) / 2;
                let done = descent::attempt(&room, &aims, &guide, request.seed, false, limit);
                let Some((_, schedule)) = done else { break };
                found = found.min(schedule.ready_times(&room)[order]);
            }
        }
    }
    Lead { order, earliest: earliest.min(found), found, dispatched }
}

/// With nothing due, so that only how early counts.
fn undated(mut problem: Problem<'_>) -> Problem<'_> {
    problem.orders.iter_mut().for_each(|o| o.due = None);
    problem
}
