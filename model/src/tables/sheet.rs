//! One CSV file as rows of trimmed cells under known columns.
//!
//! A fault in the header is told once and leaves the table unread; a row that cannot be taken apart is told and left
//! out. Either makes the sheet incomplete, so that nobody complains about names that may have stood there.

pub(super) mod edit;
mod place;

use super::cells::Cells;
use super::findings::{At, Findings, Wrong};
use super::scan::{self, Record, Stray, StrayKind};
use super::{limits, words};
use crate::fault::FaultCode;
use csv::StringRecord;
pub(crate) use place::{Line, Place};

/// What a table looks like.
#[derive(Debug)]
pub(crate) struct Spec {
    pub(crate) file: &'static str,
    /// Columns that must be there.
    pub(crate) required: &'static [&'static str],
    /// Columns that may be left out.
    pub(crate) optional: &'static [&'static str],
    /// Whether a header without rows says something sensible.
    pub(crate) may_be_empty: bool,
}

impl Spec {
    pub(crate) fn columns(&self) -> impl Iterator<Item = &'static str> {
        self.required.iter().chain(self.optional).copied()
    }
}

/// A table as read.
#[derive(Debug)]
pub(crate) struct Sheet {
    spec: &'static Spec,
    /// Where each column stands, for those that are there.
    places: Vec<(&'static str, usize)>,
    rows: Vec<Entry>,
    /// Whether every row of the file is among the rows.
    pub(crate) complete: bool,
}

/// A row's cells and where they were written.
#[derive(Debug)]
struct Entry {
    place: Place,
    cells: StringRecord,
    /// Cells that a scenario changed, by their position in the record.
    changed: Vec<(usize, Place)>,
}

impl Sheet {
    /// A table whose file is not there.
    pub(crate) fn absent(spec: &'static Spec) -> Sheet {
        Sheet { spec, places: Vec::new(), rows: Vec::new(), complete: false }
    }

    /// Reads a table.
    pub(crate) fn read(spec: &'static Spec, text: &str, findings: &mut Findings) -> Sheet {
        let text = text.replace("\r\n", "\n").replace('\r', "\n");
        let mut lines = scan::records(&text).into_iter();
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        // Reading UTF-8 from memory with rows of any length cannot fail, so nothing is passed over here.
        let mut records = reader.into_records().filter_map(Result::ok).filter_map(|cells| {
            let record = lines.next()?;
            let blank = cells.iter().all(str::is_empty) && record.stray.is_none();
            (!blank && !record.indented_comment).then_some((record, cells))
        });

        let mut sheet = Sheet::absent(spec);
        let Some((head, names)) = records.next() else {
            let help = format!("Give it a header row: {}.", spec.required.join(","));
            let wrong = Wrong::new(FaultCode::EmptyFile, "The file has no header row.", help);
            findings.add(At::file(spec.file), wrong);
            return sheet;
        };
        let rows: Vec<(Record, StringRecord)> = records.collect();
        if !sheet.read_header(&head, &names, &rows, findings) {
            return sheet;
        }
        sheet.complete = true;
        if rows.is_empty() && !spec.may_be_empty {
            let wrong = Wrong::new(FaultCode::NoRows, "There are no rows below the header.", "Add at least one row.");
            findings.add(At::file(spec.file), wrong);
            sheet.complete = false;
        }
        if rows.len() > limits::ROWS {
            let message = format!("The table has {} rows; {} is the most.", rows.len(), limits::ROWS);
            findings.add(
                At::file(spec.file),
                Wrong::new(FaultCode::TooManyRows, message, "See that it is the right file; split a larger farm."),
            );
            sheet.complete = false;
            return sheet;
        }
        for (record, cells) in rows {
            sheet.take_row(record, cells, &names, findings);
        }
        sheet
    }

    /// The rows, in file order.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|entry| Row { sheet: self, line: entry.place.line(), entry })
    }

    /// Finds the columns; false where the header cannot be used.
    fn read_header(
        &mut self,
        head: &Record,
        names: &StringRecord,
        rows: &[(Record, StringRecord)],
        findings: &mut Findings,
    ) -> bool {
        let at = At::file(self.spec.file).row(head.line);
        if let Some(stray) = &head.stray {
            findings.add(at, stray_quote(stray));
            return false;
        }
        if let Some(wrong) = wrong_separator(self.spec, names) {
            findings.add(at, wrong);
            return false;
        }
        let mut meant = Vec::new();
        for (place, name) in names.iter().enumerate() {
            let known = self.spec.columns().find(|column| *column == name);
            match known {
                // A spreadsheet writes commas for columns that hold nothing.
                None if name.is_empty() => {
                    if let Some((row, _)) =
                        rows.iter().find(|(_, cells)| cells.get(place).is_some_and(|c| !c.is_empty()))
                    {
                        let message = format!("Column {} has cells and no name in the header.", place + 1);
                        let help = "Name the column in the header, or delete its cells.";
                        findings.add(at.row(row.line), Wrong::new(FaultCode::UnnamedColumn, message, help));
                    }
                }
                None => meant.extend(unknown_column(self.spec, name, at, findings)),
                Some(column) if self.place(column).is_some() => {
                    let message = format!("The column {column} is there twice.");
                    let wrong = Wrong::new(FaultCode::DuplicateColumn, message, "Keep one of the two.");
                    findings.add(at.column(column), wrong);
                }
                Some(column) => self.places.push((column, place)),
            }
        }
        for column in self.spec.required.iter().filter(|c| self.place(c).is_none() && !meant.contains(*c)) {
            let help = format!(
                "Add it to the header and a cell to every row; the table needs {}.",
                self.spec.required.join(", ")
            );
            findings.add(at.column(column), Wrong::new(FaultCode::MissingColumn, "The column is missing.", help));
        }
        true
    }

