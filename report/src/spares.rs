//! Spares: with what chance each shipment's parts suffice, and what that costs in runs and hours.

use crate::page::{Grid, Lean, Page};
use crate::phases::Names;
use platewright_model::instance::{PartId, ShipmentId};
use platewright_model::log::{Entry, Event};
use platewright_model::plan::Source;
use platewright_model::spares::Tally;
use platewright_model::{Count, Instance, Plan, kits};
use std::collections::{BTreeMap, HashMap, HashSet};

/// One shipment's spares.
#[derive(Debug, Clone, PartialEq)]
pub struct ShipmentSpares {
    /// The shipment's name.
    pub shipment: String,
    /// Copies kept beyond those that go into it.
    pub copies: Count,
    /// The chance that all its parts suffice, or where a mixed plate gives it several parts, a little less than that.
    pub chance: f64,
}

/// What the spares cost. A run counts with the share of its copies that are spare.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SparesCost {
    /// Spare copies.
    pub copies: u64,
    /// Runs.
    pub runs: f64,
    /// Minutes that printers print for them.
    pub printer_minutes: f64,
    /// Minutes that operators load and harvest for them.
    pub operator_minutes: f64,
}

/// Every shipment's spares, in the instance's order.
pub fn spares(instance: &Instance, plan: &Plan) -> Vec<ShipmentSpares> {
    let names = Names::of(instance);
    let rates: HashMap<&str, f64> = plan
        .runs
        .iter()
        .filter_map(|run| names.plate_of(run).map(|(_, _, plate)| (run.run.as_str(), plate.failure_rate)))
        .collect();
    // In mid-week, what the log has counted is there for certain.
    let is_over = |entry: &&Entry| plan.since.is_some_and(|since| entry.at <= since);
    let counted: HashSet<&str> = instance
        .log
        .iter()
        .filter(is_over)
        .filter(|entry| matches!(entry.event, Event::Harvested { .. } | Event::Failed { .. }))
        .filter_map(|entry| entry.event.run())
        .collect();
    let of_shipment = |(id, shipment): (ShipmentId, &platewright_model::instance::Shipment)| {
        let rows = || plan.allocation.iter().filter(|row| row.shipment == shipment.name);
        let needs = kits::needs(instance, id);
        let chance = |(part, need): &(PartId, Count)| {
            let part = &instance.parts[part.index()];
            let mut tally = Tally::new(part.reject_rate);
            let mut by_run: BTreeMap<&str, u64> = BTreeMap::new();
            for row in rows().filter(|row| row.part == part.name) {
                let copies = row.count.0.saturating_add(row.spare.0);
                match &row.source {
                    Source::Stock => tally.add_certain(copies),
                    Source::Run(run) if counted.contains(run.as_str()) => tally.add_certain(copies),
                    Source::Run(run) => *by_run.entry(run).or_default() += copies,
                }
            }
            for (run, copies) in by_run {
                tally.add_runs(1, copies, rates.get(run).copied().unwrap_or(0.0));
            }
            tally.chance(need.0)
        };
        ShipmentSpares {
            shipment: shipment.name.clone(),
            copies: rows().fold(Count(0), |sum, row| sum + row.spare),
            chance: needs.iter().map(chance).product(),
        }
    };
    (0..).map(ShipmentId).zip(&instance.shipments).map(of_shipment).collect()
}

/// What the plan's spares cost.
pub fn cost(instance: &Instance, plan: &Plan) -> SparesCost {
    let names = Names::of(instance);
    let mut by_run: HashMap<&str, u64> = HashMap::new();
    let mut cost = SparesCost::default();
    for row in &plan.allocation {
        cost.copies += row.spare.0;
        if let Source::Run(run) = &row.source {
            *by_run.entry(run).or_default() += row.spare.0;
        }
    }
    for run in &plan.runs {
        let (Some(&spare), Some((_, _, plate))) = (by_run.get(run.run.as_str()), names.plate_of(run)) else { continue };
        let copies: u64 = plate.copies.iter().map(|(_, copies)| copies.0).sum();
        let share = spare as f64 / copies.max(1) as f64;
        let load = run.load.as_ref().map_or(0, |load| (load.print_from - load.from).0);
        cost.runs += share;
        cost.printer_minutes += share * plate.minutes.0 as f64;
        cost.operator_minutes += share * (load + (run.harvest_to - run.harvest_from).0) as f64;
    }
    cost
}

