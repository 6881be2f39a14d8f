//! The plan's files: written whole or not at all, read back with the same care as any table.
//!
//! Four tables say what is to be done; `plan.json` repeats them and adds what the plan states of itself. The tables rule
//! when a plan is read: `plan.json` may be missing, and where it says something else than they do, that is told. No
//! file holds a wall-clock duration or the day of writing, so the same plan gives the same bytes.

mod claims;
mod document;
pub mod replace;
mod rows;
mod tables;
#[cfg(test)]
mod tests;

use crate::fault::{FaultCode, Faults};
use crate::instance::Instance;
use crate::plan::Plan;
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::folder;
use std::path::Path;

/// The file that holds everything.
const DOCUMENT: &str = "plan.json";

/// The tables that must be there.
const TABLES: [&str; 4] = ["runs.csv", "tasks.csv", "allocation.csv", "shipments.csv"];

/// The order in which faults are told.
const ORDER: [&str; 5] = [TABLES[0], TABLES[1], TABLES[2], TABLES[3], DOCUMENT];

/// A plan folder as read: the tables, and `plan.json` where there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFolder {
    /// What the four tables say, with the claims of `plan.json`. Without that file the digest is the instance's, the
    /// objective the default, and the claims are what the tables state: makespan and lateness from `shipments.csv`, runs
    /// and operator minutes counted; value and bounds, idle minutes and surplus, which no table states, are 0.
    pub plan: Plan,
    /// Where `plan.json` says something else than the tables, in words; empty when they agree.
    pub disagreements: Vec<String>,
    /// Whether `plan.json` was there.
    pub has_claims: bool,
}

/// Writes all five files into the folder, which is made where it is missing.
///
/// # Errors
/// What the system says, with the file's name; the files that were there before are then untouched.
pub fn write(plan: &Plan, instance: &Instance, folder: &Path) -> std::io::Result<()> {
    write_with(plan, instance, folder, Vec::new())
}

/// As [`write()`], with other files that belong to the plan, such as the scenario it was made under
/// ([`crate::scenario::text`]); all of them or none are written.
///
/// # Errors
/// What the system says, with the file's name; the files that were there before are then untouched.
pub fn write_with(
    plan: &Plan,
    instance: &Instance,
    folder: &Path,
    others: Vec<(&'static str, Vec<u8>)>,
) -> std::io::Result<()> {
    let clock = instance.farm.clock;
    // `plan.json` comes last: where a power cut parts the set, it disagrees with the tables and `read` says so.
    let (tables, document) = std::thread::scope(|scope| {
        let document = scope.spawn(|| document::text(plan, clock));
        (rows::texts(plan, clock), document.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    });
    let mut files = tables?;
    files.extend(others);
    files.push((DOCUMENT, document));
    replace::all(folder, &files)
}

/// Reads a plan folder back.
///
/// # Errors
/// All faults found: a missing table, an unknown column, a time or count that cannot be read.
pub fn read(instance: &Instance, folder: &Path) -> Result<PlanFolder, Faults> {
    let mut findings = Findings::default();
    let help = "Name the folder that a plan was written into, or plan again.";
    let Some(present) = folder::names_in(folder, help, &mut findings) else {
        return Err(findings.finish(&ORDER).unwrap_or(Faults(Vec::new())));
    };
    let is_there = |file: &str| present.iter().any(|name| name == file);
    for file in TABLES.into_iter().filter(|file| !is_there(file)) {
        findings.add(At::file(file), Wrong::new(FaultCode::MissingFile, "The file is missing.", help));
    }
    let mut plan = tables::read(instance, folder, is_there, &mut findings);
    let document = if is_there(DOCUMENT) { document::read(folder, &mut findings) } else { None };
    let has_claims = document.is_some();
    let mut disagreements = Vec::new();
    if let Some(document) = document {
        document.claim(&mut plan, &mut findings);
        disagreements = document.disagreements(&plan, instance.farm.clock);
    }
    match findings.finish(&ORDER) {
        Some(faults) => Err(faults),
        None => Ok(PlanFolder { plan, disagreements, has_claims }),
    }
}
