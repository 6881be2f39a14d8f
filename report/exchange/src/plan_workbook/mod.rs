//! A workbook of a plan: what it states of itself, runs, tasks, shipments, parts, who gets what, bags and boxes, and the
//! printer hours of each day with their chart.
//!
//! Every time is a real date: the wall time of the farm. A spreadsheet knows no zones, so lengths of time stand beside the
//! times as whole elapsed minutes, and where the clocks go back the hour that comes for the second time is shown with
//! `again` behind it; subtracting two times across a clock change would be an hour out, the minutes are not.

mod figures;
mod hours;
mod lots;
mod parts;
mod table;
mod work;

use crate::style::{self, Style};
use platewright_model::{Instance, Plan};
use rust_xlsxwriter::XlsxError;
use table::Pen;

/// Writes the workbook.
///
/// # Errors
/// The plan is larger than a sheet can be.
pub fn write(instance: &Instance, plan: &Plan) -> Result<Vec<u8>, XlsxError> {
    let style = Style::new();
    let mut workbook = style::workbook(instance);
    let pen = Pen { style: &style, clock: instance.farm.clock };
    figures::write(workbook.add_worksheet(), instance, plan, pen)?;
    work::write_shipments(workbook.add_worksheet(), plan, pen)?;
    parts::write(workbook.add_worksheet(), instance, plan, pen)?;
    work::write_runs(workbook.add_worksheet(), instance, plan, pen)?;
    work::write_tasks(workbook.add_worksheet(), plan, pen)?;
    parts::write_allocation(workbook.add_worksheet(), plan, pen)?;
    lots::write(&mut workbook, instance, plan, pen)?;
    hours::write(workbook.add_worksheet(), instance, plan, pen)?;
    workbook.save_to_buffer()
}

#[cfg(test)]
mod tests;
