//! The cells of one row, each read as what its column holds.
//!
//! A cell that cannot be read is told once and gives nothing. Since an instance is made only where nothing was told,
//! callers may go on with nothing in its place.

use super::findings::{At, Findings, Wrong};
use super::number::{self, Whole};
use super::sheet::Row;
use super::{moment, words};
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::units::{Count, Instant, Minutes};

/// A row being read.
#[derive(Debug)]
pub(crate) struct Cells<'s, 'f> {
    row: Row<'s>,
    pub(crate) findings: &'f mut Findings,
}

impl<'s, 'f> Cells<'s, 'f> {
    pub(crate) fn new(row: Row<'s>, findings: &'f mut Findings) -> Cells<'s, 'f> {
        Cells { row, findings }
    }

    /// The place of a column in this row.
    pub(crate) fn at<'a>(&self, column: &'a str) -> At<'a>
    where
        's: 'a,
    {
        self.row.at_cell(column)
    }

    /// A cell that must hold something. Where the table lacks the column, that has been told already.
    pub(crate) fn required<T>(
        &mut self,
        column: &'static str,
        read: impl FnOnce(&str) -> Result<T, Wrong>,
    ) -> Option<T> {
        if self.row.text(column)?.is_empty() {
            let message = format!("The cell is blank, and every row needs its {column}.");
            let wrong = Wrong::new(FaultCode::BlankCell, message, "Fill it in, or delete the row.");
            self.findings.add(self.at(column), wrong);
            return None;
        }
        self.optional(column, read)
    }

    /// A cell that may be blank.
    pub(crate) fn optional<T>(
        &mut self,
        column: &'static str,
        read: impl FnOnce(&str) -> Result<T, Wrong>,
    ) -> Option<T> {
        let text = self.row.text(column).filter(|text| !text.is_empty())?;
        let result = if text.contains(char::is_control) { Err(control_character(text)) } else { read(text) };
        result.map_err(|wrong| self.findings.add(self.at(column), wrong)).ok()
    }

    /// A name.
    pub(crate) fn name(&mut self, column: &'static str) -> Option<String> {
        self.required(column, words::name)
    }

    /// A name that may be blank.
    pub(crate) fn optional_name(&mut self, column: &'static str) -> Option<String> {
        self.optional(column, words::name)
    }

    /// A note that may be blank.
    pub(crate) fn note(&mut self, column: &'static str) -> Option<String> {
        self.optional(column, words::note)
    }

    /// How many.
    pub(crate) fn count(&mut self, column: &'static str, range: Whole) -> Option<Count> {
        self.required(column, |text| number::whole(text, range)).map(Count)
    }

    /// How many, where the cell says.
    pub(crate) fn optional_count(&mut self, column: &'static str, range: Whole) -> Option<Count> {
        self.optional(column, |text| number::whole(text, range)).map(Count)
    }

    /// How long.
    pub(crate) fn minutes(&mut self, column: &'static str, range: Whole) -> Option<Minutes> {
        self.required(column, |text| number::whole(text, range)).map(minutes)
    }

    /// How long, where the cell says.
    pub(crate) fn optional_minutes(&mut self, column: &'static str, range: Whole) -> Option<Minutes> {
        self.optional(column, |text| number::whole(text, range)).map(minutes)
    }

    /// A wall time, as an instant; nothing where the farm's clock is not known, which has been told already.
    pub(crate) fn instant(&mut self, column: &'static str, clock: Option<Clock>) -> Option<Instant> {
        self.required(column, |text| read_instant(text, clock)).flatten()
    }

    /// A wall time that may be blank.
    pub(crate) fn optional_instant(&mut self, column: &'static str, clock: Option<Clock>) -> Option<Instant> {
        self.optional(column, |text| read_instant(text, clock)).flatten()
    }
}

fn read_instant(text: &str, clock: Option<Clock>) -> Result<Option<Instant>, Wrong> {
    match clock {
        Some(clock) => moment::instant(text, clock).map(Some),
        None => moment::wall(text).map(|_| None),
    }
}

/// Every range of minutes ends far below the largest `i64`.
fn minutes(number: u64) -> Minutes {
    Minutes(i64::try_from(number).unwrap_or(i64::MAX))
}

fn control_character(text: &str) -> Wrong {
    let found = text.chars().find(|c| c.is_control()).unwrap_or_default();
    let message = match found {
        '\n' => "The cell holds a line break.".to_owned(),
        '\t' => "The cell holds a tab.".to_owned(),
        _ => format!("The cell holds an invisible control character (code {}).", u32::from(found)),
    };
    Wrong::new(FaultCode::ControlCharacter, message, "Type the cell anew.")
}
