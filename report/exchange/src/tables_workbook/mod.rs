//! The tables of an instance as a workbook, there and back.
//!
//! Every table is a sheet under its own name with the same columns, `farm.toml` is the sheet `farm` with a row for each
//! key. Figures, dates and times are real ones, so that a spreadsheet can sort and reckon; a cell whose text would not come
//! back as it is stays text. Columns that name something of another table offer what is there in a list; the lists stand
//! on the sheet `lists`, comments of the tables on the sheet `notes`.
//!
//! Coming back, a sheet is turned into the text of its file ([`Draft::texts`]), a row of the sheet on the line of the same
//! number, and read as any table is: there is one reader of tables and one set of rules. What it finds is told by sheet and
//! cell ([`Draft::locate`]). Only then is the folder written, comments and sections in their usual form
//! ([`Draft::files`]).
//!
//! | module | what it knows |
//! | --- | --- |
//! | [`columns`] | what each column holds, and where the names in it come from |
//! | [`cell`] | text of a table to cell of a sheet, and back |
//! | [`texts`] | the texts of a folder, taken apart |
//! | [`write`](mod@write) | the workbook |
//! | [`read`](mod@read) | cells of a workbook |
//! | [`draft`] | texts again |
//! | [`faults`] | where a fault stands in the workbook |

pub mod cell;
pub mod columns;
pub mod draft;
pub mod faults;
pub mod read;
pub mod texts;
pub mod write;

pub use draft::Draft;
pub use faults::{SheetFault, SheetFaults};
pub use read::read;
pub use write::write;

/// The sheet of `farm.toml`.
pub const FARM: &str = "farm";
/// The sheet of the tables' comments.
pub const NOTES: &str = "notes";
/// The sheet that the lists draw from.
pub const LISTS: &str = "lists";

/// The sheet of a file: its name without the ending.
pub fn sheet_of(file: &str) -> &str {
    file.split_once('.').map_or(file, |(stem, _)| stem)
}

#[cfg(test)]
mod tests;
