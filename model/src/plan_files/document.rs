//! `plan.json`: the plan's claims and, once more, its tables.

use super::claims::Stated;
use super::{DOCUMENT, rows};
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::plan::{PLAN_FORMAT, Plan};
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::folder;
use serde::Serialize;
use serde_json::Value;
use std::path::Path;

/// The whole file, in order.
#[derive(Serialize)]
struct Whole<'p> {
    #[serde(flatten)]
    stated: Stated,
    runs: Vec<rows::RunRow<'p>>,
    tasks: Vec<rows::TaskRow<'p>>,
    allocation: Vec<rows::AllocationRow<'p>>,
    shipments: Vec<rows::ShipmentRow<'p>>,
}

impl<'p> Whole<'p> {
    fn of(plan: &'p Plan, clock: Clock) -> Whole<'p> {
        Whole {
            stated: Stated::of(plan, clock),
            runs: rows::runs(plan, clock),
            tasks: rows::tasks(plan, clock),
            allocation: rows::allocation(plan),
            shipments: rows::shipments(plan, clock),
        }
    }
}

/// The file's text.
pub(super) fn text(plan: &Plan, clock: Clock) -> Vec<u8> {
    // Plain data with text for keys and finite numbers always has a JSON form.
    let mut text = serde_json::to_vec_pretty(&Whole::of(plan, clock)).unwrap_or_default();
    text.push(b'\n');
    text
}

/// The file as read.
pub(super) struct Document {
    stated: Stated,
    whole: Value,
}

/// Reads the file; none where it is unusable, which is told.
pub(super) fn read(folder: &Path, findings: &mut Findings) -> Option<Document> {
    let text = folder::read_text(folder, DOCUMENT, findings)?;
    let help = "Plan again, or delete plan.json to check the tables alone.";
    let mut tell =
        |row, code, message: String| findings.add(At { row, ..At::file(DOCUMENT) }, Wrong::new(code, message, help));
    let whole: Value = match serde_json::from_str(&text) {
        Ok(whole) => whole,
        Err(error) => {
            tell(Some(error.line() as u64), FaultCode::NotAPlan, format!("The file is not JSON: {error}."));
            return None;
        }
    };
    match whole.get("format").and_then(Value::as_u64) {
        Some(format) if format != u64::from(PLAN_FORMAT) => {
            let message = format!("The file has format {format}; this program reads format {PLAN_FORMAT}.");
            tell(None, FaultCode::UnknownFormat, message);
            return None;
        }
        _ => {}
    }
    match serde_json::from_value(whole.clone()) {
        Ok(stated) => Some(Document { stated, whole }),
        Err(error) => {
            tell(None, FaultCode::NotAPlan, format!("The file is no plan: {error}."));
            None
        }
    }
}

impl Document {
    /// Gives the plan the file's claims.
    pub(super) fn claim(&self, plan: &mut Plan, findings: &mut Findings) {
        match self.stated.read() {
            Ok((digest, objective, claims)) => {
                plan.instance_digest = digest;
                plan.objective = objective;
                plan.claims = claims;
            }
            Err((key, wrong)) => findings.add(At::file(DOCUMENT).column(key), wrong),
        }
        plan.labelled.clone_from(&self.stated.labelled);
        match self.stated.since() {
            Ok(since) => plan.since = since,
            Err((key, wrong)) => findings.add(At::file(DOCUMENT).column(key), wrong),
        }
    }

    /// Where the file says something else than the tables that the plan was read from, and where its gap is not that of
    /// its own value and bound.
    pub(super) fn disagreements(&self, plan: &Plan, clock: Clock) -> Vec<String> {
        let mut all = Vec::new();
        let gap = plan.claims.gap();
        if (self.stated.gap - gap).abs() > 1e-9 {
            all.push(format!("gap is {} in plan.json, its value and bound give {gap}", self.stated.gap));
        }
        // Plain data, as in `text`.
        let tables = serde_json::to_value(Whole::of(plan, clock)).unwrap_or_default();
        for (key, file, name) in [
            ("runs", "runs.csv", "run"),
            ("tasks", "tasks.csv", "operator"),
            ("allocation", "allocation.csv", "source"),
            ("shipments", "shipments.csv", "shipment"),
        ] {
            compare(key, file, name, &self.whole, &tables, &mut all);
        }
        all
    }
}

/// Compares one table row by row; where there are more rows on one side, only that is told.
fn compare(key: &str, file: &str, name: &str, document: &Value, tables: &Value, all: &mut Vec<String>) {
    let rows = |whole: &Value| whole.get(key).and_then(Value::as_array).cloned().unwrap_or_default();
    let (said, read) = (rows(document), rows(tables));
    if said.len() != read.len() {
        all.push(format!("plan.json has {} {key}, {file} has {}", said.len(), read.len()));
        return;
    }
    for (n, (said, read)) in said.iter().zip(&read).enumerate() {
        let called = shown(read.get(name).unwrap_or(&Value::Null));
        for (column, in_table) in read.as_object().into_iter().flatten() {
            let in_document = said.get(column).unwrap_or(&Value::Null);
            if in_document != in_table {
                let (in_table, in_document) = (shown(in_table), shown(in_document));
                let place = format!("{file}, entry {} ({called})", n + 1);
                all.push(format!("{place}: {column} is {in_table} there and {in_document} in plan.json"));
            }
        }
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::Null => "blank".to_owned(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
