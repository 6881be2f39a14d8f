//! Scenarios: named changes to an instance, each a file in the folder's `scenarios/`.
//!
//! A scenario says in TOML what is other than in the tables: keys of `farm.toml` under `[farm]`, and for each table a
//! section of its name.
//!
//! ```toml
//! about = "A second crew until ten at night, and six more small printers."
//!
//! [farm]
//! unattended.max_printers = 24
//!
//! [printers]
//! more.small = 6
//!
//! [shifts]
//! drop = [{ days = "Sat" }]
//! change = [{ where = { crew = "early", days = "Mon-Fri" }, set = { operators = 3 } }]
//! add = [
//!   { crew = "late", days = "Mon-Fri", from = "14:30", to = "22:00", operators = 2 },
//! ]
//! ```
//!
//! `rows` replaces a table's rows, `drop` takes those away that have all of the cells, `change` writes other cells into
//! rows, `add` adds rows, `more` and `fewer` count printers of a group. Within a table they are made in that order. What
//! is wrong with the file itself is told here; what is wrong with the farm that comes of it is told when the folder is
//! read with it, by file and row alike.

mod changes;
mod kept;

pub use kept::{KEPT, kept, text};

use crate::fault::{FaultCode, Faults};
use crate::overlay::Overlay;
use crate::tables::farm;
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::{folder, words};
use std::fs;
use std::path::Path;

/// The folder of scenarios in an instance's folder.
pub const FOLDER: &str = "scenarios";

/// What the tables without any scenario are called beside scenarios; no scenario may be called so.
pub const AS_IT_STANDS: &str = "as-it-stands";

/// A scenario as its file says it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scenario {
    /// The file's name without `.toml`.
    pub name: String,
    /// What it is about, in the planner's words.
    pub about: Option<String>,
    /// Its changes.
    pub overlay: Overlay,
}

/// The names of the scenarios of an instance's folder, in alphabetical order; none where it has no `scenarios/`.
pub fn names(instance: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(instance.join(FOLDER)) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .filter_map(Result::ok)
        .filter_map(|entry| entry.file_name().to_string_lossy().strip_suffix(".toml").map(str::to_owned))
        .filter(|name| !name.starts_with('.') && !name.is_empty())
        .collect();
    names.sort();
    names
}

/// Reads a scenario of an instance's folder.
///
/// # Errors
/// All faults of the file: there is none of this name, it is not TOML, a table or key is unknown.
pub fn read(instance: &Path, name: &str) -> Result<Scenario, Faults> {
    let mut findings = Findings::default();
    let scenario = read_file(instance, name, &mut findings);
    match (findings.finish(&[]), scenario) {
        (None, Some(scenario)) => Ok(scenario),
        (faults, _) => Err(faults.unwrap_or(Faults(Vec::new()))),
    }
}

fn read_file(instance: &Path, name: &str, findings: &mut Findings) -> Option<Scenario> {
    let names = names(instance);
    let file = format!("{FOLDER}/{name}.toml");
    if !names.iter().any(|known| known == name) {
        let known = || names.iter().map(String::as_str);
        let help = if names.is_empty() {
            format!("Write {file}; the folder has no scenarios yet.")
        } else {
            format!("{}The folder has {}.", words::did_you_mean(name, known(), true), words::listed(known()))
        };
        let wrong = Wrong::new(FaultCode::UnknownScenario, format!("There is no scenario \"{name}\"."), help);
        findings.add(At::file(&file), wrong);
        return None;
    }
    if name == AS_IT_STANDS {
        let message = format!("\"{AS_IT_STANDS}\" is what the tables without a scenario are called.");
        findings.add(At::file(&file), Wrong::new(FaultCode::UnknownScenario, message, "Rename the file."));
        return None;
    }
    let text = folder::read_text(instance, &file, findings)?;
    let document = farm::parse(&text, &file, findings)?;
    let reader = changes::Reader { file: &file, text: &text, findings };
    let (about, overlay) = reader.read(document.get_ref());
    Some(Scenario { name: name.to_owned(), about, overlay })
}
