//! What the plan states of itself, under the names of `plan.json`.

use super::table::{Pen, Value};
use platewright_model::{Instance, Plan};
use rust_xlsxwriter::{Worksheet, XlsxError};

pub(super) fn write(sheet: &mut Worksheet, instance: &Instance, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let (farm, claims) = (&instance.farm, &plan.claims);
    let zone = farm.clock.zone();
    let ready = plan.shipments.iter().map(|shipment| shipment.ready).max();
    let mut rows: Vec<[Value; 3]> = [
        ("farm", (&farm.name).into(), ""),
        ("start", farm.start.into(), "nothing is loaded before"),
        ("last_ready", ready.into(), "the last shipment is ready"),
        ("objective", plan.objective.word().into(), ""),
        ("outcome", claims.outcome.word().into(), "optimal: no plan is better"),
        ("value_minutes", claims.value.into(), "what was minimised after lateness"),
        ("bound_minutes", claims.bound.into(), "no plan can have less, proven"),
        ("gap", Value::Share(claims.gap()), "value less bound, over value"),
        ("makespan_minutes", claims.makespan.into(), "from the start to the last shipment's ready time"),
        ("late_minutes", Value::Number(claims.late.in_minutes()), "weighted, over all shipments"),
        ("late_bound_minutes", Value::Number(claims.late_bound.in_minutes()), "no plan can be less late, proven"),
        ("idle_printer_minutes", claims.idle.into(), ""),
        ("surplus_parts", claims.surplus_parts.into(), "made or in stock, for no shipment"),
        ("runs", claims.runs.into(), ""),
        ("operator_minutes", claims.operator_minutes.into(), "over all tasks"),
        ("engine", (&claims.engine).into(), ""),
        ("seed", Value::Text(claims.seed.to_string()), ""),
        ("instance", (&plan.instance_digest).into(), ""),
    ]
    .map(|(name, value, meaning)| [name.into(), value, meaning.into()])
    .to_vec();
    let times = format!("All times are wall times in {zone}; columns in minutes are elapsed time.");
    let remarks = std::iter::once(&times).chain(&claims.notes).chain(&claims.prices);
    rows.extend(remarks.map(|remark| ["note".into(), remark.into(), Value::Blank]));
    pen.fill(sheet, "plan", [("figure", 24), ("value", 30), ("meaning", 60)], rows).map(drop)
}
