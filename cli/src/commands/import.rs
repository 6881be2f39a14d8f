//! `import`: a folder of tables from a workbook.

use crate::exchange_args::ImportArgs;
use crate::exit::Exit;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_exchange::tables_workbook::{self, Draft, texts};
use platewright_model::log::Entry;
use platewright_model::plan_files::replace;
use platewright_model::tables::layout;
use platewright_model::{Faults, Instance, log_file, tables};
use std::fs;
use std::io;
use std::path::Path;

/// What happened is written down once; a workbook may add to it and takes nothing away.
const LOG: &str = "log.csv";

/// The largest workbook that is read.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// Runs the command: nothing is written before the tables have been read back without fault.
///
/// # Errors
/// A folder that holds something, or a workbook with faults.
pub fn run(args: &ImportArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let is_filled = fs::read_dir(&args.folder).is_ok_and(|mut entries| entries.next().is_some());
    if is_filled && !args.replace {
        return Err(Refusal::Call {
            message: format!("{} holds something already", shown(&args.folder)),
            help: "name a folder that does not exist yet, or say --replace to write over the tables in it".to_owned(),
        });
    }
    let bytes = bytes(&args.workbook)?;
    let unusable = |faults| Refusal::Workbook { file: args.workbook.clone(), faults };
    let draft = tables_workbook::read(&bytes).map_err(unusable)?;
    let instance = judged(&draft.texts())?.map_err(|faults| unusable(draft.locate(&faults)))?;
    if let Some(faults) = draft.faults() {
        return Err(unusable(faults));
    }
    let mut files = draft.files();
    if judged(&files)?.ok().is_none_or(|again| !says_the_same(&again, &instance)) {
        return Err(Refusal::Call {
            message: "the tables would not say what the workbook says, so nothing was written".to_owned(),
            help: "this is a mistake in platewright: report it with the workbook".to_owned(),
        });
    }
    files.extend(emptied(&args.folder, &draft));
    let cannot = |error: io::Error| Refusal::Call {
        message: format!("the tables cannot be written into {}: {error}", shown(&args.folder)),
        help: "name a folder where you may write; what was there before is untouched".to_owned(),
    };
    let _lock = args.folder.join(LOG).exists().then(|| log_file::lock(&args.folder)).transpose().map_err(cannot)?;
    nothing_logged_is_lost(&args.folder, &files)?;
    let files: Vec<_> = files.into_iter().map(|(name, text)| (name, text.into_bytes())).collect();
    replace::all(&args.folder, &files).map_err(cannot)?;
    draft
        .left_alone()
        .iter()
        .for_each(|sheet| voice.note(&format!("the sheet {sheet} is no table and was left alone")));
    let folder = shown(&args.folder);
    voice.result(&format!(
        "{folder} now holds the tables of {}. Plan them:\n    platewright plan {folder}\n",
        shown(&args.workbook)
    ));
    Ok(Exit::Done)
}

fn bytes(file: &Path) -> Result<Vec<u8>, Refusal> {
    let refuse = |why: String| Refusal::Call {
        message: format!("{} cannot be read: {why}", shown(file)),
        help: "name a workbook (.xlsx) that you may read".to_owned(),
    };
    let known = fs::metadata(file).map_err(|error| refuse(error.to_string()))?;
    if !known.is_file() || known.len() > MOST_BYTES {
        return Err(refuse(if known.is_file() { "it is larger than 256 MB" } else { "it is no file" }.to_owned()));
    }
    fs::read(file).map_err(|error| refuse(error.to_string()))
}

/// The instance of texts, read as a folder is, or all faults found in them by file and row.
///
/// # Errors
/// There is no place for a temporary folder.
pub(super) fn judged(texts: &[(&'static str, String)]) -> Result<Result<Instance, Faults>, Refusal> {
    let folder = laid_out(texts).map_err(|error| Refusal::Call {
        message: format!("no temporary folder can be made: {error}"),
        help: "make room, or name another place with TMPDIR".to_owned(),
    })?;
    Ok(tables::read(folder.path()))
}

fn laid_out(texts: &[(&'static str, String)]) -> io::Result<tempfile::TempDir> {
    let folder = tempfile::tempdir()?;
    texts.iter().try_for_each(|(name, text)| fs::write(folder.path().join(name), text))?;
    Ok(folder)
}

/// Whether two instances are of the same tables and the same log, wherever the rows of the log stand.
pub(super) fn says_the_same(one: &Instance, other: &Instance) -> bool {
    let log = |instance: &Instance| -> Vec<Entry> {
        instance.log.iter().cloned().map(|entry| Entry { line: 0, ..entry }).collect()
    };
    one.digest() == other.digest() && log(one) == log(other)
}

/// Refuses to write a log over one that has more: since the workbook was made, the floor has written on.
fn nothing_logged_is_lost(folder: &Path, files: &[(&'static str, String)]) -> Result<(), Refusal> {
    let Some((_, new)) = files.iter().find(|(name, _)| *name == LOG) else { return Ok(()) };
    let old = fs::read_to_string(folder.join(LOG)).unwrap_or_default();
    let mut kept = logged(new);
    let lost: Vec<Vec<String>> = logged(&old)
        .into_iter()
        .filter(|row| match kept.iter().position(|other| other == row) {
            Some(place) => {
                kept.swap_remove(place);
                false
            }
            None => true,
        })
        .collect();
    let Some(first) = lost.first() else { return Ok(()) };
    let row = first.iter().filter(|cell| !cell.is_empty()).map(String::as_str).collect::<Vec<_>>().join(" ");
    let rows = if lost.len() == 1 { "a row".to_owned() } else { format!("{} rows", lost.len()) };
    Err(Refusal::Call {
        message: format!(
            "{} has {rows} that the workbook's sheet log does not have, the first of them {row}; nothing was written",
            shown(&folder.join(LOG))
        ),
        help: "export the workbook anew, or delete its sheet log: the folder's log then stays as it is".to_owned(),
    })
}

/// The rows of a log, each cell in its column's place.
fn logged(text: &str) -> Vec<Vec<String>> {
    let grid = texts::grid(text);
    let columns: Vec<_> = layout::tables().into_iter().filter(|table| table.file == LOG).collect();
    let columns: Vec<&str> = columns.iter().flat_map(layout::Layout::columns).collect();
    let cell = |row: &Vec<String>, column: &&str| {
        grid.place(column).and_then(|place| row.get(place)).cloned().unwrap_or_default()
    };
    grid.rows.iter().map(|row| columns.iter().map(|column| cell(row, column)).collect()).collect()
}

/// Tables that the folder has and the workbook does not: they lose their rows, so that the folder says what the workbook
/// says. The log is none of them.
fn emptied(folder: &Path, draft: &Draft) -> Vec<(&'static str, String)> {
    let written: Vec<&str> = draft.texts().iter().map(|(name, _)| *name).collect();
    let left =
        layout::tables().into_iter().filter(|table| !written.contains(&table.file) && folder.join(table.file).exists());
    let left = left.filter(|table| table.file != LOG);
    left.map(|table| (table.file, format!("{}\n", table.columns().collect::<Vec<_>>().join(",")))).collect()
}