    fn take_row(&mut self, record: Record, cells: StringRecord, names: &StringRecord, findings: &mut Findings) {
        let at = At::file(self.spec.file).row(record.line);
        if let Some(stray) = &record.stray {
            let column = names.get(stray.cell).filter(|name| !name.is_empty());
            findings.add(At { column, ..at }, stray_quote(stray));
            self.complete = false;
        } else if cells.len() != names.len() {
            let (has, needs) = (cells.len(), names.len());
            let message =
                format!("The row has {has} {}, the header has {needs}.", if has == 1 { "cell" } else { "cells" });
            let help = if has < needs {
                "Write a comma for every cell, blank ones too."
            } else {
                "Delete the cells too many; text that holds a comma goes in double quotes."
            };
            findings.add(at, Wrong::new(FaultCode::RaggedRow, message, help));
            self.complete = false;
        } else {
            self.rows.push(Entry { place: Place::table(record.line), cells, changed: Vec::new() });
        }
    }

    /// Where a column stands.
    fn place(&self, column: &str) -> Option<usize> {
        self.places.iter().find(|(name, _)| *name == column).map(|(_, place)| *place)
    }
}

/// One row of a sheet.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'s> {
    sheet: &'s Sheet,
    pub(crate) line: Line,
    entry: &'s Entry,
}

impl<'s> Row<'s> {
    /// Where the row stands.
    pub(crate) fn at(self) -> At<'s> {
        self.entry.place.at(self.sheet.spec.file)
    }

    /// Where the cell of a column stands.
    pub(crate) fn at_cell<'a>(self, column: &'a str) -> At<'a>
    where
        's: 'a,
    {
        let place = self.sheet.place(column);
        let changed = self.entry.changed.iter().rfind(|(cell, _)| Some(*cell) == place);
        let at = changed.map_or_else(|| self.at(), |(_, place)| place.at(self.sheet.spec.file));
        At { file: at.file, row: at.row, column: Some(column) }
    }

    /// The text of a cell, trimmed; none where the table lacks the column.
    pub(crate) fn text(self, column: &str) -> Option<&'s str> {
        self.sheet.place(column).and_then(|place| self.entry.cells.get(place))
    }

    /// Reads the row's cells, each at most once.
    pub(crate) fn cells<'f>(self, findings: &'f mut Findings) -> Cells<'s, 'f> {
        Cells::new(self, findings)
    }
}

/// Tells of an unknown column; returns the one that was probably meant.
fn unknown_column(spec: &'static Spec, name: &str, at: At<'_>, findings: &mut Findings) -> Option<&'static str> {
    let meant = words::closest(name, spec.columns());
    let mean = meant.map(|m| format!("Did you mean {m}? ")).unwrap_or_default();
    let help = format!("{mean}The columns are {}.", spec.columns().collect::<Vec<_>>().join(", "));
    let shown: String = name.chars().take(limits::NAME_CHARS).filter(|c| !c.is_control()).collect();
    let wrong = Wrong::new(FaultCode::UnknownColumn, format!("\"{shown}\" is not a column of {}.", spec.file), help);
    findings.add(at.column(&shown), wrong);
    meant
}

fn wrong_separator(spec: &Spec, names: &StringRecord) -> Option<Wrong> {
    let [header] = [names.get(0)?];
    let (mark, called) =
        [(';', "semicolons"), ('\t', "tabs"), ('|', "bars")].into_iter().find(|(m, _)| header.contains(*m))?;
    let parts: Vec<&str> = header.split(mark).map(str::trim).collect();
    if names.len() > 1 || !parts.iter().any(|part| spec.columns().any(|column| column == *part)) {
        return None;
    }
    let message = format!("The cells are separated by {called}.");
    Some(Wrong::new(FaultCode::WrongSeparator, message, "Save the table as CSV separated by commas, in UTF-8."))
}

fn stray_quote(stray: &Stray) -> Wrong {
    let (message, help) = match stray.kind {
        StrayKind::Inside => (
            "There is a double quote inside the cell.",
            "Delete the quote, or put the whole cell in quotes and write quotes within it twice: \"3\"\" hose\".",
        ),
        StrayKind::AfterClosing => (
            "There is text between the closing quote and the comma.",
            "Put the whole cell in quotes and write quotes within it twice: \"3\"\" hose\".",
        ),
        StrayKind::NeverClosed => (
            "The double quote that opens the cell is never closed.",
            "Close it, or delete it; everything behind it was taken for one cell.",
        ),
    };
    Wrong::new(FaultCode::StrayQuote, message, help)
}
