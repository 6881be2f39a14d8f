//! Faults of a workbook: the same as those of tables, each with its sheet and cell.

use super::sheet_of;
use platewright_model::tables::layout;
use platewright_model::{Fault, FaultCode};
use std::fmt;

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetFault {
    /// What kind; the codes are those of tables.
    pub code: FaultCode,
    /// The sheet's name; none where it is about the workbook as a whole.
    pub sheet: Option<String>,
    /// The row, from 1, as the spreadsheet counts.
    pub row: Option<u64>,
    /// The cell, such as `C4`.
    pub cell: Option<String>,
    /// The column's or key's name.
    pub column: Option<String>,
    /// What is wrong, with the user's own word.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl SheetFault {
    /// A fault of tables in the words of a workbook; where it stands is `place`'s to say.
    pub(super) fn of_table(fault: &Fault, sheet: String, cell: Option<String>, row: Option<u64>) -> SheetFault {
        SheetFault {
            code: fault.code,
            sheet: Some(sheet),
            row,
            cell,
            column: fault.column.clone(),
            message: in_sheets(&fault.message),
            help: in_sheets(&fault.help),
        }
    }
}

/// Files are sheets here.
fn in_sheets(words: &str) -> String {
    let files = layout::tables().map(|table| table.file);
    let renamed = files
        .iter()
        .chain(&["farm.toml"])
        .fold(words.to_owned(), |words, file| words.replace(file, &format!("sheet {}", sheet_of(file))));
    renamed.replace("The file is missing", "The sheet is missing").replace("The file has no", "The sheet has no")
}

impl fmt::Display for SheetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut place = vec![match &self.sheet {
            Some(sheet) => format!("sheet {sheet}"),
            None => "the workbook".to_owned(),
        }];
        match (&self.cell, self.row) {
            (Some(cell), _) => place.push(format!("cell {cell}")),
            (None, Some(row)) => place.push(format!("row {row}")),
            (None, None) => {}
        }
        if let Some(column) = &self.column {
            place.push(column.clone());
        }
        write!(f, "{}   [{}]\n    {}\n    {}", place.join(", "), self.code, self.message, self.help)
    }
}

/// All faults of a workbook, at least one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetFaults(pub Vec<SheetFault>);

impl fmt::Display for SheetFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, fault) in self.0.iter().enumerate() {
            write!(f, "{}{fault}", if n == 0 { "" } else { "\n\n" })?;
        }
        Ok(())
    }
}

impl std::error::Error for SheetFaults {}

/// The name of a cell, such as `C4`; rows and columns from 0.
pub(super) fn cell_name(row: u32, column: u16) -> String {
    rust_xlsxwriter::utility::row_col_to_cell(row, column)
}
