//! `shifts.csv` and `closures.csv`: who works when.

use super::findings::{At, Findings, Wrong};
use super::names::Names;
use super::sheet::{Line, Sheet, Spec};
use super::{limits, moment, number};
use crate::fault::FaultCode;
use crate::instance::{Closure, CrewId, ShiftRow};
use chrono::NaiveDate;
use std::collections::HashMap;

pub(super) const SHIFTS: Spec = Spec {
    file: "shifts.csv",
    required: &["crew", "days", "from", "to", "operators"],
    optional: &[],
    may_be_empty: false,
};

pub(super) const CLOSURES: Spec =
    Spec { file: "closures.csv", required: &["date"], optional: &["note"], may_be_empty: true };

/// Reads the crews and their shifts.
pub(super) fn read(sheet: &Sheet, findings: &mut Findings) -> (Vec<String>, Vec<ShiftRow>) {
    let mut crews = Names::new("a crew", "shifts.csv", FaultCode::LookAlike);
    let mut rows: Vec<ShiftRow> = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let crew = cells.name("crew").map(|crew| crews.mention(&crew, cells.at("crew"), cells.findings));
        let days = cells.required("days", moment::days);
        let from = cells.required("from", moment::time_of_day);
        let to = cells.required("to", moment::end_of_shift);
        let operators = cells.count("operators", limits::OPERATORS);
        if let (Some(crew), Some(days), Some(from), Some(to), Some(operators)) = (crew, days, from, to, operators) {
            rows.push(ShiftRow { crew: CrewId(crew), days, from, to, operators });
        }
    }
    let all: u64 = rows.iter().map(|row| row.operators.0).sum();
    if all > limits::ALL_OPERATORS {
        let most = number::grouped(limits::ALL_OPERATORS);
        let message = format!("The rows together have {} operators; {most} is the most.", number::grouped(all));
        let at = At::file(SHIFTS.file).column("operators");
        findings.add(
            at,
            Wrong::new(FaultCode::TooMuch, message, "Check the figures: one row is one shift, not one person's week."),
        );
    }
    (crews.into_list(), rows)
}

/// Reads the closures.
pub(super) fn read_closures(sheet: &Sheet, findings: &mut Findings) -> Vec<Closure> {
    let mut seen: HashMap<NaiveDate, Line> = HashMap::new();
    let mut all = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let (date, note) = (cells.required("date", moment::date), cells.note("note"));
        let Some(date) = date else { continue };
        match seen.get(&date) {
            Some(first) => {
                let message = format!("{date} is already on row {first}.");
                let wrong =
                    Wrong::new(FaultCode::DuplicateRow, message, "Delete the row, or write the date that was meant.");
                cells.findings.add(cells.at("date"), wrong);
            }
            None => {
                seen.insert(date, row.line);
                all.push(Closure { date, note });
            }
        }
    }
    all
}
