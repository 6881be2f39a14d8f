//! The object of `log`.

use platewright_model::log_file::NewRow;
use serde::Serialize;

/// What `log --json` prints: the rows as they were written.
#[derive(Debug, Serialize)]
pub struct Logged<'r> {
    rows: Vec<Row<'r>>,
    log_rows: usize,
}

#[derive(Debug, Serialize)]
struct Row<'r> {
    time: &'r str,
    event: &'r str,
    printer: &'r str,
    run: &'r str,
    part: &'r str,
    good: &'r str,
    rejected: &'r str,
    operator: &'r str,
    until: &'r str,
    note: &'r str,
}

/// The object; `log_rows` is how many the log then has.
pub fn logged<'r>(rows: &'r [NewRow], log_rows: usize) -> Logged<'r> {
    let row = |r: &'r NewRow| Row {
        time: &r.time,
        event: &r.event,
        printer: &r.printer,
        run: &r.run,
        part: &r.part,
        good: &r.good,
        rejected: &r.rejected,
        operator: &r.operator,
        until: &r.until,
        note: &r.note,
    };
    Logged { rows: rows.iter().map(row).collect(), log_rows }
}
