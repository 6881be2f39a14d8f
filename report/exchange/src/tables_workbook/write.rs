//! The workbook of an instance's tables.

use super::cell::{Cell, of_text};
use super::columns::{self, Kind, List};
use super::texts::{self, Grid};
use super::{FARM, LISTS, NOTES, sheet_of};
use crate::style::{self, Style};
use platewright_model::Instance;
use platewright_model::tables::layout::{self, Layout};
use rust_xlsxwriter::{DataValidation, DataValidationErrorStyle, Formula, Worksheet, XlsxError};
use std::collections::HashSet;

/// The last row that a list is offered on.
const LAST_ROW: u32 = 1_048_575;
/// Widest column, in characters; longer text runs on in the cell.
const WIDEST: usize = 44;

/// Writes the workbook of a folder's texts, each under its file's name, from which `instance` has been read.
///
/// # Errors
/// A table is larger than a sheet can be.
pub fn write(instance: &Instance, files: &[(&'static str, String)]) -> Result<Vec<u8>, XlsxError> {
    let style = Style::new();
    let mut workbook = style::workbook(instance);
    let text = |file: &str| files.iter().find(|(name, _)| *name == file).map_or("", |(_, text)| text.as_str());
    let farm = texts::farm(text("farm.toml"));
    write_farm(workbook.add_worksheet(), &farm, &style)?;
    let mut notes: Vec<(&str, String)> = farm.comments.into_iter().map(|comment| (FARM, comment)).collect();
    for table in layout::tables() {
        let grid = texts::grid(text(table.file));
        write_table(workbook.add_worksheet(), &table, &grid, instance, &style)?;
        notes.extend(grid.comments.into_iter().map(|comment| (sheet_of(table.file), comment)));
    }
    write_notes(workbook.add_worksheet(), &notes, &style)?;
    write_lists(workbook.add_worksheet(), instance, &style)?;
    workbook.save_to_buffer()
}

fn write_farm(sheet: &mut Worksheet, farm: &texts::Farm, style: &Style) -> Result<(), XlsxError> {
    sheet.set_name(FARM)?.set_freeze_panes(1, 0)?;
    style::print_across(sheet)?;
    // Beside a meaning a comment could not run on, so its column is as wide as it is.
    let longest = farm.entries.iter().map(|entry| entry.comment.chars().count()).max().unwrap_or(0);
    let widths = [("key", 30), ("value", 28), ("comment", longest.clamp(20, 90)), ("meaning", 80)];
    for (column, (title, width)) in (0..).zip(widths) {
        sheet.write_string_with_format(0, column, title, &style.head)?.set_column_width(column, width as f64)?;
    }
    let known = columns::KEYS.iter().map(|key| (key.name, key.kind, key.meaning));
    let others = farm.entries.iter().filter(|entry| columns::KEYS.iter().all(|key| key.name != entry.key));
    let others = others.map(|entry| (entry.key.as_str(), Kind::Number, ""));
    for (row, (name, kind, meaning)) in (1..).zip(known.chain(others)) {
        let entry = farm.entries.iter().find(|entry| entry.key == name);
        sheet.write_string_with_format(row, 0, name, &style.text)?;
        write_cell(sheet, (row, 1), &of_text(kind, entry.map_or("", |entry| &entry.value)), style)?;
        sheet.write_string_with_format(row, 2, entry.map_or("", |entry| &entry.comment), &style.text)?;
        sheet.write_string_with_format(row, 3, meaning, &style.remark)?;
        if kind == Kind::Flag {
            let choice = DataValidation::new().allow_list_strings(&["TRUE", "FALSE"])?;
            sheet.add_data_validation(row, 1, row, 1, &choice)?;
        }
    }
    Ok(())
}

fn write_table(
    sheet: &mut Worksheet,
    table: &Layout,
    grid: &Grid,
    instance: &Instance,
    style: &Style,
) -> Result<(), XlsxError> {
    sheet.set_name(sheet_of(table.file))?.set_freeze_panes(1, 0)?;
    style::print_across(sheet)?;
    let mut last_column = 0;
    for (column, name) in (0..).zip(table.columns()) {
        let required = table.required.contains(&name);
        let kind = columns::kind(table.file, name).unwrap_or(Kind::Text);
        let head = match (required, matches!(kind, Kind::Whole | Kind::Number)) {
            (true, false) => &style.head,
            (true, true) => &style.figure_head,
            (false, false) => &style.optional_head,
            (false, true) => &style.optional_figure_head,
        };
        sheet.write_string_with_format(0, column, name, head)?;
        let mut width = name.chars().count();
        let place = grid.place(name);
        for (row, cells) in (1..).zip(&grid.rows) {
            let text = place.and_then(|place| cells.get(place)).map_or("", String::as_str);
            width = width.max(text.chars().count());
            write_cell(sheet, (row, column), &of_text(kind, text), style)?;
        }
        sheet.set_column_width(column, (width + 3).min(WIDEST) as f64)?;
        if let Some(choice) = columns::list(table.file, name).and_then(|list| choice(list, instance)) {
            sheet.add_data_validation(1, column, LAST_ROW, column, &choice)?;
        }
        if let Some(words) = columns::words(table.file, name) {
            let choice = DataValidation::new().allow_list_strings(words)?;
            sheet.add_data_validation(1, column, LAST_ROW, column, &choice)?;
        }
        last_column = column;
    }
    let last_row = u32::try_from(grid.rows.len()).unwrap_or(LAST_ROW);
    sheet.autofilter(0, 0, last_row, last_column).map(drop)
}

fn write_cell(sheet: &mut Worksheet, (row, column): (u32, u16), cell: &Cell, style: &Style) -> Result<(), XlsxError> {
    match cell {
        Cell::Blank => return Ok(()),
        Cell::Text(text) => sheet.write_string_with_format(row, column, text, &style.text)?,
        Cell::Whole(number) => sheet.write_number_with_format(row, column, *number, &style.whole)?,
        Cell::Number(number) => sheet.write_number_with_format(row, column, *number, &style.number)?,
        Cell::Flag(flag) => sheet.write_boolean(row, column, *flag)?,
        Cell::Moment(time) => sheet.write_datetime_with_format(row, column, *time, &style.moment)?,
        Cell::Date(date) => sheet.write_datetime_with_format(row, column, *date, &style.date)?,
        Cell::Time(minutes) => {
            sheet.write_number_with_format(row, column, f64::from(*minutes) / 1440.0, &style.time)?
        }
    };
    Ok(())
}

/// A choice of names. A name that is not among them may be kept: it may be about to be declared.
fn choice(list: List, instance: &Instance) -> Option<DataValidation> {
    let count = names(list, instance).len();
    if count == 0 {
        return None;
    }
    // Where one column declares the names by itself, what is added to it is offered too.
    let source = match list {
        List::Printers | List::Parts => {
            let home = list.home();
            format!("=OFFSET({home}!$A$2,0,0,COUNTA({home}!$A:$A)-1,1)")
        }
        _ => {
            let place = List::ALL.iter().position(|other| *other == list)?;
            let column = char::from(b'A' + u8::try_from(place).ok()?);
            format!("={LISTS}!${column}$2:${column}${}", count + 1)
        }
    };
    let message = format!(
        "This is none of the {} so far. A new name has to stand on the sheet {} too.",
        list.title(),
        list.home()
    );
    let choice = DataValidation::new().allow_list_formula(Formula::new(source));
    choice.set_error_style(DataValidationErrorStyle::Warning).set_error_message(message).ok()
}

/// The names of a list, each once.
fn names(list: List, instance: &Instance) -> Vec<&str> {
    let printers = instance.printers.iter().map(|printer| printer.name.as_str());
    let groups = instance.groups.iter().map(String::as_str);
    let parts = instance.parts.iter().map(|part| part.name.as_str());
    let kits = instance.kits.iter().map(|kit| kit.name.as_str());
    let all: Vec<&str> = match list {
        List::Printers => printers.collect(),
        List::GroupsAndPrinters => groups.chain(printers).collect(),
        List::Groups => groups.collect(),
        List::Materials => instance.materials.iter().map(String::as_str).collect(),
        List::Parts => parts.collect(),
        List::Items => parts.chain(kits).collect(),
        List::Kits => kits.collect(),
        List::Plates => instance.plates.iter().map(|plate| plate.name.as_str()).collect(),
        List::Shipments => instance.shipments.iter().map(|shipment| shipment.name.as_str()).collect(),
    };
    let mut seen = HashSet::new();
    all.into_iter().filter(|name| seen.insert(*name)).collect()
}

fn write_notes(sheet: &mut Worksheet, notes: &[(&str, String)], style: &Style) -> Result<(), XlsxError> {
    sheet.set_name(NOTES)?.set_freeze_panes(1, 0)?;
    style::print_across(sheet)?;
    sheet.write_string_with_format(0, 0, "sheet", &style.head)?.set_column_width(0, 14)?;
    sheet.write_string_with_format(0, 1, "comment", &style.head)?.set_column_width(1, 120)?;
    for (row, (of, comment)) in (1..).zip(notes) {
        sheet.write_string_with_format(row, 0, *of, &style.text)?;
        sheet.write_string_with_format(row, 1, comment, &style.text)?;
    }
    Ok(())
}

fn write_lists(sheet: &mut Worksheet, instance: &Instance, style: &Style) -> Result<(), XlsxError> {
    sheet.set_name(LISTS)?.set_freeze_panes(1, 0)?;
    style::print_across(sheet)?;
    for (column, list) in (0..).zip(List::ALL) {
        sheet.write_string_with_format(0, column, list.title(), &style.head)?.set_column_width(column, 24)?;
        for (row, name) in (1..).zip(names(list, instance)) {
            sheet.write_string_with_format(row, column, name, &style.text)?;
        }
    }
    Ok(())
}
