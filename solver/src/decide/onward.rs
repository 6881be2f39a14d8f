//! What a change gains: a search that goes on from the plan of the farm as it was.
//!
//! Whoever asks what one more of a dozen things would gain does not want to wait for a dozen plans from nothing. The
//! known plan is put on the changed farm's floor ([`super::known`]), and searches with a stated amount of work aim below its end, from it
//! and from an empty floor; a bound says where to stop. What they find is compared with what the same search finds where
//! nothing was changed, so that only the change counts for a gain. Small rooms, which are planned completely in no time,
//! and the quick engine are left to the ordinary planner.

use super::aims::{self, Aim};
use super::meet::slot;
use super::tries::{Tries, Work};
use super::{Planner, merit};
use crate::columns::bound::{Effort, Relaxation};
use crate::engine::{Answer, EngineChoice, Guide};
use crate::problem::{Min, Order, Problem};
use platewright_model::plan::ShipmentPlan;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};

/// Rounds of columns for a bound.
const ROUNDS: usize = 200;
/// Moments that are aimed at.
const AIMS: usize = 10;
/// Shares of the way from due to ready, in hundredths, that are tried where something is late.
const LESS_LATE: [i64; 4] = [0, 25, 50, 75];
/// Minutes closer than which it does not matter.
const GRAIN: Min = 4;

/// A plan for a farm, as good as is found by going on from a plan for much the same farm; where that plan is valid here
/// and nothing better is found, it is given. None where there is no plan.
pub fn onward(planner: &Planner<'_>, question: &str, farm: &Instance, known: &Plan) -> Option<Plan> {
    if planner.engine == EngineChoice::Quick || known.claims.engine == "complete" {
        let Answer::Plan(plan) = planner.plan(question, farm) else { return None };
        return Some(planner.better(*plan, known, farm));
    }
    (planner.progress)(question, None);
    let problem = Problem::new(farm);
    let mut tries = Tries::new(planner, &problem);
    let carried = planner.carry(known, farm, Minutes::ZERO, WeightedMinutes::ZERO);
    let mut best = carried.or_else(|| tries.put_back(known));
    let lateness = best.as_ref().unwrap_or(known).claims.late;
    if lateness > WeightedMinutes::ZERO {
        let less_late = |share| tries.aim(&between_due_and_ready(&problem, known, share), Some(known), Work::WHOLE);
        let found = LESS_LATE.into_iter().find_map(less_late);
        best = found.into_iter().chain(best).min_by_key(merit);
    }
    let late = best.as_ref().map_or(lateness, |best| best.claims.late);
    let allowed = problem.no_later(late.0);
    let makespan = |plan: &Plan| plan.claims.makespan.0 as Min;
    let until = makespan(best.as_ref().unwrap_or(known)).min(problem.horizon);
    let relaxation = Relaxation::new(&problem, &allowed, slot(until));
    let effort = Effort { rounds: ROUNDS, finest: slot(until), coarsest: slot(until) };
    let bound = relaxation.climb(0, until, &[], None, effort, &|_| planner.is_over());
    tries = tries.guided(Guide::new(&problem, &relaxation, bound.prices.as_ref()));
    let mut failed = bound.makespan - 1;
    for _ in 0..AIMS {
        let end = best.as_ref().map_or(until + 1, makespan);
        let Some(aim) = aims::next(&problem, failed, end, GRAIN).filter(|_| !planner.is_over()) else { break };
        let deadlines: Vec<Option<Min>> = allowed.iter().map(|&by| Some(by.min(aim.at()))).collect();
        let work = if matches!(aim, Aim::ShiftEnd(_)) { Work::LEAP } else { Work::NEAR };
        let found = tries.aim(&deadlines, Some(best.as_ref().unwrap_or(known)), work);
        if found.as_ref().is_none_or(|plan| makespan(plan) > aim.at()) {
            failed = aim.at();
        }
        best = best.into_iter().chain(found).min_by_key(merit);
    }
    let bound = Minutes(i64::from(bound.makespan));
    match (best, planner.is_over()) {
        (Some(best), _) => planner.carry(&best, farm, bound, WeightedMinutes::ZERO),
        (None, true) => None,
        (None, false) => match planner.plan(question, farm) {
            Answer::Plan(plan) => Some(*plan),
            Answer::None { .. } => None,
        },
    }
}

/// Deadlines for a plan that is less late: for what is late, a share of the way from due to ready; for the rest, when it
/// is due.
fn between_due_and_ready(problem: &Problem<'_>, known: &Plan, share: i64) -> Vec<Option<Min>> {
    let deadline = |(order, shipment): (&Order, &ShipmentPlan)| {
        let due = order.due.filter(|_| order.weight > 0)?;
        Some((i64::from(due) + shipment.late.0 * share / 100).clamp(0, i64::from(problem.horizon)) as Min)
    };
    problem.orders.iter().zip(&known.shipments).map(deadline).collect()
}
