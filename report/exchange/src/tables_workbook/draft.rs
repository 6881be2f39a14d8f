//! Sheets as the texts of their files.
//!
//! [`Draft::texts`] has a line for each row of the sheet, so that whatever is said of a line is said of the row.
//! [`Draft::files`] is what a person wants to keep in a folder: comments first, no blank rows, no blank columns that may be
//! left out, the farm in sections.

use super::columns::{self, KEYS, Kind};
use super::faults::{SheetFault, SheetFaults, cell_name};
use super::read::Sheet;
use super::{FARM, NOTES, sheet_of};
use csv::{QuoteStyle, WriterBuilder};
use platewright_model::tables::layout::{self, Layout};
use platewright_model::{Fault, FaultCode, Faults};
use std::collections::BTreeMap;

/// The farm's file.
const FARM_FILE: &str = "farm.toml";

/// A workbook taken apart, not yet judged.
#[derive(Debug)]
pub struct Draft {
    farm: Option<FarmSheet>,
    tables: Vec<TableSheet>,
    notes: Vec<(String, String)>,
    faults: Vec<SheetFault>,
    left_alone: Vec<String>,
    /// Sheets that are missing only because another has nearly their name.
    misnamed: Vec<&'static str>,
}

#[derive(Debug)]
struct TableSheet {
    layout: Layout,
    name: String,
    /// The row of the header, from 0, and its cells.
    header: Option<(u32, Vec<String>)>,
    rows: BTreeMap<u32, Vec<String>>,
}

#[derive(Debug)]
struct FarmSheet {
    name: String,
    /// Where keys and values stand.
    key_column: u16,
    value_column: u16,
    entries: BTreeMap<u32, FarmEntry>,
}

#[derive(Debug)]
struct FarmEntry {
    key: String,
    /// As TOML; blank where the key is left out.
    value: String,
    comment: String,
}

impl Draft {
    /// Takes sheets, each under its own name, apart.
    pub(super) fn of(
        sheets: BTreeMap<&'static str, Sheet>,
        faults: Vec<SheetFault>,
        left_alone: Vec<String>,
        misnamed: Vec<&'static str>,
    ) -> Draft {
        let mut draft = Draft { farm: None, tables: Vec::new(), notes: Vec::new(), faults, left_alone, misnamed };
        draft.farm = sheets.get(FARM).and_then(|sheet| farm(sheet, &mut draft.faults));
        for layout in layout::tables() {
            if let Some(sheet) = sheets.get(sheet_of(layout.file)) {
                draft.tables.push(table(sheet, layout, &mut draft.faults));
            }
        }
        draft.notes = sheets.get(NOTES).map(|sheet| notes(sheet, &mut draft.faults)).unwrap_or_default();
        draft
    }

    /// Sheets that are no table and were not looked at.
    pub fn left_alone(&self) -> &[String] {
        &self.left_alone
    }

    /// The text of each file to be judged, line for row. What may be left out and has no rows is left out.
    pub fn texts(&self) -> Vec<(&'static str, String)> {
        let farm = self.farm.iter().map(|farm| (FARM_FILE, farm.lines()));
        let tables = self.tables.iter().filter(|table| table.counts());
        farm.chain(tables.map(|table| (table.layout.file, table.lines()))).collect()
    }

    /// The text of each file as it is to be kept.
    pub fn files(&self) -> Vec<(&'static str, String)> {
        let farm = self.farm.iter().map(|farm| (FARM_FILE, self.comments(FARM) + &farm.sections()));
        let tables = self.tables.iter().filter(|table| table.counts()).map(|table| {
            let file = table.layout.file;
            (file, self.comments(sheet_of(file)) + &table.records())
        });
        farm.chain(tables).collect()
    }

    fn comments(&self, sheet: &str) -> String {
        self.notes
            .iter()
            .filter(|(of, _)| of.eq_ignore_ascii_case(sheet))
            .map(|(_, said)| format!("# {said}\n"))
            .collect()
    }

    /// What is wrong with the workbook itself.
    pub fn faults(&self) -> Option<SheetFaults> {
        (!self.faults.is_empty()).then(|| SheetFaults(self.faults.clone()))
    }

    /// Everything wrong with the workbook: its own faults, and those that were found in [`Draft::texts`], where they stand
    /// in it. A cell that has been told of is told of once.
    pub fn locate(&self, faults: &Faults) -> SheetFaults {
        let misnamed = |fault: &&Fault| self.misnamed.contains(&sheet_of(&fault.file));
        let located = faults.0.iter().filter(|fault| !misnamed(fault)).map(|fault| self.place(fault));
        let fresh = located.filter(|fault| {
            let known = |own: &SheetFault| own.sheet == fault.sheet && (own.cell.is_none() || own.cell == fault.cell);
            !self.faults.iter().any(|own| known(own) && (own.cell.is_some() || fault.cell.is_none()))
        });
        let mut all: Vec<SheetFault> = self.faults.iter().cloned().chain(fresh).collect();
        let order: Vec<&str> = [FARM].into_iter().chain(layout::tables().map(|table| sheet_of(table.file))).collect();
        let rank = |sheet: &Option<String>| {
            sheet.as_ref().and_then(|name| order.iter().position(|own| own.eq_ignore_ascii_case(name)))
        };
        all.sort_by_key(|fault| (rank(&fault.sheet), fault.row));
        SheetFaults(all)
    }

