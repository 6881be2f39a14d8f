//! The object of `compare`.

use super::{stamp, weighted};
use platewright_report::comparison::{Comparison, Entry, Figures, trade};
use platewright_report::costs::{CostSheet, Decimal};
use platewright_report::working_time;
use serde::Serialize;
use serde_json::Number;

/// What `compare --json` prints.
#[derive(Debug, Serialize)]
pub struct Compared {
    outcome: &'static str,
    scenarios: Vec<Scenario>,
}

#[derive(Debug, Serialize)]
struct Scenario {
    scenario: String,
    about: Option<String>,
    outcome: &'static str,
    figures: Option<FiguresObject>,
    trade: Option<String>,
    beaten_by: Option<String>,
    working_time: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    reasons: Vec<String>,
}

#[derive(Debug, Serialize)]
struct FiguresObject {
    all_ready: String,
    makespan_minutes: i64,
    bound_minutes: i64,
    gap: f64,
    late_minutes: Number,
    late_bound_minutes: Number,
    engine: String,
    notes: Vec<String>,
    printer_minutes: PrinterMinutes,
    crew_minutes: CrewMinutes,
    cost: Option<Cost>,
    shipments: Vec<Shipment>,
}

#[derive(Debug, Serialize)]
struct PrinterMinutes {
    printing: i64,
    cooling: i64,
    blocked: i64,
    handled: i64,
    down: i64,
    empty: i64,
    total: i64,
}

#[derive(Debug, Serialize)]
struct CrewMinutes {
    paid: i64,
    busy: i64,
    night_paid: i64,
    night_busy: i64,
    weekend_paid: i64,
    weekend_busy: i64,
}

/// Amounts in the currency, exact to the cent.
#[derive(Debug, Serialize)]
struct Cost {
    currency: String,
    printers: Number,
    crew: Number,
    night_premium: Number,
    filament: Number,
    energy: Number,
    total: Number,
    kits: u64,
    per_kit: Option<Number>,
}

#[derive(Debug, Serialize)]
struct Shipment {
    shipment: String,
    ready: String,
    due: Option<String>,
    late_minutes: i64,
}

/// Every scenario with its figures; `compared` where at least one has a plan.
pub fn comparison(comparison: &Comparison) -> Compared {
    let base = comparison.entries.first().zip(comparison.figures.first().and_then(Option::as_ref));
    let scenarios = comparison.entries.iter().zip(&comparison.figures).enumerate().map(|(at, (entry, figures))| {
        let against = base.zip(figures.as_ref()).filter(|_| at > 0);
        Scenario {
            scenario: entry.name.clone(),
            about: entry.about.clone(),
            outcome: entry.outcome.as_ref().map_or("none", |plan| plan.claims.outcome.word()),
            figures: figures.as_ref().and_then(|figures| of(entry, figures)),
            trade: against.map(|(base, figures)| trade(base, (entry, figures))),
            beaten_by: comparison.beaten_by(at).map(|rival| rival.name.clone()),
            working_time: working_time::sentences(&entry.instance),
            reasons: entry.outcome.as_ref().err().cloned().unwrap_or_default(),
        }
    });
    let any = comparison.figures.iter().any(Option::is_some);
    Compared { outcome: if any { "compared" } else { "unknown" }, scenarios: scenarios.collect() }
}

fn of(entry: &Entry, figures: &Figures) -> Option<FiguresObject> {
    let plan = entry.outcome.as_ref().ok()?;
    let (split, paid, busy) = (figures.hours, figures.crew.paid, figures.crew.busy);
    Some(FiguresObject {
        all_ready: stamp(&entry.instance, figures.ready),
        makespan_minutes: figures.makespan.0,
        bound_minutes: plan.claims.bound.0,
        gap: plan.claims.gap(),
        late_minutes: weighted(figures.late),
        late_bound_minutes: weighted(plan.claims.late_bound),
        engine: plan.claims.engine.clone(),
        notes: plan.claims.notes.clone(),
        printer_minutes: PrinterMinutes {
            printing: split.printing.0,
            cooling: split.cooling.0,
            blocked: split.blocked.0,
            handled: split.handled.0,
            down: split.down.0,
            empty: split.empty.0,
            total: split.total().0,
        },
        crew_minutes: CrewMinutes {
            paid: paid.all.0,
            busy: busy.all.0,
            night_paid: paid.night.0,
            night_busy: busy.night.0,
            weekend_paid: paid.weekend.0,
            weekend_busy: busy.weekend.0,
        },
        cost: figures.costs.as_ref().map(cost),
        shipments: plan
            .shipments
            .iter()
            .map(|s| Shipment {
                shipment: s.shipment.clone(),
                ready: stamp(&entry.instance, s.ready),
                due: s.due.map(|due| stamp(&entry.instance, due)),
                late_minutes: s.late.0,
            })
            .collect(),
    })
}

fn cost(sheet: &CostSheet) -> Cost {
    let [printers, crew, night_premium, filament, energy] = sheet.lines().map(|(_, amount)| number(amount));
    Cost {
        currency: sheet.currency.clone(),
        printers,
        crew,
        night_premium,
        filament,
        energy,
        total: number(sheet.total()),
        kits: sheet.kits.0,
        per_kit: sheet.per_kit().map(number),
    }
}

/// An amount as JSON has it; one of cents is written as short as it can be.
fn number(amount: Decimal) -> Number {
    let text = amount.normalize().to_string();
    text.parse().unwrap_or_else(|_| Number::from(0))
}
