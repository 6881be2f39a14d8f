//! The object of `check`.

use super::{stamp, weighted};
use platewright_checker::{Breach, Figures};
use platewright_model::Instance;
use serde::Serialize;
use serde_json::Number;

/// What `check --json` prints: the breaches, and the figures as recomputed.
#[derive(Debug, Serialize)]
pub struct Checked {
    outcome: &'static str,
    claims_checked: bool,
    breaches: Vec<BreachObject>,
    makespan_minutes: i64,
    late_minutes: Number,
    idle_printer_minutes: i64,
    surplus_parts: u64,
    runs: u64,
    operator_minutes: i64,
    shipments: Vec<Shipment>,
}

/// One breach.
#[derive(Debug, Serialize)]
pub struct BreachObject {
    rule: &'static str,
    run: Option<String>,
    printer: Option<String>,
    operator: Option<String>,
    shipment: Option<String>,
    from: Option<String>,
    to: Option<String>,
    message: String,
}

#[derive(Debug, Serialize)]
struct Shipment {
    shipment: String,
    ready: String,
    due: Option<String>,
    late_minutes: i64,
}

/// What was found: `holds` or `broken`.
pub fn findings(instance: &Instance, breaches: &[Breach], figures: &Figures, claims_checked: bool) -> Checked {
    Checked {
        outcome: if breaches.is_empty() { "holds" } else { "broken" },
        claims_checked,
        breaches: breaches.iter().map(|b| breach(instance, b)).collect(),
        makespan_minutes: figures.makespan.0,
        late_minutes: weighted(figures.late),
        idle_printer_minutes: figures.idle.0,
        surplus_parts: figures.surplus_parts.0,
        runs: figures.runs.0,
        operator_minutes: figures.operator_minutes.0,
        shipments: figures
            .shipments
            .iter()
            .map(|s| Shipment {
                shipment: s.shipment.clone(),
                ready: stamp(instance, s.ready),
                due: s.due.map(|due| stamp(instance, due)),
                late_minutes: s.late.0,
            })
            .collect(),
    }
}

fn breach(instance: &Instance, breach: &Breach) -> BreachObject {
    BreachObject {
        rule: breach.rule.code(),
        run: breach.run.clone(),
        printer: breach.printer.clone(),
        operator: breach.operator.clone(),
        shipment: breach.shipment.clone(),
        from: breach.from.map(|at| stamp(instance, at)),
        to: breach.to.map(|at| stamp(instance, at)),
        message: breach.message.clone(),
    }
}