    fn place(&self, fault: &Fault) -> SheetFault {
        let sheet = sheet_of(&fault.file).to_owned();
        if fault.file == FARM_FILE {
            let Some(farm) = &self.farm else { return SheetFault::of_table(fault, sheet, None, None) };
            let row = fault.row.and_then(|row| u32::try_from(row.checked_sub(1)?).ok()).or_else(|| farm.row_of(fault));
            let column = if fault.code == FaultCode::UnknownKey { farm.key_column } else { farm.value_column };
            let cell = row.map(|row| cell_name(row, column));
            return SheetFault::of_table(fault, farm.name.clone(), cell, row.map(|row| u64::from(row) + 1));
        }
        let Some(table) = self.tables.iter().find(|table| table.layout.file == fault.file) else {
            return SheetFault::of_table(fault, sheet, None, None);
        };
        let row = fault.row.and_then(|row| u32::try_from(row.checked_sub(1)?).ok());
        let place = |column: &String| table.header.as_ref()?.1.iter().position(|name| name == column);
        let column = fault.column.as_ref().and_then(place).and_then(|place| u16::try_from(place).ok());
        let cell = row.zip(column).map(|(row, column)| cell_name(row, column));
        SheetFault::of_table(fault, table.name.clone(), cell, fault.row)
    }
}

fn table(sheet: &Sheet, layout: Layout, faults: &mut Vec<SheetFault>) -> TableSheet {
    let mut rows = sheet.rows.iter();
    let width = sheet.rows.values().filter_map(|cells| cells.keys().next_back()).max().map_or(0, |last| last + 1);
    let header = rows.by_ref().find(|(_, cells)| !is_comment(cells)).map(|(row, _)| {
        (*row, (0..width).map(|column| sheet.text((*row, column), Kind::Text, faults)).collect::<Vec<_>>())
    });
    let mut table = TableSheet { layout, name: sheet.name.clone(), header: header.clone(), rows: BTreeMap::new() };
    let Some((_, header)) = header else { return table };
    let kinds: Vec<Kind> = header.iter().map(|name| columns::kind(layout.file, name).unwrap_or(Kind::Text)).collect();
    for (row, cells) in rows {
        let kinds = if is_comment(cells) { &[Kind::Text][..] } else { &kinds };
        let texts = (0..width).zip(kinds).map(|(column, kind)| sheet.text((*row, column), *kind, faults));
        table.rows.insert(*row, texts.collect());
    }
    table
}

/// A row of which only the first cell is filled, with a `#` at its beginning.
fn is_comment(cells: &BTreeMap<u16, calamine::Data>) -> bool {
    cells.len() == 1
        && matches!(cells.get(&0), Some(calamine::Data::String(text)) if text.trim_start().starts_with('#'))
}

impl TableSheet {
    /// Whether the folder has the file.
    fn counts(&self) -> bool {
        self.layout.must_be_there || !self.rows.is_empty()
    }

    /// Every row of the sheet on its line.
    fn lines(&self) -> String {
        let mut text = String::new();
        let mut next = 0;
        let header = self.header.iter().map(|(row, cells)| (*row, cells));
        for (row, cells) in header.chain(self.rows.iter().map(|(row, cells)| (*row, cells))) {
            text.extend((next..row).map(|_| '\n'));
            text.push_str(&line(cells.iter().map(String::as_str)));
            next = row + 1;
        }
        text
    }

    /// The rows as a folder keeps them.
    fn records(&self) -> String {
        let Some((_, header)) = &self.header else { return String::new() };
        let is_filled =
            |place: usize| self.rows.values().any(|row| row.get(place).is_some_and(|cell| !cell.is_empty()));
        let kept: Vec<usize> = (0..header.len())
            .filter(|place| is_filled(*place) || self.layout.required.contains(&header[*place].as_str()))
            .collect();
        let chosen = |cells: &Vec<String>| line(kept.iter().map(|place| cells.get(*place).map_or("", String::as_str)));
        std::iter::once(header).chain(self.rows.values()).map(chosen).collect()
    }
}

/// A record with its line end; a comment, which stands alone in its row, as it is.
fn line<'c>(cells: impl Iterator<Item = &'c str>) -> String {
    let cells: Vec<&str> = cells.collect();
    if let [first, rest @ ..] = &cells[..]
        && first.starts_with('#')
        && rest.iter().all(|cell| cell.is_empty())
    {
        return format!("{first}\n");
    }
    let mut writer = WriterBuilder::new()
        .quote_style(QuoteStyle::Necessary)
        .comment(Some(b'#'))
        .buffer_capacity(256)
        .from_writer(Vec::new());
    // Writing to memory cannot fail.
    let written = writer.write_record(&cells).ok().and_then(|()| writer.into_inner().ok()).unwrap_or_default();
    String::from_utf8(written).unwrap_or_default()
}

