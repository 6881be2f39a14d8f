//! Appends rows to a folder's `log.csv` so that nothing acknowledged is ever lost and nobody ever reads half a row.
//!
//! Two things can go wrong when a file is appended to. Two writers at once may each read the old end and write over one
//! another; and a writer that dies half way leaves half a row, which a reader cannot always tell from a whole one:
//! `…,R0007,,1` may be the beginning of `…,R0007,,12`. So a row is not written behind the others. Under an exclusive
//! lock (on a file of its own, because the log itself is replaced), the log is read, the rows are added to its text,
//! and the whole is judged as the table it will be. Only a text without faults is written, to a file beside it, brought
//! to the disk, and put into the log's place by a rename, which the file system does whole or not at all; then the
//! folder is brought to the disk as well. Whoever dies on the way dies before the rename, and the log is the old one, or
//! after it, and the log is the new one. The caller is told of success only after the last step.
//!
//! The system frees the lock of a process that dies. What such a process left beside the log is hidden, is never
//! read, and is swept up by the next writer, who holds the lock and so knows that nobody else is writing.
//!
//! The cost is one rewriting of the log for each call: a year of a busy room is some megabytes.

use crate::fault::{FaultCode, Faults};
use crate::instance::Instance;
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::log::LOG;
use crate::tables::{self, folder};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The columns of a log that this module makes.
const COLUMNS: [&str; 10] =
    ["time", "event", "printer", "run", "part", "good", "rejected", "operator", "until", "note"];
const LOCK: &str = ".platewright-log.lock";
const STAGED: &str = ".platewright-log-";

/// A row to be appended, as text; a blank cell is empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct NewRow {
    /// Wall time of the farm, `2026-03-02T07:00`.
    pub time: String,
    /// One of [`crate::log::WORDS`].
    pub event: String,
    /// The printer's name.
    pub printer: String,
    /// The run's name.
    pub run: String,
    /// The part's name.
    pub part: String,
    /// Good copies.
    pub good: String,
    /// Rejected copies.
    pub rejected: String,
    /// The operator's name.
    pub operator: String,
    /// Wall time of the farm.
    pub until: String,
    /// Anything.
    pub note: String,
}

impl NewRow {
    fn cell(&self, column: &str) -> &str {
        match column {
            "time" => &self.time,
            "event" => &self.event,
            "printer" => &self.printer,
            "run" => &self.run,
            "part" => &self.part,
            "good" => &self.good,
            "rejected" => &self.rejected,
            "operator" => &self.operator,
            "until" => &self.until,
            "note" => &self.note,
            _ => "",
        }
    }
}

/// Why nothing was appended; the log is then as it was.
#[derive(Debug)]
pub enum NotAppended {
    /// The tables, or the log with the new rows, have these faults.
    Faults(Faults),
    /// The system would not let it be locked, read or written.
    System(io::Error),
}

impl From<io::Error> for NotAppended {
    fn from(error: io::Error) -> NotAppended {
        NotAppended::System(error)
    }
}

/// Appends the rows, all or none, and returns the instance with the log as it then is.
///
/// # Errors
/// The folder cannot be read, the rows contradict it, or the system refuses.
pub fn append(folder: &Path, rows: &[NewRow]) -> Result<Instance, NotAppended> {
    append_with(folder, |_| Ok(rows.to_vec()))
}

/// Appends the rows that `choose` makes of the instance as it is once nobody else can write to its log.
///
/// # Errors
/// As [`append`], and whatever `choose` finds wrong.
pub fn append_with(
    folder: &Path,
    choose: impl FnOnce(&Instance) -> Result<Vec<NewRow>, Faults>,
) -> Result<Instance, NotAppended> {
    let before = tables::read(folder);
    if let Err(faults) = before {
        // Without tables there is nothing to lock either.
        return Err(NotAppended::Faults(faults));
    }
    let _lock = lock(folder)?;
    sweep(folder);
    let rows = choose(&tables::read(folder).map_err(NotAppended::Faults)?).map_err(NotAppended::Faults)?;
    let place = place(folder);
    let old = match fs::read_to_string(&place) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(error.into()),
    };
    let text = longer(old, &rows).map_err(NotAppended::Faults)?;
    let instance = tables::read_with_log(folder, &text).map_err(NotAppended::Faults)?;
    if !rows.is_empty() {
        replace(&place, &text)?;
    }
    Ok(instance)
}

