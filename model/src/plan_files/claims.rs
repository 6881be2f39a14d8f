//! What `plan.json` states of the plan, beside the tables.

use super::rows;
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::plan::{Claims, Labelled, Objective, Outcome, PLAN_FORMAT, Plan};
use crate::tables::findings::Wrong;
use crate::tables::{limits, moment, words};
use crate::units::{Count, Instant, Minutes, WeightedMinutes};
use serde::{Deserialize, Serialize};
use serde_json::Number;

/// The figures, in the order in which the file has them.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Stated {
    pub(super) format: u32,
    instance_digest: String,
    outcome: String,
    objective: String,
    /// From when it plans, where that is not the farm's start.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    since: Option<String>,
    value_minutes: i64,
    bound_minutes: i64,
    pub(super) gap: f64,
    makespan_minutes: i64,
    late_minutes: Number,
    late_bound_minutes: Number,
    idle_printer_minutes: i64,
    surplus_parts: u64,
    run_count: u64,
    operator_minutes: i64,
    engine: String,
    seed: u64,
    notes: Vec<String>,
    prices: Vec<String>,
    #[serde(default, skip_serializing_if = "Labelled::is_empty")]
    pub(super) labelled: Labelled,
}

impl Stated {
    /// What the plan states.
    pub(super) fn of(plan: &Plan, clock: Clock) -> Stated {
        let claims = &plan.claims;
        Stated {
            format: PLAN_FORMAT,
            instance_digest: plan.instance_digest.clone(),
            outcome: claims.outcome.word().to_owned(),
            objective: plan.objective.word().to_owned(),
            since: plan.since.map(|since| rows::stamp(clock, since)),
            value_minutes: claims.value.0,
            bound_minutes: claims.bound.0,
            gap: claims.gap(),
            makespan_minutes: claims.makespan.0,
            late_minutes: weighted(claims.late),
            late_bound_minutes: weighted(claims.late_bound),
            idle_printer_minutes: claims.idle.0,
            surplus_parts: claims.surplus_parts.0,
            run_count: claims.runs.0,
            operator_minutes: claims.operator_minutes.0,
            engine: claims.engine.clone(),
            seed: claims.seed,
            notes: claims.notes.clone(),
            prices: claims.prices.clone(),
            labelled: plan.labelled.clone(),
        }
    }

    /// From when the plan plans.
    pub(super) fn since(&self) -> Result<Option<Instant>, (&'static str, Wrong)> {
        self.since.as_deref().map(|text| moment::stamp(text).map_err(|wrong| ("since", wrong))).transpose()
    }

    /// The digest, the objective and the claims.
    pub(super) fn read(&self) -> Result<(String, Objective, Claims), (&'static str, Wrong)> {
        let objective = Objective::from_word(&self.objective);
        let objective = objective.ok_or_else(|| unknown("objective", &self.objective, &["soonest", "least-idle"]))?;
        let outcome = [Outcome::Optimal, Outcome::Feasible].into_iter().find(|o| o.word() == self.outcome);
        let outcome = outcome.ok_or_else(|| unknown("outcome", &self.outcome, &["optimal", "feasible"]))?;
        let claims = Claims {
            outcome,
            value: minutes("value_minutes", self.value_minutes)?,
            bound: minutes("bound_minutes", self.bound_minutes)?,
            makespan: minutes("makespan_minutes", self.makespan_minutes)?,
            late: weighted_minutes("late_minutes", &self.late_minutes)?,
            late_bound: weighted_minutes("late_bound_minutes", &self.late_bound_minutes)?,
            idle: minutes("idle_printer_minutes", self.idle_printer_minutes)?,
            surplus_parts: Count(self.surplus_parts),
            runs: Count(self.run_count),
            operator_minutes: minutes("operator_minutes", self.operator_minutes)?,
            engine: self.engine.clone(),
            seed: self.seed,
            notes: self.notes.clone(),
            prices: self.prices.clone(),
        };
        Ok((self.instance_digest.clone(), objective, claims))
    }
}

/// Weighted minutes as a JSON number: whole where they are whole, so that `4` does not read `4.0`.
fn weighted(minutes: WeightedMinutes) -> Number {
    let whole = minutes.0 % 1000 == 0;
    let fraction = if whole { None } else { Number::from_f64(minutes.in_minutes()) };
    fraction.unwrap_or_else(|| Number::from(minutes.0 / 1000))
}

fn minutes(key: &'static str, stated: i64) -> Result<Minutes, (&'static str, Wrong)> {
    let in_range = (-limits::CLAIMED..=limits::CLAIMED).contains(&stated);
    in_range.then_some(Minutes(stated)).ok_or_else(|| out_of_range(key, &stated.to_string()))
}

fn weighted_minutes(key: &'static str, stated: &Number) -> Result<WeightedMinutes, (&'static str, Wrong)> {
    let read = stated.as_f64().and_then(WeightedMinutes::from_minutes);
    read.ok_or_else(|| out_of_range(key, &stated.to_string()))
}

fn out_of_range(key: &'static str, stated: &str) -> (&'static str, Wrong) {
    let message = format!("{stated} is no figure that a plan can have.");
    (key, Wrong::new(FaultCode::OutOfRange, message, "Plan again, or delete plan.json to check the tables alone."))
}

fn unknown(key: &'static str, stated: &str, known: &'static [&'static str]) -> (&'static str, Wrong) {
    let help = format!("Known are {}.", words::listed(known.iter().copied()));
    (key, Wrong::new(FaultCode::UnknownWord, format!("\"{stated}\" is not one of these words."), help))
}