fn farm(sheet: &Sheet, faults: &mut Vec<SheetFault>) -> Option<FarmSheet> {
    let (head, cells) = sheet.rows.first_key_value()?;
    let place = |title: &str| {
        let named =
            |column: &&u16| sheet.text((*head, **column), Kind::Text, &mut Vec::new()).eq_ignore_ascii_case(title);
        cells.keys().find(named).copied()
    };
    let (Some(key_column), Some(value_column)) = (place("key"), place("value")) else {
        let message = "The first row does not name the columns key and value.".to_owned();
        let help = "Write key and value above the two columns.";
        faults.push(sheet.fault((*head, 0), FaultCode::MissingColumn, message, help));
        return None;
    };
    let comment_column = place("comment");
    let mut entries: BTreeMap<u32, FarmEntry> = BTreeMap::new();
    for row in sheet.rows.keys().filter(|row| *row > head) {
        let key = sheet.text((*row, key_column), Kind::Text, faults);
        let known = KEYS.iter().find(|known| known.name == key);
        let text = sheet.text((*row, value_column), known.map_or(Kind::Number, |known| known.kind), faults);
        let comment = comment_column.map(|column| sheet.text((*row, column), Kind::Text, faults)).unwrap_or_default();
        let comment = comment.replace(char::is_control, " ");
        if key.is_empty() || key.starts_with('#') {
            continue;
        }
        if let Some((first, _)) = entries.iter().find(|(_, entry)| entry.key == key) {
            let message = format!("The key {key} is already on row {}.", first + 1);
            faults.push(sheet.fault((*row, key_column), FaultCode::DuplicateRow, message, "Keep one of the two rows."));
            continue;
        }
        let value = if text.is_empty() { text } else { toml_value(known.map(|known| known.kind), text) };
        entries.insert(*row, FarmEntry { key, value, comment });
    }
    Some(FarmSheet { name: sheet.name.clone(), key_column, value_column, entries })
}

/// Figures and flags bare, everything else in quotes; a key that is not known may be either.
fn toml_value(kind: Option<Kind>, text: String) -> String {
    let is_figure =
        text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b'-') && text.parse::<f64>().is_ok();
    let is_flag = text == "true" || text == "false";
    let bare = match kind {
        Some(Kind::Whole | Kind::Number) => is_figure,
        Some(Kind::Flag) => is_flag,
        Some(_) => false,
        None => is_figure || is_flag,
    };
    if bare {
        text.strip_prefix('.').map_or(text.clone(), |rest| format!("0.{rest}"))
    } else {
        toml::Value::String(text).to_string()
    }
}

impl FarmSheet {
    /// Every key with a value on the line of its row, its section before it.
    fn lines(&self) -> String {
        let mut text = String::new();
        let mut next = 0;
        for (row, entry) in self.entries.iter().filter(|(_, entry)| !entry.value.is_empty()) {
            text.extend((next..*row).map(|_| '\n'));
            text.push_str(&format!("{} = {}\n", key_text(&entry.key), entry.value));
            next = row + 1;
        }
        text
    }

    /// The keys in their sections.
    fn sections(&self) -> String {
        let mut sections: Vec<(&str, String)> = vec![("", String::new())];
        for entry in self.entries.values().filter(|entry| !entry.value.is_empty()) {
            let (section, key) = entry.key.rsplit_once('.').unwrap_or(("", &entry.key));
            let place = sections.iter().position(|(name, _)| *name == section).unwrap_or_else(|| {
                sections.push((section, format!("\n[{}]\n", key_text(section))));
                sections.len() - 1
            });
            let comment = if entry.comment.is_empty() { String::new() } else { format!("  # {}", entry.comment) };
            sections[place].1.push_str(&format!("{} = {}{comment}\n", key_text(key), entry.value));
        }
        sections.into_iter().map(|(_, text)| text).collect()
    }

    /// The row of the key that a fault is about, where the fault does not say: of the key, or the first of its section.
    fn row_of(&self, fault: &Fault) -> Option<u32> {
        let key = fault.column.as_ref()?;
        let within = format!("{key}.");
        self.entries.iter().find(|(_, entry)| entry.key == *key || entry.key.starts_with(&within)).map(|(row, _)| *row)
    }
}

/// A key as TOML has it: bare where it can be.
fn key_text(key: &str) -> String {
    let bare =
        |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"_-".contains(&byte));
    if key.split('.').all(bare) { key.to_owned() } else { toml::Value::String(key.to_owned()).to_string() }
}

/// Comments, each with the sheet that it belongs to.
fn notes(sheet: &Sheet, faults: &mut Vec<SheetFault>) -> Vec<(String, String)> {
    let rows = sheet.rows.keys().skip(1);
    let said = rows.map(|row| {
        let [of, said] = [0, 1].map(|column| sheet.text((*row, column), Kind::Text, faults));
        (of, said.replace(char::is_control, " "))
    });
    said.collect()
}
