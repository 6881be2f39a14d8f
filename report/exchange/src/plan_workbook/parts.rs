//! Parts made, needed, given and left over; and who gets which.

use super::table::{Pen, Value};
use platewright_model::instance::ShipmentId;
use platewright_model::{Count, Instance, Plan, kits};
use platewright_report::phases::Names;
use rust_xlsxwriter::{Worksheet, XlsxError};
use std::collections::HashMap;

/// One part's figures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Tally {
    needed: u64,
    stock: u64,
    made: u64,
    runs: u64,
    given: u64,
}

pub(super) fn write(sheet: &mut Worksheet, instance: &Instance, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let tallies = tallies(instance, plan);
    let rows = instance.parts.iter().zip(&tallies).map(|(part, tally)| {
        let whole = |count: u64| Value::from(Count(count));
        [
            (&part.name).into(),
            instance.materials.get(part.material.index()).into(),
            whole(tally.needed),
            whole(tally.stock),
            whole(tally.made),
            whole(tally.given),
            whole((tally.stock + tally.made).saturating_sub(tally.given)),
            whole(tally.runs),
            part.per_bag.into(),
            part.grams.map_or(Value::Blank, |grams| Value::Number(grams * tally.made as f64)),
        ]
    });
    let columns = [
        ("part", 24),
        ("material", 14),
        ("needed", 10),
        ("stock", 10),
        ("made", 10),
        ("given", 10),
        ("surplus", 10),
        ("runs", 10),
        ("per_bag", 10),
        ("grams_printed", 16),
    ];
    pen.fill(sheet, "parts", columns, rows).map(drop)
}

fn tallies(instance: &Instance, plan: &Plan) -> Vec<Tally> {
    let mut tallies = vec![Tally::default(); instance.parts.len()];
    for shipment in (0..).map(ShipmentId).take(instance.shipments.len()) {
        kits::needs(instance, shipment).iter().for_each(|(part, count)| tallies[part.index()].needed += count.0);
    }
    instance.stock.iter().for_each(|stock| tallies[stock.part.index()].stock += stock.quantity.0);
    let names = Names::of(instance);
    for (_, _, plate) in plan.runs.iter().filter_map(|run| names.plate_of(run)) {
        for (part, copies) in &plate.copies {
            tallies[part.index()].made += copies.0;
            tallies[part.index()].runs += 1;
        }
    }
    let places: HashMap<&str, usize> =
        instance.parts.iter().enumerate().map(|(place, part)| (part.name.as_str(), place)).collect();
    for given in &plan.allocation {
        if let Some(tally) = places.get(given.part.as_str()).and_then(|place| tallies.get_mut(*place)) {
            tally.given += given.count.0;
        }
    }
    tallies
}

pub(super) fn write_allocation(sheet: &mut Worksheet, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let rows = plan
        .allocation
        .iter()
        .map(|given| [given.source.name().into(), (&given.part).into(), (&given.shipment).into(), given.count.into()]);
    pen.fill(sheet, "allocation", [("source", 12), ("part", 24), ("shipment", 24), ("count", 10)], rows).map(drop)
}
