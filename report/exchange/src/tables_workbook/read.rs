//! The cells of a workbook that somebody filled in.
//!
//! Cells are taken one by one, never as a rectangle: a stray cell in the last corner of a sheet costs nothing.

use super::cell::{self, Unreadable};
use super::columns::Kind;
use super::draft::Draft;
use super::faults::{SheetFault, SheetFaults, cell_name};
use super::{FARM, LISTS, NOTES, sheet_of};
use calamine::{Data, Reader, Xlsx};
use platewright_model::FaultCode;
use platewright_model::tables::layout;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;

/// Rows of a sheet that are looked at; a table has fewer.
const ROWS: u32 = 1_000_001;
/// Columns of a sheet that are looked at; the widest table has nine.
const COLUMNS: u32 = 64;

/// A sheet's cells, rows and columns from 0; blank ones are not among them.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    /// As the workbook calls it.
    pub(super) name: String,
    pub(super) rows: BTreeMap<u32, BTreeMap<u16, Data>>,
}

impl Sheet {
    /// The text of a cell under a column of a kind; a cell that has none is told and blank.
    pub(super) fn text(&self, (row, column): (u32, u16), kind: Kind, faults: &mut Vec<SheetFault>) -> String {
        let Some(value) = self.rows.get(&row).and_then(|cells| cells.get(&column)) else { return String::new() };
        let text = match cell::to_text(kind, value) {
            Ok(text) => text.trim().to_owned(),
            Err(Unreadable::Error(error)) => {
                let message = format!("The cell shows {error}.");
                let help = "Mend the formula, or write the value itself.";
                faults.push(self.fault((row, column), FaultCode::CellError, message, help));
                return String::new();
            }
        };
        if !text.contains(['\n', '\r']) {
            return text;
        }
        let message = "The cell holds a line break.".to_owned();
        faults.push(self.fault((row, column), FaultCode::ControlCharacter, message, "Type the cell anew."));
        text.replace(['\n', '\r'], " ")
    }

    /// A fault of one of its cells.
    pub(super) fn fault(&self, (row, column): (u32, u16), code: FaultCode, message: String, help: &str) -> SheetFault {
        SheetFault {
            code,
            sheet: Some(self.name.clone()),
            row: Some(u64::from(row) + 1),
            cell: Some(cell_name(row, column)),
            column: None,
            message,
            help: help.to_owned(),
        }
    }

    /// A fault of the whole sheet.
    fn whole(&self, code: FaultCode, message: &str, help: &str) -> SheetFault {
        let (message, help) = (message.to_owned(), help.to_owned());
        SheetFault { code, sheet: Some(self.name.clone()), row: None, cell: None, column: None, message, help }
    }
}

/// Reads a workbook into the texts of tables, not yet judged.
///
/// # Errors
/// The bytes are no workbook, or none of its sheets is a table.
pub fn read(bytes: &[u8]) -> Result<Draft, SheetFaults> {
    let mut workbook = Xlsx::new(Cursor::new(bytes)).map_err(|error| unusable(&error.to_string()))?;
    let names = workbook.sheet_names();
    let known: Vec<&'static str> =
        [FARM].into_iter().chain(layout::tables().map(|table| sheet_of(table.file))).collect();
    let own =
        |name: &str| known.iter().chain(&[NOTES, LISTS]).copied().find(|own| own.eq_ignore_ascii_case(name.trim()));
    let there: BTreeSet<&str> = names.iter().filter_map(|name| own(name)).collect();
    if !known.iter().any(|name| there.contains(name)) {
        let help = format!(
            "Name the sheets as the tables: {}. `platewright export DIR --workbook FILE` makes such a workbook.",
            known.join(", ")
        );
        return Err(SheetFaults(vec![whole(
            FaultCode::MissingFile,
            "No sheet has the name of a table.".to_owned(),
            help,
        )]));
    }
    let (mut sheets, mut faults) = (BTreeMap::new(), Vec::new());
    let (mut left_alone, mut misnamed) = (Vec::new(), Vec::new());
    for name in &names {
        match own(name) {
            Some(LISTS) => {}
            Some(own) => {
                sheets.insert(own, cells(&mut workbook, name, &mut faults)?);
            }
            None => match meant(name, known.iter().copied().filter(|known| !there.contains(known))) {
                Some(meant) => {
                    let sheet = Sheet { name: name.clone(), rows: BTreeMap::new() };
                    let help = format!("Did you mean {meant}? Rename the sheet.");
                    misnamed.push(meant);
                    faults.push(sheet.whole(FaultCode::UnknownFile, "No table has this name.", &help));
                }
                None => left_alone.push(name.clone()),
            },
        }
    }
    Ok(Draft::of(sheets, faults, left_alone, misnamed))
}

