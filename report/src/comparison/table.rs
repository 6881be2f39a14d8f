//! The comparison as a table for a spreadsheet: a row for each scenario.

use super::{Comparison, Figures};
use crate::costs::CostSheet;
use platewright_model::Plan;
use std::collections::BTreeSet;

const COLUMNS: [&str; 30] = [
    "scenario",
    "about",
    "outcome",
    "all_ready",
    "makespan_minutes",
    "bound_minutes",
    "gap",
    "late_minutes",
    "printing_minutes",
    "cooling_minutes",
    "blocked_minutes",
    "handled_minutes",
    "down_minutes",
    "empty_minutes",
    "crew_paid_minutes",
    "crew_busy_minutes",
    "night_paid_minutes",
    "night_busy_minutes",
    "weekend_paid_minutes",
    "weekend_busy_minutes",
    "currency",
    "cost_printers",
    "cost_crew",
    "cost_night_premium",
    "cost_filament",
    "cost_energy",
    "cost_total",
    "kits",
    "cost_per_kit",
    "beaten_by",
];

/// CSV with a header row; behind the fixed columns, two for every shipment of any scenario: when it is ready, and by
/// how many minutes it is late.
///
/// # Errors
/// None in practice: text is written into memory.
pub fn csv(comparison: &Comparison) -> Result<String, csv::Error> {
    let shipments: BTreeSet<&str> =
        comparison.planned().flat_map(|(_, figures)| &figures.standings).map(|s| s.shipment.as_str()).collect();
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::Any(b'\n')).from_writer(Vec::new());
    let of_shipments = shipments.iter().flat_map(|name| [format!("ready {name}"), format!("late_minutes {name}")]);
    writer.write_record(COLUMNS.map(str::to_owned).into_iter().chain(of_shipments))?;
    for (at, (entry, figures)) in comparison.entries.iter().zip(&comparison.figures).enumerate() {
        let mut cells = vec![entry.name.clone(), entry.about.clone().unwrap_or_default()];
        match figures.as_ref().zip(entry.outcome.as_ref().ok()) {
            Some((figures, plan)) => {
                let stamp = |at| entry.instance.farm.clock.stamp(at).to_rfc3339();
                cells.extend([plan.claims.outcome.word().to_owned(), stamp(figures.ready)]);
                cells.extend(cells_of(figures, plan));
                cells.push(comparison.beaten_by(at).map(|rival| rival.name.clone()).unwrap_or_default());
                for name in &shipments {
                    let row = plan.shipments.iter().find(|s| s.shipment == *name);
                    cells.push(row.map(|s| stamp(s.ready)).unwrap_or_default());
                    cells.push(row.map(|s| s.late.0.to_string()).unwrap_or_default());
                }
            }
            None => cells.push("no plan".to_owned()),
        }
        cells.resize(COLUMNS.len() + 2 * shipments.len(), String::new());
        writer.write_record(&cells)?;
    }
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn cells_of(figures: &Figures, plan: &Plan) -> Vec<String> {
    let (split, paid, busy) = (figures.hours, figures.crew.paid, figures.crew.busy);
    let minutes = [
        split.printing,
        split.cooling,
        split.blocked,
        split.handled,
        split.down,
        split.empty,
        paid.all,
        busy.all,
        paid.night,
        busy.night,
        paid.weekend,
        busy.weekend,
    ];
    let mut cells = vec![
        figures.makespan.0.to_string(),
        plan.claims.bound.0.to_string(),
        plan.claims.gap().to_string(),
        figures.late.in_minutes().to_string(),
    ];
    cells.extend(minutes.map(|minutes| minutes.0.to_string()));
    let sheet = figures.costs.as_ref();
    cells.push(sheet.map(|sheet| sheet.currency.clone()).unwrap_or_default());
    let lines = sheet.map(|sheet| sheet.lines().map(|(_, amount)| amount.to_string())).unwrap_or_default();
    cells.extend(lines);
    cells.extend([
        sheet.map(|sheet| sheet.total().to_string()).unwrap_or_default(),
        sheet.map(|sheet| sheet.kits.to_string()).unwrap_or_default(),
        sheet.and_then(CostSheet::per_kit).map(|amount| amount.to_string()).unwrap_or_default(),
    ]);
    cells
}
