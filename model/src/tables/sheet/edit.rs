//! Changes to the rows of a sheet that a scenario makes before the rows are read.

use super::{Entry, Place, Sheet, unknown_column};
use crate::fault::FaultCode;
use crate::overlay::{Cell, Selection, Which};
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::words;
use csv::StringRecord;
use std::sync::Arc;

impl Sheet {
    /// Takes all rows out.
    pub(crate) fn clear(&mut self) {
        self.rows.clear();
    }

    /// Adds a row with these cells, the others blank.
    pub(crate) fn add(&mut self, cells: &[Cell], file: &Arc<str>, row: Option<u64>, findings: &mut Findings) {
        let mut entry = Entry { place: Place::scenario(file, row), cells: StringRecord::new(), changed: Vec::new() };
        // A row has all columns that it must have, so that a blank one is told; a table that is not there has none yet.
        for column in self.spec.required {
            self.column(column);
        }
        for cell in cells {
            if let Some(place) = self.column_of(cell, file, findings) {
                write(&mut entry, place, cell, file);
            }
        }
        let width = self.places.iter().map(|(_, place)| place + 1).max().unwrap_or(0);
        while entry.cells.len() < width {
            entry.cells.push_field("");
        }
        self.rows.push(entry);
    }

    /// Takes out the rows that are meant.
    pub(crate) fn drop(&mut self, which: &Which, file: &Arc<str>, row: Option<u64>, findings: &mut Findings) {
        let meant = self.meant(which, file, row, findings);
        let mut places = 0..;
        self.rows.retain(|_| places.next().is_none_or(|place| meant.binary_search(&place).is_err()));
    }

    /// Writes cells into the rows that are meant.
    pub(crate) fn set(
        &mut self,
        which: &Which,
        cells: &[Cell],
        file: &Arc<str>,
        row: Option<u64>,
        findings: &mut Findings,
    ) {
        let meant = self.meant(which, file, row, findings);
        for cell in cells {
            let Some(place) = self.column_of(cell, file, findings) else { continue };
            for row in &meant {
                // `meant` are positions of rows.
                write(&mut self.rows[*row], place, cell, file);
            }
        }
    }

    /// Takes out the rows that do not satisfy the condition on their cell of a column.
    pub(crate) fn keep(&mut self, column: &str, keep: impl Fn(&str) -> bool) {
        let Some(place) = self.place(column) else { return };
        self.rows.retain(|entry| keep(entry.cells.get(place).unwrap_or_default()));
    }

    /// How many rows there are.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Where a cell's column stands; told where the table knows no such column.
    fn column_of(&mut self, cell: &Cell, file: &Arc<str>, findings: &mut Findings) -> Option<usize> {
        match self.spec.columns().find(|column| *column == cell.column) {
            Some(column) => Some(self.column(column)),
            None => {
                unknown_column(self.spec, &cell.column, At { file, row: cell.row, column: None }, findings);
                None
            }
        }
    }

    /// Where a column stands: behind every cell of every row where the header left it out.
    fn column(&mut self, column: &'static str) -> usize {
        self.place(column).unwrap_or_else(|| {
            let named = self.places.iter().map(|(_, place)| place + 1).max().unwrap_or(0);
            let widest = self.rows.iter().map(|entry| entry.cells.len()).max().unwrap_or(0);
            self.places.push((column, named.max(widest)));
            named.max(widest)
        })
    }

    /// The positions of the rows that are meant, in order; told where there are none.
    fn meant(&self, which: &Which, file: &Arc<str>, row: Option<u64>, findings: &mut Findings) -> Vec<usize> {
        let at = At { file, row, column: None };
        let wanted = match &which.0 {
            Selection::Nth(row) if *row < self.rows.len() => return vec![*row],
            Selection::Nth(row) => {
                if self.complete {
                    let message = format!("{} has {} rows, none at {row}.", self.spec.file, self.rows.len());
                    findings.add(at, Wrong::new(FaultCode::NoRowMatches, message, "See which row is meant."));
                }
                return Vec::new();
            }
            Selection::Cells(wanted) => wanted,
        };
        if let Some(cell) = wanted.iter().find(|cell| self.spec.columns().all(|column| column != cell.column)) {
            unknown_column(self.spec, &cell.column, At { file, row: cell.row, column: None }, findings);
            return Vec::new();
        }
        let holds = |entry: &Entry, cell: &Cell| {
            self.place(&cell.column).and_then(|place| entry.cells.get(place)).unwrap_or_default() == cell.text
        };
        let rows = 0..self.rows.len();
        let meant: Vec<usize> = rows.filter(|row| wanted.iter().all(|cell| holds(&self.rows[*row], cell))).collect();
        if meant.is_empty() && (self.complete || (self.places.is_empty() && self.spec.may_be_empty)) {
            findings.add(at, self.no_row(wanted, holds));
        }
        meant
    }

    /// What to say where no row has all of these cells: the first that no row has, or that none has them together.
    fn no_row(&self, wanted: &[Cell], holds: impl Fn(&Entry, &Cell) -> bool) -> Wrong {
        let file = self.spec.file;
        let row = |cells: &[Cell]| {
            cells.iter().map(|cell| format!("{} \"{}\"", cell.column, cell.text)).collect::<Vec<_>>().join(" and ")
        };
        let odd = wanted.iter().find(|cell| !self.rows.iter().any(|entry| holds(entry, cell)));
        let Some(odd) = odd else {
            let message = format!("No row of {file} has {}.", row(wanted));
            return Wrong::new(FaultCode::NoRowMatches, message, "Write cells that stand on one row of the table.");
        };
        let mut there: Vec<&str> = self.rows().filter_map(|row| row.text(&odd.column)).collect();
        there.sort_unstable();
        there.dedup();
        let meant = words::did_you_mean(&odd.text, there.iter().copied(), true);
        let help = format!("{meant}The column {} of {file} has {}.", odd.column, words::listed(there));
        Wrong::new(FaultCode::NoRowMatches, format!("No row of {file} has {}.", row(std::slice::from_ref(odd))), help)
    }
}

/// Writes a cell, with its place.
fn write(entry: &mut Entry, place: usize, cell: &Cell, file: &Arc<str>) {
    let width = entry.cells.len().max(place + 1);
    let text = |at: usize| if at == place { cell.text.trim() } else { entry.cells.get(at).unwrap_or_default() };
    let cells: StringRecord = (0..width).map(text).collect();
    entry.cells = cells;
    entry.changed.push((place, Place::scenario(file, cell.row)));
}