fn cells(workbook: &mut Xlsx<Cursor<&[u8]>>, name: &str, faults: &mut Vec<SheetFault>) -> Result<Sheet, SheetFaults> {
    let mut sheet = Sheet { name: name.to_owned(), rows: BTreeMap::new() };
    let broken = |error: calamine::XlsxError| unusable(&format!("sheet {name}: {error}"));
    let (mut too_low, mut too_far) = (false, false);
    let mut reader = workbook.worksheet_cells_reader(name).map_err(broken)?;
    while let Some(cell) = reader.next_cell().map_err(broken)? {
        let ((row, column), value) = (cell.get_position(), Data::from(cell.get_value().clone()));
        if value == Data::Empty || matches!(&value, Data::String(text) if text.trim().is_empty()) {
            continue;
        }
        too_low |= row >= ROWS;
        too_far |= column >= COLUMNS;
        if row < ROWS && column < COLUMNS {
            sheet.rows.entry(row).or_default().insert(column as u16, value);
        }
    }
    if too_low {
        let help = "See that it is the right sheet; split a larger farm.";
        faults.push(sheet.whole(FaultCode::TooManyRows, "There are cells below row 1,000,001.", help));
    }
    if too_far {
        let help = "Delete them: no table has so many columns.";
        faults.push(sheet.whole(FaultCode::UnnamedColumn, &format!("There are cells beyond column {COLUMNS}."), help));
    }
    drop(reader);
    let mut reader = workbook.worksheet_cells_reader(name).map_err(broken)?;
    while let Some(formula) = reader.next_formula().map_err(broken)? {
        let (row, column) = formula.get_position();
        let within = row < ROWS && column < COLUMNS && !formula.get_value().is_empty();
        let place = (row, column.min(COLUMNS) as u16);
        if within && sheet.rows.get(&row).is_none_or(|cells| !cells.contains_key(&place.1)) {
            let message = "The cell holds a formula that has no value.".to_owned();
            let help = "Open the workbook in a spreadsheet and save it there, or write the value itself.";
            faults.push(sheet.fault(place, FaultCode::CellError, message, help));
        }
    }
    Ok(sheet)
}

fn unusable(why: &str) -> SheetFaults {
    let message = format!("The file cannot be opened as an Excel workbook: {why}.");
    let help = "Save it as .xlsx, without a password.".to_owned();
    SheetFaults(vec![whole(FaultCode::NotAWorkbook, message, help)])
}

fn whole(code: FaultCode, message: String, help: String) -> SheetFault {
    SheetFault { code, sheet: None, row: None, cell: None, column: None, message, help }
}

/// The missing sheet that a name was probably meant to be: a slip of a letter or two, or the file's name.
fn meant(name: &str, missing: impl Iterator<Item = &'static str>) -> Option<&'static str> {
    let name = name.trim().to_lowercase();
    let name = name.strip_suffix(".csv").or(name.strip_suffix(".toml")).unwrap_or(&name);
    missing
        .map(|known| (strsim::damerau_levenshtein(name, known), known))
        .filter(|(slips, _)| *slips <= 2)
        .min()
        .map(|m| m.1)
}
