//! The files of an instance folder, as text.

use super::findings::{At, Findings, Wrong};
use super::{limits, number, words};
use crate::fault::FaultCode;
use std::fs;
use std::io::Read;
use std::path::Path;

/// The farm file.
pub(crate) const FARM: &str = "farm.toml";
/// Tables that must be there; the others of [`ORDER`] may be left out.
pub(crate) const REQUIRED: [&str; 6] =
    ["printers.csv", "parts.csv", "plates.csv", "kits.csv", "shipments.csv", "shifts.csv"];
/// Every file of an instance, in the order in which faults are told.
pub(crate) const ORDER: [&str; 12] = [
    FARM,
    "printers.csv",
    "downtime.csv",
    "parts.csv",
    "plates.csv",
    "kits.csv",
    "shipments.csv",
    "shifts.csv",
    "closures.csv",
    "stock.csv",
    "running.csv",
    "log.csv",
];

/// The texts of the files that are there and can be read.
pub(crate) struct Folder {
    texts: Vec<(&'static str, String)>,
}

impl Folder {
    /// Reads every file of the instance; none where there is no such folder.
    pub(crate) fn open(path: &Path, findings: &mut Findings) -> Option<Folder> {
        let present = names_in(path, "Name the folder that holds farm.toml and the tables.", findings)?;
        let mut misnamed = Vec::new();
        for name in &present {
            misnamed.extend(unknown_file(name, &present, findings));
        }
        let mut texts = Vec::new();
        for file in ORDER {
            if present.iter().any(|name| name == file) {
                texts.extend(read_text(path, file, findings).map(|text| (file, text)));
            } else if (file == FARM || REQUIRED.contains(&file)) && !misnamed.contains(&file) {
                findings.add(At::file(file), missing_file(file));
            }
        }
        Some(Folder { texts })
    }

    /// The same folder with another text for one of its files.
    pub(crate) fn with(mut self, file: &'static str, text: &str) -> Folder {
        self.texts.retain(|(name, _)| *name != file);
        self.texts.push((file, text.strip_prefix('\u{feff}').unwrap_or(text).to_owned()));
        self
    }

    /// The text of a file.
    pub(crate) fn text(&self, file: &str) -> Option<&str> {
        self.texts.iter().find(|(name, _)| *name == file).map(|(_, text)| text.as_str())
    }
}

/// The names in a folder, in order; none where there is no such folder, which is told with `help`.
pub(crate) fn names_in(path: &Path, help: &str, findings: &mut Findings) -> Option<Vec<String>> {
    let entries = match fs::read_dir(path) {
        Ok(entries) => entries,
        Err(error) => {
            let shown = path.display().to_string();
            let message = match error.kind() {
                std::io::ErrorKind::NotFound => "There is no such folder.".to_owned(),
                std::io::ErrorKind::NotADirectory => "This is a file; the tables are expected in a folder.".to_owned(),
                _ => format!("The folder cannot be read: {error}."),
            };
            findings.add(At::file(&shown), Wrong::new(FaultCode::MissingFolder, message, help));
            return None;
        }
    };
    let mut names: Vec<String> =
        entries.filter_map(Result::ok).map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    Some(names)
}

/// Tells of a `.csv` file that is no table; returns the file it was probably meant to be, where that one is missing.
/// Hidden files are left alone: some systems put one beside every file they copy.
fn unknown_file(name: &str, present: &[String], findings: &mut Findings) -> Option<&'static str> {
    let table = name.to_lowercase().ends_with(".csv") && !name.starts_with('.');
    if !table || ORDER.contains(&name) {
        return None;
    }
    let free = ORDER.into_iter().filter(|file| *file != FARM && !present.iter().any(|p| p == file));
    let meant = words::closest(name, free);
    let help = match meant {
        Some(meant) => format!("Did you mean {meant}? Rename the file."),
        None => {
            let tables = ORDER.into_iter().filter(|file| *file != FARM).collect::<Vec<_>>().join(", ");
            format!("Move it out of the folder or rename it; the tables are {tables}.")
        }
    };
    findings.add(At::file(name), Wrong::new(FaultCode::UnknownFile, "No table of an instance has this name.", help));
    meant
}

fn missing_file(file: &str) -> Wrong {
    let help = match file {
        FARM => "Write it: the farm's name, time_zone, start and the [handling] minutes.",
        "printers.csv" => "Write it with the columns printer and group, a row for each printer.",
        "parts.csv" => "Write it with the columns part and material, a row for each part.",
        "plates.csv" => "Write it with the columns plate, group, part, copies and minutes.",
        "kits.csv" => "Write it with the columns kit, item and quantity, a row for each item of a kit.",
        "shipments.csv" => "Write it with the columns shipment, kit and quantity.",
        _ => "Write it with the columns crew, days, from, to and operators.",
    };
    Wrong::new(FaultCode::MissingFile, "The file is missing.", help)
}

/// A file's text without its byte-order mark; none, and told, where it cannot be had.
pub(crate) fn read_text(folder: &Path, file: &str, findings: &mut Findings) -> Option<String> {
    let most = if file == FARM { limits::FARM_BYTES } else { limits::TABLE_BYTES };
    read_bytes(&folder.join(file), most)
        .and_then(decode)
        .map_err(|wrong| {
            let (row, wrong) = wrong;
            findings.add(At { row, ..At::file(file) }, wrong);
        })
        .ok()
}

type WrongOnRow = (Option<u64>, Wrong);

fn read_bytes(path: &Path, most: u64) -> Result<Vec<u8>, WrongOnRow> {
    let unreadable = |why: String| {
        let message = format!("The file cannot be read: {why}.");
        (None, Wrong::new(FaultCode::UnreadableFile, message, "See that it is a file that you may read."))
    };
    let kind = fs::metadata(path).map_err(|error| unreadable(error.to_string()))?;
    if !kind.is_file() {
        let what = if kind.is_dir() { "it is a folder" } else { "it is no ordinary file" };
        return Err(unreadable(what.to_owned()));
    }
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(|error| unreadable(error.to_string()))?;
    file.take(most + 1).read_to_end(&mut bytes).map_err(|error| unreadable(error.to_string()))?;
    if bytes.len() as u64 > most {
        let message = format!("The file is larger than {} kB.", number::grouped(most / 1024));
        return Err((
            None,
            Wrong::new(FaultCode::FileTooLarge, message, "See that it holds what its name says and nothing else."),
        ));
    }
    Ok(bytes)
}

fn decode(bytes: Vec<u8>) -> Result<String, WrongOnRow> {
    let not_utf8 = |row, message: String| {
        (row, Wrong::new(FaultCode::NotUtf8, message, "Save the file as UTF-8 (in a spreadsheet: CSV UTF-8)."))
    };
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(not_utf8(None, "The file is UTF-16 text.".to_owned()));
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text)),
        Err(error) => {
            let valid = error.utf8_error().valid_up_to();
            let before = error.as_bytes().get(..valid).unwrap_or_default();
            let byte = error.as_bytes().get(valid).copied().unwrap_or_default();
            let row = 1 + before.iter().filter(|b| **b == b'\n').count() as u64;
            Err(not_utf8(
                Some(row),
                format!("The file is not UTF-8 text: byte {byte:#04x} on this row belongs to another encoding."),
            ))
        }
    }
}
