//! The object of `plan`.

use super::{stamp, weighted};
use platewright_model::plan::Objective;
use platewright_model::{Instance, Plan};
use serde::Serialize;
use serde_json::Number;
use std::time::Duration;

/// What `plan --json` prints. Without a plan, the figures of one are null and the reasons are there.
#[derive(Debug, Serialize)]
pub struct Planned {
    outcome: &'static str,
    objective: &'static str,
    value_minutes: Option<i64>,
    bound_minutes: Option<i64>,
    gap: Option<f64>,
    makespan_minutes: Option<i64>,
    late_minutes: Option<Number>,
    late_bound_minutes: Option<Number>,
    idle_printer_minutes: Option<i64>,
    surplus_parts: Option<u64>,
    runs: Option<usize>,
    operator_minutes: Option<i64>,
    engine: Option<String>,
    seconds: f64,
    shipments: Option<Vec<Shipment>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reasons: Option<Vec<String>>,
}

#[derive(Debug, Serialize)]
struct Shipment {
    shipment: String,
    ready: String,
    due: Option<String>,
    late_minutes: i64,
}

/// A plan, and the wall time it took.
pub fn plan(instance: &Instance, plan: &Plan, took: Duration) -> Planned {
    let claims = &plan.claims;
    let shipments = plan.shipments.iter().map(|s| Shipment {
        shipment: s.shipment.clone(),
        ready: stamp(instance, s.ready),
        due: s.due.map(|due| stamp(instance, due)),
        late_minutes: s.late.0,
    });
    Planned {
        outcome: claims.outcome.word(),
        objective: plan.objective.word(),
        value_minutes: Some(claims.value.0),
        bound_minutes: Some(claims.bound.0),
        gap: Some(claims.gap()),
        makespan_minutes: Some(claims.makespan.0),
        late_minutes: Some(weighted(claims.late)),
        late_bound_minutes: Some(weighted(claims.late_bound)),
        idle_printer_minutes: Some(claims.idle.0),
        surplus_parts: Some(claims.surplus_parts.0),
        runs: Some(plan.runs.len()),
        operator_minutes: Some(claims.operator_minutes.0),
        engine: Some(claims.engine.clone()),
        seconds: seconds(took),
        shipments: Some(shipments.collect()),
        reasons: None,
    }
}

/// No plan: `infeasible` where that is proven, `unknown` where it is not.
pub fn none(objective: Objective, proven: bool, reasons: &[String], took: Duration) -> Planned {
    Planned {
        outcome: if proven { "infeasible" } else { "unknown" },
        objective: objective.word(),
        value_minutes: None,
        bound_minutes: None,
        gap: None,
        makespan_minutes: None,
        late_minutes: None,
        late_bound_minutes: None,
        idle_printer_minutes: None,
        surplus_parts: None,
        runs: None,
        operator_minutes: None,
        engine: None,
        seconds: seconds(took),
        shipments: None,
        reasons: Some(reasons.to_vec()),
    }
}

fn seconds(took: Duration) -> f64 {
    (took.as_secs_f64() * 1000.0).round() / 1000.0
}
