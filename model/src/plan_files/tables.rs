//! The four tables read back into a plan. Names stay names: whether they mean anything is for the checker to say.

use super::rows::{ALLOCATION_COLUMNS, RUN_COLUMNS, SHIPMENT_COLUMNS, SPARE, TASK_COLUMNS};
use crate::fault::FaultCode;
use crate::instance::Instance;
use crate::plan::{Allocation, Claims, Load, Objective, Outcome, Plan, Run, ShipmentPlan, Source, Task, Work};
use crate::tables::cells::Cells;
use crate::tables::findings::{Findings, Wrong};
use crate::tables::sheet::{Row, Sheet, Spec};
use crate::tables::{folder, limits, moment, words};
use crate::units::{Count, Instant, Minutes, WeightedMinutes};
use std::collections::HashMap;
use std::path::Path;

const RUNS: Spec = Spec { file: "runs.csv", required: &RUN_COLUMNS, optional: &[], may_be_empty: true };
const TASKS: Spec = Spec { file: "tasks.csv", required: &TASK_COLUMNS, optional: &[], may_be_empty: true };
const ALLOCATION: Spec =
    Spec { file: "allocation.csv", required: &ALLOCATION_COLUMNS, optional: &[SPARE], may_be_empty: true };
const SHIPMENTS: Spec = Spec { file: "shipments.csv", required: &SHIPMENT_COLUMNS, optional: &[], may_be_empty: true };

/// Reads the tables that are there; the claims are those that the tables make.
pub(super) fn read(
    instance: &Instance,
    folder: &Path,
    is_there: impl Fn(&str) -> bool,
    findings: &mut Findings,
) -> Plan {
    let sheet = |spec: &'static Spec, findings: &mut Findings| {
        let text = if is_there(spec.file) { folder::read_text(folder, spec.file, findings) } else { None };
        text.map_or_else(|| Sheet::absent(spec), |text| Sheet::read(spec, &text, findings))
    };
    let runs = rows_of(&sheet(&RUNS, findings), run, findings);
    let tasks = rows_of(&sheet(&TASKS, findings), task, findings);
    let allocation = rows_of(&sheet(&ALLOCATION, findings), allocation, findings);
    let shipments = rows_of(&sheet(&SHIPMENTS, findings), shipment, findings);
    let claims = claims(instance, &runs, &tasks, &shipments);
    let (instance_digest, objective) = (instance.digest(), Objective::default());
    Plan {
        instance_digest,
        objective,
        since: None,
        runs,
        tasks,
        allocation,
        shipments,
        claims,
        labelled: Default::default(),
    }
}

