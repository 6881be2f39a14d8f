//! The rows of the four tables, in one shape for CSV and for `plan.json`: a blank cell there is a `null` here.

use crate::calendar::Clock;
use crate::plan::{Plan, Work};
use crate::units::Instant;
use chrono::SecondsFormat;
use serde::Serialize;
use std::io;

pub(super) const RUN_COLUMNS: [&str; 10] = [
    "run",
    "printer",
    "plate",
    "load_from",
    "print_from",
    "ready",
    "harvest_from",
    "harvest_to",
    "loader",
    "harvester",
];
pub(super) const TASK_COLUMNS: [&str; 8] = ["operator", "task", "from", "to", "printer", "run", "shipment", "kit"];
pub(super) const ALLOCATION_COLUMNS: [&str; 4] = ["source", "part", "shipment", "count"];
/// The column that says how many more copies are kept as spares; only where a plan has some.
pub(super) const SPARE: &str = "spare";
pub(super) const SHIPMENT_COLUMNS: [&str; 4] = ["shipment", "ready", "due", "late_minutes"];

#[derive(Serialize)]
pub(super) struct RunRow<'p> {
    run: &'p str,
    printer: &'p str,
    plate: &'p str,
    load_from: Option<String>,
    print_from: Option<String>,
    ready: String,
    harvest_from: String,
    harvest_to: String,
    loader: Option<&'p str>,
    harvester: &'p str,
}

#[derive(Serialize)]
pub(super) struct TaskRow<'p> {
    operator: &'p str,
    task: &'static str,
    from: String,
    to: String,
    printer: Option<&'p str>,
    run: Option<&'p str>,
    shipment: Option<&'p str>,
    kit: Option<&'p str>,
}

#[derive(Serialize)]
pub(super) struct AllocationRow<'p> {
    source: &'p str,
    part: &'p str,
    shipment: &'p str,
    count: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    spare: Option<u64>,
}

#[derive(Serialize)]
pub(super) struct ShipmentRow<'p> {
    shipment: &'p str,
    ready: String,
    due: Option<String>,
    late_minutes: i64,
}

/// An instant as files show it: RFC 3339 with the offset in force.
pub(super) fn stamp(clock: Clock, instant: Instant) -> String {
    clock.stamp(instant).to_rfc3339_opts(SecondsFormat::Secs, false)
}

pub(super) fn runs(plan: &Plan, clock: Clock) -> Vec<RunRow<'_>> {
    plan.runs
        .iter()
        .map(|run| RunRow {
            run: &run.run,
            printer: &run.printer,
            plate: &run.plate,
            load_from: run.load.as_ref().map(|load| stamp(clock, load.from)),
            print_from: run.load.as_ref().map(|load| stamp(clock, load.print_from)),
            ready: stamp(clock, run.ready),
            harvest_from: stamp(clock, run.harvest_from),
            harvest_to: stamp(clock, run.harvest_to),
            loader: run.load.as_ref().map(|load| load.loader.as_str()),
            harvester: &run.harvester,
        })
        .collect()
}

pub(super) fn tasks(plan: &Plan, clock: Clock) -> Vec<TaskRow<'_>> {
    plan.tasks
        .iter()
        .map(|task| {
            let (word, on_run, of_row) = match &task.work {
                Work::Load { run, printer } => ("load", Some((run, printer)), None),
                Work::Harvest { run, printer } => ("harvest", Some((run, printer)), None),
                Work::Pack { shipment, kit } => ("pack", None, Some((shipment, kit))),
            };
            TaskRow {
                operator: &task.operator,
                task: word,
                from: stamp(clock, task.from),
                to: stamp(clock, task.to),
                printer: on_run.map(|(_, printer)| printer.as_str()),
                run: on_run.map(|(run, _)| run.as_str()),
                shipment: of_row.map(|(shipment, _)| shipment.as_str()),
                kit: of_row.map(|(_, kit)| kit.as_str()),
            }
        })
        .collect()
}

/// Who reads `count` alone reads a true allocation: spares are beside it, and surplus if all goes well.
pub(super) fn allocation(plan: &Plan) -> Vec<AllocationRow<'_>> {
    let has_spares = has_spares(plan);
    plan.allocation
        .iter()
        .map(|row| AllocationRow {
            source: row.source.name(),
            part: &row.part,
            shipment: &row.shipment,
            count: row.count.0,
            spare: has_spares.then_some(row.spare.0),
        })
        .collect()
}

fn has_spares(plan: &Plan) -> bool {
    plan.allocation.iter().any(|row| row.spare.0 > 0)
}

pub(super) fn shipments(plan: &Plan, clock: Clock) -> Vec<ShipmentRow<'_>> {
    plan.shipments
        .iter()
        .map(|row| ShipmentRow {
            shipment: &row.shipment,
            ready: stamp(clock, row.ready),
            due: row.due.map(|due| stamp(clock, due)),
            late_minutes: row.late.0,
        })
        .collect()
}

/// The texts of the four tables under their files' names.
pub(super) fn texts(plan: &Plan, clock: Clock) -> io::Result<Vec<(&'static str, Vec<u8>)>> {
    let mut of_allocation = ALLOCATION_COLUMNS.to_vec();
    if has_spares(plan) {
        of_allocation.push(SPARE);
    }
    Ok(vec![
        ("runs.csv", csv_text(&RUN_COLUMNS, &runs(plan, clock))?),
        ("tasks.csv", csv_text(&TASK_COLUMNS, &tasks(plan, clock))?),
        ("allocation.csv", csv_text(&of_allocation, &allocation(plan))?),
        ("shipments.csv", csv_text(&SHIPMENT_COLUMNS, &shipments(plan, clock))?),
    ])
}

/// A table as text. The header is written by hand, because a table without rows has one too; a name that begins with
/// `#` is quoted, so that nobody takes its row for a comment.
fn csv_text(columns: &[&str], rows: &[impl Serialize]) -> io::Result<Vec<u8>> {
    let mut writer = csv::WriterBuilder::new().has_headers(false).comment(Some(b'#')).from_writer(Vec::new());
    writer.write_record(columns)?;
    for row in rows {
        writer.serialize(row)?;
    }
    writer.into_inner().map_err(|error| error.into_error())
}