/// Percent to a tenth, rounded down: a chance is never shown higher than it is.
fn percent(chance: f64) -> String {
    format!("{:.1} %", ((chance * 1000.0 + 1e-6).floor() / 10.0).min(100.0))
}

fn hours(minutes: f64) -> String {
    let minutes = minutes.round() as i64;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let Some(asked) = instance.farm.spares else { return };
    page.heading("Spares");
    let cost = cost(instance, plan);
    page.say(&format!(
        "Asked for: every shipment's parts suffice with a chance of {}, plates failing whole and copies rejected at the \
         rates in the tables. That takes {} spare copies, the work of {:.1} runs: {} printing hours and {} hours of an \
         operator. They are surplus if all goes well.",
        percent(asked.confidence),
        cost.copies,
        cost.runs,
        hours(cost.printer_minutes),
        hours(cost.operator_minutes)
    ));
    let mut grid = Grid::new([("shipment", Lean::Left), ("spare copies", Lean::Right), ("chance", Lean::Right)]);
    for row in spares(instance, plan) {
        grid.row([row.shipment, row.copies.to_string(), percent(row.chance)]);
    }
    page.table(&grid);
}

/// What each plan's confidence takes, where any asks for one.
pub(crate) fn side_by_side<'a>(plans: impl Iterator<Item = (&'a str, &'a Instance, &'a Plan)>, page: &mut Page) {
    let plans: Vec<_> = plans.collect();
    if plans.iter().all(|(_, instance, _)| instance.farm.spares.is_none()) {
        return;
    }
    page.heading("Spares");
    page.say(
        "Copies kept so that every shipment's parts suffice with the chance asked for, and their share of the plan's \
         runs and hours. Least: the chance of the shipment that is least sure.",
    );
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("asked", Lean::Right),
        ("least", Lean::Right),
        ("copies", Lean::Right),
        ("runs", Lean::Right),
        ("of all", Lean::Right),
        ("printing", Lean::Right),
        ("crew", Lean::Right),
    ]);
    for (name, instance, plan) in plans {
        let cost = cost(instance, plan);
        let least = spares(instance, plan).into_iter().map(|row| row.chance).min_by(f64::total_cmp).unwrap_or(1.0);
        grid.row([
            name.to_owned(),
            instance.farm.spares.map_or_else(|| "-".to_owned(), |asked| percent(asked.confidence)),
            percent(least),
            cost.copies.to_string(),
            format!("{:.1}", cost.runs),
            plan.runs.len().to_string(),
            hours(cost.printer_minutes),
            hours(cost.operator_minutes),
        ]);
    }
    page.table(&grid);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use platewright_model::instance::Spares;

    #[test]
    fn spares_are_counted_and_cost_a_share_of_their_runs() {
        let mut instance = sample::instance();
        let mut plan = sample::plan(&instance);
        // Bases fail one in twenty and there are two runs of one each: 0.95 squared. Of five cups at 0.1 four are needed.
        plan.allocation.push(platewright_model::plan::Allocation {
            source: Source::Stock,
            count: Count(0),
            spare: Count(1),
            ..plan.allocation[0].clone()
        });
        let cups = 0.9_f64.powi(4);
        let found = spares(&instance, &plan);
        assert_eq!(found[0].copies, Count(1));
        // The spare in stock is certain: at least three of the four printed are good.
        let of_cups = cups + 4.0 * 0.1 * 0.9_f64.powi(3);
        assert!((found[0].chance - 0.95 * 0.95 * of_cups).abs() < 1e-12, "{found:?}");
        assert_eq!(cost(&instance, &plan), SparesCost { copies: 1, ..SparesCost::default() });
        plan.allocation[1].spare = Count(1);
        let cost = cost(&instance, &plan);
        assert_eq!((cost.copies, cost.runs, cost.printer_minutes, cost.operator_minutes), (2, 1.0, 600.0, 7.0));

        let mut page = Page::new("x");
        section(&instance, &plan, &mut page);
        assert!(!page.text().contains("Spares"), "nobody asked");
        instance.farm.spares = Some(Spares { confidence: 0.8 });
        let mut page = Page::new("x");
        section(&instance, &plan, &mut page);
        let text = page.text();
        assert!(text.contains("chance of 80.0 %") && text.contains("10:00 printing hours"), "{text}");
        assert_eq!([percent(0.949_99), percent(0.95), percent(1.0)], ["94.9 %", "95.0 %", "100.0 %"]);
    }
}
