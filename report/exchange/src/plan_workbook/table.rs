//! A sheet with a frozen header and typed cells.

use crate::style::{self, Style, write_moment};
use chrono::NaiveDate;
use platewright_model::{Clock, Count, Instant, Minutes};
use rust_xlsxwriter::{Worksheet, XlsxError};

/// What writes cells: how they look, and whose wall time they show.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen<'s> {
    pub(super) style: &'s Style,
    pub(super) clock: Clock,
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    Blank,
    Text(String),
    Moment(Instant),
    Date(NaiveDate),
    Whole(i64),
    Number(f64),
    Hours(Minutes),
    /// A share of one, told as per cent.
    Share(f64),
}

impl Value {
    /// Figures stand on the right.
    fn is_figure(&self) -> bool {
        matches!(self, Value::Whole(_) | Value::Number(_) | Value::Hours(_) | Value::Share(_))
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Value {
        Value::Text(text.to_owned())
    }
}

impl From<&String> for Value {
    fn from(text: &String) -> Value {
        Value::Text(text.clone())
    }
}

impl From<Instant> for Value {
    fn from(instant: Instant) -> Value {
        Value::Moment(instant)
    }
}

impl From<Minutes> for Value {
    fn from(minutes: Minutes) -> Value {
        Value::Whole(minutes.0)
    }
}

impl From<Count> for Value {
    fn from(count: Count) -> Value {
        // Counts end far below the largest `i64`.
        Value::Whole(i64::try_from(count.0).unwrap_or(i64::MAX))
    }
}

impl<T: Into<Value>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Value {
        value.map_or(Value::Blank, Into::into)
    }
}

impl Pen<'_> {
    /// Fills a sheet: columns with their least widths, then rows.
    pub(super) fn fill<const N: usize>(
        self,
        sheet: &mut Worksheet,
        name: &str,
        columns: [(&str, u16); N],
        rows: impl IntoIterator<Item = [Value; N]>,
    ) -> Result<u32, XlsxError> {
        sheet.set_name(name)?.set_freeze_panes(1, 0)?;
        style::print_across(sheet)?;
        let mut widths = columns.map(|(_, width)| width);
        // A column is one of figures where its first value is one.
        let mut figures: [Option<bool>; N] = [None; N];
        let mut last = 0;
        for (row, values) in (1..).zip(rows) {
            for ((column, value), (width, figure)) in (0..).zip(&values).zip(widths.iter_mut().zip(&mut figures)) {
                self.write(sheet, (row, column), value)?;
                if let Value::Moment(instant) = value {
                    *width = (*width).max(style::width_of_moment(*instant, self.clock));
                }
                if *value != Value::Blank {
                    figure.get_or_insert(value.is_figure());
                }
            }
            last = row;
        }
        for (column, ((title, _), (width, figure))) in (0..).zip(columns.iter().zip(widths.iter().zip(figures))) {
            let head = if figure == Some(true) { &self.style.figure_head } else { &self.style.head };
            sheet.write_string_with_format(0, column, *title, head)?.set_column_width(column, *width)?;
        }
        sheet.autofilter(0, 0, last, N.saturating_sub(1) as u16)?;
        Ok(last)
    }

    /// Writes a cell.
    pub(super) fn write(self, sheet: &mut Worksheet, at: (u32, u16), value: &Value) -> Result<(), XlsxError> {
        let (row, column) = at;
        match value {
            Value::Blank => return Ok(()),
            Value::Text(text) => sheet.write_string_with_format(row, column, text, &self.style.text)?,
            Value::Moment(instant) => return write_moment(sheet, at, *instant, self.clock, self.style),
            Value::Date(date) => sheet.write_datetime_with_format(row, column, *date, &self.style.date)?,
            // Figures of a plan are far below 2^53, where an `f64` stops being exact.
            Value::Whole(number) => sheet.write_number_with_format(row, column, *number as f64, &self.style.whole)?,
            Value::Number(number) => sheet.write_number_with_format(row, column, *number, &self.style.number)?,
            Value::Share(share) => sheet.write_number_with_format(row, column, *share, &self.style.share)?,
            Value::Hours(minutes) => {
                sheet.write_number_with_format(row, column, minutes.0 as f64 / 60.0, &self.style.hours)?
            }
        };
        Ok(())
    }
}
