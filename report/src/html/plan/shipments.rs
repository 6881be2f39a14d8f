//! Shipments: what leaves, when it is ready, and how that stands to its due date.

use super::addition::bar;
use crate::html::axis::Axis;
use crate::html::moment::Figure;
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::shipments::standings;
use crate::span::Span;
use platewright_model::{Instance, Minutes, Plan};
use std::collections::HashMap;

/// One row per shipment, numbered as the charts refer to them.
pub(super) fn table(instance: &Instance, plan: &Plan) -> Table {
    let span = Span::of_plan(instance, plan);
    // The bars leave room for due dates a little after the end; those far away lie on the edge.
    let room = span.length().0 + span.length().0 / 4;
    let last = plan.shipments.iter().filter_map(|s| s.due).filter(|due| (*due - span.from).0 <= room).max();
    let axis = Axis { span: Span { to: last.map_or(span.to, |due| due.max(span.to)), ..span }, ticks: Vec::new() };
    let contents: HashMap<&str, String> = instance
        .shipments
        .iter()
        .map(|shipment| {
            let lines = shipment.lines.iter().filter_map(|line| {
                let kit = instance.kits.get(line.kit.index())?;
                Some(format!("{} {}", line.quantity, shown(&kit.name)))
            });
            (shipment.name.as_str(), lines.collect::<Vec<_>>().join(", "))
        })
        .collect();
    let heads = ["#no.", "shipment", "ready", "due", "to spare", "#late, min", "to ready; mark: due", "kits"];
    let mut table = Table::new("Shipments", &heads);
    table.id = Some("shipments");
    for (number, (standing, row)) in standings(plan).into_iter().zip(&plan.shipments).enumerate() {
        let share = |at| axis.place(at) / 100.0;
        table.row([
            Cell::figure(number + 1),
            Cell::head(&standing.shipment),
            Cell::moment(instance, standing.ready),
            standing.due.map_or_else(|| Cell::Words("any time".to_owned()), |due| Cell::moment(instance, due)),
            Cell::Words(match standing.spare {
                Some(spare) if spare < Minutes::ZERO => format!("late by {}", Minutes(-spare.0)),
                Some(spare) => spare.to_string(),
                None => String::new(),
            }),
            Cell::Stated(Figure::new("shipment_late_minutes", row.late.0, row.late.0)),
            Cell::Drawing(bar(share(standing.ready), standing.due.map(share))),
            Cell::Name(contents.get(standing.shipment.as_str()).cloned().unwrap_or_default()),
        ]);
    }
    table
}
