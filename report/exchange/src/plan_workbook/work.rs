//! Shipments, runs and the crew's tasks.

use super::table::{Pen, Value};
use platewright_model::plan::{Task, Work};
use platewright_model::{Instance, Plan};
use rust_xlsxwriter::{Worksheet, XlsxError};
use std::collections::HashMap;

pub(super) fn write_shipments(sheet: &mut Worksheet, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let rows = plan.shipments.iter().map(|shipment| {
        let spare = shipment.due.map(|due| due - shipment.ready);
        [(&shipment.shipment).into(), shipment.ready.into(), shipment.due.into(), shipment.late.into(), spare.into()]
    });
    let columns = [("shipment", 24), ("ready", 17), ("due", 17), ("late_minutes", 14), ("minutes_to_spare", 18)];
    pen.fill(sheet, "shipments", columns, rows).map(drop)
}

pub(super) fn write_runs(
    sheet: &mut Worksheet,
    instance: &Instance,
    plan: &Plan,
    pen: Pen<'_>,
) -> Result<(), XlsxError> {
    let bays: HashMap<&str, &str> =
        instance.printers.iter().filter_map(|p| Some((p.name.as_str(), p.bay.as_deref()?))).collect();
    let rows = plan.runs.iter().map(|run| {
        let load = run.load.as_ref();
        [
            (&run.run).into(),
            (&run.printer).into(),
            bays.get(run.printer.as_str()).copied().into(),
            (&run.plate).into(),
            load.map(|load| load.from).into(),
            load.map(|load| load.print_from).into(),
            run.ready.into(),
            run.harvest_from.into(),
            run.harvest_to.into(),
            load.map(|load| &load.loader).into(),
            (&run.harvester).into(),
            load.map(|load| load.print_from - load.from).into(),
            load.map(|load| run.ready - load.print_from).into(),
            (run.harvest_from - run.ready).into(),
        ]
    });
    let columns = [
        ("run", 10),
        ("printer", 14),
        ("bay", 14),
        ("plate", 24),
        ("load_from", 17),
        ("print_from", 17),
        ("ready", 17),
        ("harvest_from", 17),
        ("harvest_to", 17),
        ("loader", 14),
        ("harvester", 14),
        ("load_minutes", 14),
        ("print_and_cool_minutes", 24),
        ("blocked_minutes", 17),
    ];
    pen.fill(sheet, "runs", columns, rows).map(drop)
}

pub(super) fn write_tasks(sheet: &mut Worksheet, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let columns = [
        ("operator", 14),
        ("task", 10),
        ("from", 17),
        ("to", 17),
        ("minutes", 10),
        ("printer", 14),
        ("run", 10),
        ("shipment", 24),
        ("kit", 24),
    ];
    pen.fill(sheet, "tasks", columns, plan.tasks.iter().map(task)).map(drop)
}

fn task(task: &Task) -> [Value; 9] {
    let (word, about) = match &task.work {
        Work::Load { run, printer } => ("load", [printer.into(), run.into(), Value::Blank, Value::Blank]),
        Work::Harvest { run, printer } => ("harvest", [printer.into(), run.into(), Value::Blank, Value::Blank]),
        Work::Pack { shipment, kit } => ("pack", [Value::Blank, Value::Blank, shipment.into(), kit.into()]),
    };
    let [printer, run, shipment, kit] = about;
    [
        (&task.operator).into(),
        word.into(),
        task.from.into(),
        task.to.into(),
        (task.to - task.from).into(),
        printer,
        run,
        shipment,
        kit,
    ]
}
