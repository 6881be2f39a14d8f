//! Where a row or a cell was written: in its own table, or in the scenario that changes it.

use crate::tables::findings::At;
use std::fmt;
use std::sync::Arc;

/// The place of a row or a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Place {
    /// The scenario's file; none for the table's own.
    scenario: Option<Arc<str>>,
    /// The row in that file; none in what no file says.
    row: Option<u64>,
}

impl Place {
    /// A row of the table itself.
    pub(crate) fn table(row: u64) -> Place {
        Place { scenario: None, row: Some(row) }
    }

    /// A row of a scenario.
    pub(crate) fn scenario(file: &Arc<str>, row: Option<u64>) -> Place {
        Place { scenario: Some(Arc::clone(file)), row }
    }

    /// For a fault in something of `table` that stands here.
    pub(crate) fn at<'a>(&'a self, table: &'a str) -> At<'a> {
        At { file: self.scenario.as_deref().unwrap_or(table), row: self.row, column: None }
    }

    /// For a message that refers to this row.
    pub(crate) fn line(&self) -> Line {
        match (&self.scenario, self.row) {
            (None, row) => Line::Table(row.unwrap_or_default()),
            (Some(_), Some(row)) => Line::Scenario(row),
            (Some(_), None) => Line::Unwritten,
        }
    }
}

/// A row as a message refers to it, behind the word "row".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Line {
    /// The editor's number in the table.
    Table(u64),
    /// The editor's number in a scenario's file.
    Scenario(u64),
    /// Added by something that is no file.
    Unwritten,
}

impl Line {
    /// The number in the table, where the row stands there.
    pub(crate) fn in_table(self) -> Option<u64> {
        if let Line::Table(row) = self { Some(row) } else { None }
    }
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Line::Table(row) => write!(f, "{row}"),
            Line::Scenario(row) => write!(f, "{row} of the scenario"),
            Line::Unwritten => f.write_str("that was added"),
        }
    }
}
