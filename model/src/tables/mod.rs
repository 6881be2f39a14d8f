//! Reads a folder of tables into an instance.
//!
//! Each table has a file here that knows its columns and what its rows must satisfy among themselves; one more asks
//! what only all tables together can answer. Whatever is wrong is collected and told at once. A name that is unknown
//! because the table that declares it is missing or broken is not told: mending that table comes first.
//!
//! The order of reading follows what refers to what; faults are told file by file and then by
//! row. Text has a `\u{feff}` mark, CRLF line ends, blank lines and comment lines taken out before anything looks at it.

mod bills;
pub(crate) mod cells;
pub(crate) mod farm;
pub(crate) mod findings;
pub(crate) mod folder;
mod keys;
pub mod layout;
pub(crate) mod limits;
pub(crate) mod log;
mod loose;
pub(crate) mod moment;
mod names;
pub(crate) mod number;
mod opening;
mod overlaid;
mod parts;
mod plates;
mod printers;
mod rehearsal;
pub(crate) mod scan;
pub(crate) mod sheet;
mod shifts;
mod shipments;
mod stated;
mod waits;
mod whole;
pub(crate) mod words;
mod written;

pub use loose::{LooseRow, loose_rows};
pub use written::plates_csv;

use crate::calendar::Clock;
use crate::fault::Faults;
use crate::instance::{Farm, Handling, Instance, Unattended};
use crate::overlay::{Overlay, Table};
use crate::rehearsal::Rehearsal;
use crate::units::{Instant, Minutes};
use chrono_tz::Tz;
use findings::Findings;
use folder::Folder;
use overlaid::Sheets;
use sheet::Sheet;
use shipments::Times;
use std::path::Path;

/// Reads and validates the folder.
///
/// Limits, each told with the fault that breaks it: a table has 256 MB and 1,000,000 rows at most, a name 200 characters; a
/// count in a cell is at most 1,000,000 (stock 100,000,000), a plate's printing time 14,400 minutes, a handling time
/// 1,440; 5,000 printers, 2,000 operators, 730 days of horizon, years 2000 to 2099, due dates within five years of the
/// start, and 100,000,000 parts in all shipments together.
///
/// # Errors
/// All faults found, in file order.
pub fn read(folder: &Path) -> Result<Instance, Faults> {
    read_with(folder, &[])
}

/// Reads and validates the folder as it would be with changes laid over it, in their order. The folder stays as it is.
///
/// # Errors
/// All faults found, those of the changes first. A fault in a change names the overlay's file and the change's row there.
pub fn read_with(folder: &Path, overlays: &[Overlay]) -> Result<Instance, Faults> {
    read_as(folder, |files| files, overlays)
}

/// A wall time of the farm as tables have it, such as `2026-03-02T07:00`.
///
/// # Errors
/// What is wrong with it, and what to do.
pub fn instant(text: &str, clock: Clock) -> Result<Instant, (String, String)> {
    moment::instant(text, clock).map_err(|wrong| (wrong.message, wrong.help))
}

/// Reads the folder as it would be with this text for a log.
pub(crate) fn read_with_log(folder: &Path, text: &str) -> Result<Instance, Faults> {
    read_as(folder, |files| files.with(log::LOG.file, text), &[])
}

fn read_as(folder: &Path, changed: impl FnOnce(Folder) -> Folder, overlays: &[Overlay]) -> Result<Instance, Faults> {
    let mut findings = Findings::default();
    let opened = Folder::open(folder, &mut findings);
    let instance = opened.map(|files| read_files(&changed(files), overlays, &mut findings));
    match (findings.finish(&folder::ORDER), instance) {
        (None, Some(instance)) => Ok(instance),
        (faults, _) => Err(faults.unwrap_or(Faults(Vec::new()))),
    }
}

/// Reads what is there. Where anything was found wrong, the instance is a makeshift that nobody gets to see.
fn read_files(files: &Folder, overlays: &[Overlay], findings: &mut Findings) -> Instance {
    let farm = files.text(folder::FARM).and_then(|text| farm::read(text, overlays, findings));
    let clock = farm.as_ref().map(|farm| farm.clock);
    let handling = farm.as_ref().map(|farm| farm.handling);
    let times = Times { clock, start: farm.as_ref().map(|farm| farm.start) };
    let sheets = Sheets::read(files, overlays, findings);
    let sheet = |table| sheets.of(table);

    let mut parts = parts::read(sheet(Table::Parts), findings);
    let printers = printers::read(sheet(Table::Printers), &mut parts.materials, findings);
    let downtime = printers::read_downtime(sheet(Table::Downtime), &printers, clock, findings);
    let plates = plates::read(sheet(Table::Plates), &printers.groups, &parts, handling, findings);
    let kits = bills::read(sheet(Table::Kits), &parts.names, findings);
    let shipments = shipments::read(sheet(Table::Shipments), &kits, &parts.names, times, findings);
    let (crews, shifts) = shifts::read(sheet(Table::Shifts), findings);
    let closures = shifts::read_closures(sheet(Table::Closures), findings);
    let stock = opening::read_stock(sheet(Table::Stock), &parts.names, findings);
    let running = opening::read_running(sheet(Table::Running), &printers, &plates, clock, findings);
    // What happened is no wish: no scenario changes it.
    let logged = match files.text(log::LOG.file) {
        Some(text) => Sheet::read(&log::LOG, text, findings),
        None => Sheet::absent(&log::LOG),
    };
    let log = log::read(
        &logged,
        &log::Known { printers: &printers, parts: &parts.names, crews: &crews, running: &running, clock },
        findings,
    );

    let instance = Instance {
        farm: farm.unwrap_or_else(makeshift_farm),
        groups: printers.groups.into_list(),
        materials: parts.materials.into_list(),
        printers: printers.list,
        downtime,
        parts: parts.list,
        plates: plates.list,
        kits: kits.list,
        shipments,
        crews,
        shifts,
        closures,
        stock,
        running,
        log,
        absences: Vec::new(),
    };
    rehearsal::check_groups(&instance, findings);
    whole::check(&instance, findings);
    instance
}

/// Stands in for a farm that could not be read.
fn makeshift_farm() -> Farm {
    let none = Minutes::ZERO;
    Farm {
        name: String::new(),
        clock: Clock::new(Tz::UTC),
        start: Instant(0),
        horizon_days: 1,
        handling: Handling { load: none, harvest: none, changeover: none, pack_box: none },
        unattended: Unattended { allowed: true, max_printers: None, max_minutes: None },
        whole_plates_per_bag: false,
        costs: None,
        spares: None,
        rehearsal: Rehearsal::default(),
    }
}
