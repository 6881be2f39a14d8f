//! The changes that a plan was made under, kept beside it as a scenario, so that whoever checks the plan later lays the
//! same changes over the tables.

use super::{Scenario, changes};
use crate::fault::Faults;
use crate::overlay::{Cell, FarmKeys, Overlay, Selection, What};
use crate::tables::farm;
use crate::tables::findings::Findings;
use crate::tables::folder;
use std::path::Path;
use toml::{Table, Value};

/// The file's name in a plan's folder.
pub const KEPT: &str = "scenario.toml";

/// The scenario kept beside a plan; none where it was made for the tables as they stand.
///
/// # Errors
/// All faults of the file.
pub fn kept(plan: &Path) -> Result<Option<Scenario>, Faults> {
    if !plan.join(KEPT).is_file() {
        return Ok(None);
    }
    let mut findings = Findings::default();
    let scenario = read_file(plan, &mut findings);
    match findings.finish(&[]) {
        Some(faults) => Err(faults),
        None => Ok(scenario),
    }
}

fn read_file(plan: &Path, findings: &mut Findings) -> Option<Scenario> {
    let text = folder::read_text(plan, KEPT, findings)?;
    let document = farm::parse(&text, KEPT, findings)?;
    let (about, overlay) = changes::Reader { file: KEPT, text: &text, findings }.read(document.get_ref());
    Some(Scenario { name: "scenario".to_owned(), about, overlay })
}

/// Overlays, one laid over the other, as the text of a scenario. Changes to one table are written in the order in which
/// a scenario makes them: rows that leave or change before rows that are added.
pub fn text(about: &str, overlays: &[Overlay]) -> String {
    let mut root = Table::new();
    root.insert("about".to_owned(), Value::String(about.to_owned()));
    for overlay in overlays {
        for keys in &overlay.farm {
            if let Some(keys) = parsed(keys) {
                merge(section(&mut root, "farm"), keys);
            }
        }
        for change in &overlay.changes {
            let section = section(&mut root, change.table.word());
            match &change.what {
                What::Clear => {
                    section.insert("rows".to_owned(), Value::Array(Vec::new()));
                }
                What::Add(row) => push(section, "add", cells(row)),
                What::Drop(which) => push(section, "drop", chosen(&which.0)),
                What::Set(which, row) => {
                    let change = [("where", chosen(&which.0)), ("set", cells(row))];
                    let change = change.into_iter().map(|(key, table)| (key.to_owned(), Value::Table(table)));
                    push(section, "change", change.collect());
                }
                What::More(group) => count(section, "more", group),
                What::Fewer(group) => count(section, "fewer", group),
            }
        }
    }
    toml::to_string(&root).unwrap_or_default()
}

/// The keys as TOML; what was read or set is TOML already.
fn parsed(keys: &FarmKeys) -> Option<Table> {
    let table: Table = toml::from_str(&keys.text).ok()?;
    match table.get("farm") {
        Some(Value::Table(farm)) if keys.in_section => Some(farm.clone()),
        _ => Some(table),
    }
}

fn section<'t>(table: &'t mut Table, key: &str) -> &'t mut Table {
    let value = table.entry(key.to_owned()).or_insert_with(|| Value::Table(Table::new()));
    if !value.is_table() {
        *value = Value::Table(Table::new());
    }
    // It was made a table on the line above.
    value.as_table_mut().expect("a table")
}

fn merge(into: &mut Table, from: Table) {
    for (key, value) in from {
        match (into.get_mut(&key), value) {
            (Some(Value::Table(into)), Value::Table(from)) => merge(into, from),
            (_, value) => {
                into.insert(key, value);
            }
        }
    }
}

fn push(section: &mut Table, key: &str, row: Table) {
    if let Value::Array(rows) = section.entry(key.to_owned()).or_insert_with(|| Value::Array(Vec::new())) {
        rows.push(Value::Table(row));
    }
}

fn count(table: &mut Table, key: &str, group: &Cell) {
    let groups = section(table, key);
    let before = groups.get(&group.column).and_then(Value::as_integer).unwrap_or(0);
    let more = group.text.parse::<i64>().unwrap_or(0);
    groups.insert(group.column.clone(), Value::Integer(before + more));
}

fn cells(row: &[Cell]) -> Table {
    row.iter().map(|cell| (cell.column.clone(), Value::String(cell.text.clone()))).collect()
}

/// A row that was meant by its place cannot be told in a file, and says nothing.
fn chosen(selection: &Selection) -> Table {
    match selection {
        Selection::Cells(row) => cells(row),
        Selection::Nth(_) => Table::new(),
    }
}