/// Keeps others from appending to a folder's log until the file that is given back is dropped.
///
/// # Errors
/// The system refuses.
pub fn lock(folder: &Path) -> io::Result<File> {
    let lock = File::options().create(true).truncate(false).write(true).open(folder.join(LOCK))?;
    lock.lock()?;
    Ok(lock)
}

/// The log itself, where its name is a link.
fn place(folder: &Path) -> PathBuf {
    let named = folder.join(LOG.file);
    named.canonicalize().unwrap_or(named)
}

fn sweep(folder: &Path) {
    let left = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok);
    for entry in left.filter(|entry| entry.file_name().to_string_lossy().starts_with(STAGED)) {
        // It is in nobody's way; another writer sweeps again.
        let _ = fs::remove_file(entry.path());
    }
}

/// The text with the rows behind it, under its own columns in their own order.
fn longer(mut text: String, rows: &[NewRow]) -> Result<String, Faults> {
    if text.trim_matches(['\u{feff}', '\r', '\n', ' ', '\t']).is_empty() {
        text = format!("{}\n", COLUMNS.join(","));
    }
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    if !text.ends_with(['\n', '\r']) {
        text.push_str(end);
    }
    let columns = header(&text);
    let lacking = COLUMNS
        .iter()
        .find(|column| !columns.iter().any(|c| c == *column) && rows.iter().any(|row| !row.cell(column).is_empty()));
    if let Some(column) = lacking {
        let mut findings = Findings::default();
        let help = format!("Add {column} to the header, and a comma to every row that is there.");
        let wrong = Wrong::new(FaultCode::MissingColumn, "The log lacks a column that the new row needs.", help);
        findings.add(At::file(LOG.file).column(column), wrong);
        return Err(findings.finish(&folder::ORDER).unwrap_or(Faults(Vec::new())));
    }
    let ends = if end == "\r\n" { csv::Terminator::CRLF } else { csv::Terminator::Any(b'\n') };
    let mut writer = csv::WriterBuilder::new().terminator(ends).comment(Some(b'#')).from_writer(Vec::new());
    for row in rows {
        // Writing to memory cannot fail, and every row has the header's length.
        let _ = writer.write_record(columns.iter().map(|column| row.cell(column)));
    }
    let added = writer.into_inner().unwrap_or_default();
    text.push_str(&String::from_utf8_lossy(&added));
    Ok(text)
}

/// The columns of a text that has a header row.
fn header(text: &str) -> Vec<String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let filled = |cells: &csv::StringRecord| cells.iter().any(|cell| !cell.is_empty());
    let first = reader.into_records().filter_map(Result::ok).find(filled);
    first.map(|cells| cells.iter().map(str::to_owned).collect()).unwrap_or_default()
}

fn replace(place: &Path, text: &str) -> io::Result<()> {
    let folder = place.parent().unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(STAGED);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(place).map_or(0o666, |held| held.permissions().mode());
        builder.permissions(fs::Permissions::from_mode(mode));
    }
    let mut staged = builder.tempfile_in(folder)?;
    staged.write_all(text.as_bytes())?;
    staged.as_file().sync_all()?;
    staged.persist(place).map_err(|error| error.error)?;
    File::open(folder)?.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(event: &str) -> NewRow {
        NewRow { time: "2026-03-02T07:03".into(), event: event.into(), note: "a, b".into(), ..NewRow::default() }
    }

    #[test]
    fn rows_follow_the_columns_that_are_there_in_their_order() {
        let text = longer("\u{feff}# ours\r\nnote,event,time".into(), &[row("up")]).unwrap();
        assert_eq!(text, "\u{feff}# ours\r\nnote,event,time\r\n\"a, b\",up,2026-03-02T07:03\r\n");
    }

    #[test]
    fn a_new_log_has_every_column() {
        let text = longer(String::new(), &[row("up")]).unwrap();
        assert_eq!(
            text,
            "time,event,printer,run,part,good,rejected,operator,until,note\n2026-03-02T07:03,up,,,,,,,,\"a, b\"\n"
        );
    }

    #[test]
    fn a_cell_without_its_column_is_told_and_not_dropped() {
        let faults = longer("time,event\n".into(), &[row("up")]).unwrap_err();
        assert_eq!(faults.0[0].column.as_deref(), Some("note"));
    }
}