/// The rows that could be read.
fn rows_of<T>(sheet: &Sheet, read: impl Fn(Row<'_>, &mut Findings) -> Option<T>, findings: &mut Findings) -> Vec<T> {
    sheet.rows().filter_map(|row| read(row, findings)).collect()
}

fn run(row: Row<'_>, findings: &mut Findings) -> Option<Run> {
    let mut cells = row.cells(findings);
    let (run, printer, plate) = (cells.name("run"), cells.name("printer"), cells.name("plate"));
    if run.as_deref() == Some(Source::STOCK) {
        let help = "Give the run another name, such as R0001.";
        let wrong = Wrong::new(FaultCode::UnknownWord, "A run cannot be called stock.", help);
        cells.findings.add(cells.at("run"), wrong);
    }
    let load = load(row, &mut cells);
    let (ready, from, to) =
        (moment(&mut cells, "ready"), moment(&mut cells, "harvest_from"), moment(&mut cells, "harvest_to"));
    let harvester = cells.name("harvester");
    Some(Run {
        run: run?,
        printer: printer?,
        plate: plate?,
        load,
        ready: ready?,
        harvest_from: from?,
        harvest_to: to?,
        harvester: harvester?,
    })
}

/// All three cells of a load, or none of them.
fn load(row: Row<'_>, cells: &mut Cells<'_, '_>) -> Option<Load> {
    const COLUMNS: [&str; 3] = ["load_from", "print_from", "loader"];
    let blank = COLUMNS.map(|column| row.text(column).is_none_or(str::is_empty));
    if let (true, Some(missing)) = (blank.contains(&false), blank.iter().position(|blank| *blank)) {
        let help = "Fill in load_from, print_from and loader, or leave all three blank for a run from running.csv.";
        let column = COLUMNS.get(missing).copied().unwrap_or_default();
        cells.findings.add(
            cells.at(column),
            Wrong::new(FaultCode::HalfALoad, "The cell is blank and other cells of the load are not.", help),
        );
    }
    let from = cells.optional("load_from", moment::stamp);
    let print_from = cells.optional("print_from", moment::stamp);
    let loader = cells.optional_name("loader");
    Some(Load { from: from?, print_from: print_from?, loader: loader? })
}

fn task(row: Row<'_>, findings: &mut Findings) -> Option<Task> {
    let mut cells = row.cells(findings);
    let operator = cells.name("operator");
    let word = cells.name("task");
    let (from, to) = (moment(&mut cells, "from"), moment(&mut cells, "to"));
    let word = word?;
    let (wanted, useless) = match word.as_str() {
        "load" | "harvest" => (["printer", "run"], ["shipment", "kit"]),
        "pack" => (["shipment", "kit"], ["printer", "run"]),
        _ => {
            let meant = words::did_you_mean(&word, ["load", "harvest", "pack"], true);
            let help = format!("{meant}A task is load, harvest or pack.");
            let wrong = Wrong::new(FaultCode::UnknownWord, format!("\"{word}\" is not a task."), help);
            cells.findings.add(cells.at("task"), wrong);
            return None;
        }
    };
    for column in useless {
        if let Some(text) = cells.optional_name(column) {
            let message = format!("A {word} has no {column}, and the cell says \"{text}\".");
            let wrong = Wrong::new(FaultCode::StrayCell, message, "Leave the cell blank, or correct the task.");
            cells.findings.add(cells.at(column), wrong);
        }
    }
    let [first, second] = wanted.map(|column| cells.name(column));
    let (first, second) = (first?, second?);
    let work = match word.as_str() {
        "load" => Work::Load { printer: first, run: second },
        "harvest" => Work::Harvest { printer: first, run: second },
        _ => Work::Pack { shipment: first, kit: second },
    };
    Some(Task { operator: operator?, work, from: from?, to: to? })
}

fn allocation(row: Row<'_>, findings: &mut Findings) -> Option<Allocation> {
    let mut cells = row.cells(findings);
    let (source, part, shipment) = (cells.name("source"), cells.name("part"), cells.name("shipment"));
    let spare = cells.optional_count(SPARE, limits::SPARE).unwrap_or_default();
    // A row of spares alone gives the shipment nothing itself.
    let count = cells.count("count", if spare.0 > 0 { limits::SPARE } else { limits::ALLOCATED });
    let source = source.map(|source| if source == Source::STOCK { Source::Stock } else { Source::Run(source) });
    Some(Allocation { source: source?, part: part?, shipment: shipment?, count: count?, spare })
}

fn shipment(row: Row<'_>, findings: &mut Findings) -> Option<ShipmentPlan> {
    let mut cells = row.cells(findings);
    let shipment = cells.name("shipment");
    let ready = moment(&mut cells, "ready");
    let due = cells.optional("due", moment::stamp);
    let late = cells.optional_minutes("late_minutes", limits::LATE_MINUTES).unwrap_or_default();
    Some(ShipmentPlan { shipment: shipment?, ready: ready?, due, late })
}

fn moment(cells: &mut Cells<'_, '_>, column: &'static str) -> Option<Instant> {
    cells.required(column, moment::stamp)
}

/// What the tables alone say of the plan; see [`super::PlanFolder::plan`].
fn claims(instance: &Instance, runs: &[Run], tasks: &[Task], shipments: &[ShipmentPlan]) -> Claims {
    let weights: HashMap<&str, _> = instance.shipments.iter().map(|s| (s.name.as_str(), s.weight)).collect();
    let late = |row: &ShipmentPlan| {
        weights.get(row.shipment.as_str()).map_or(WeightedMinutes::ZERO, |w| w.of_lateness(row.late))
    };
    let last = shipments.iter().map(|row| row.ready).max().unwrap_or(instance.farm.start);
    Claims {
        outcome: Outcome::Feasible,
        value: Minutes::ZERO,
        bound: Minutes::ZERO,
        makespan: last - instance.farm.start,
        late: shipments.iter().map(late).sum(),
        late_bound: WeightedMinutes::ZERO,
        idle: Minutes::ZERO,
        surplus_parts: Count(0),
        runs: Count(runs.len() as u64),
        operator_minutes: tasks.iter().map(|task| task.to - task.from).sum(),
        engine: String::new(),
        seed: 0,
        notes: Vec::new(),
        prices: Vec::new(),
    }
}
