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
mod farm;
pub(crate) mod findings;
pub(crate) mod folder;
mod keys;
pub(crate) mod limits;
pub(crate) mod log;
pub(crate) mod moment;
mod names;
pub(crate) mod number;
mod opening;
mod parts;
mod plates;
mod printers;
mod rehearsal;
pub(crate) mod scan;
pub(crate) mod sheet;
mod shifts;
mod shipments;
mod stated;
mod whole;
pub(crate) mod words;

use crate::calendar::Clock;
use crate::fault::Faults;
use crate::instance::{Farm, Handling, Instance, Unattended};
use crate::rehearsal::Rehearsal;
use crate::units::{Instant, Minutes};
use chrono_tz::Tz;
use findings::Findings;
use folder::Folder;
use sheet::{Sheet, Spec};
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
    read_as(folder, |files| files)
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
    read_as(folder, |files| files.with(log::LOG.file, text))
}

fn read_as(folder: &Path, changed: impl FnOnce(Folder) -> Folder) -> Result<Instance, Faults> {
    let mut findings = Findings::default();
    let instance = Folder::open(folder, &mut findings).map(|files| read_files(&changed(files), &mut findings));
    match (findings.finish(&folder::ORDER), instance) {
        (None, Some(instance)) => Ok(instance),
        (faults, _) => Err(faults.unwrap_or(Faults(Vec::new()))),
    }
}

/// Reads what is there. Where anything was found wrong, the instance is a makeshift that nobody gets to see.
fn read_files(files: &Folder, findings: &mut Findings) -> Instance {
    let sheet = |spec: &'static Spec, findings: &mut Findings| match files.text(spec.file) {
        Some(text) => Sheet::read(spec, text, findings),
        None => Sheet::absent(spec),
    };
    let farm = files.text(folder::FARM).and_then(|text| farm::read(text, findings));
    let clock = farm.as_ref().map(|farm| farm.clock);
    let handling = farm.as_ref().map(|farm| farm.handling);
    let times = Times { clock, start: farm.as_ref().map(|farm| farm.start) };

    let mut parts = parts::read(&sheet(&parts::PARTS, findings), findings);
    let printers = printers::read(&sheet(&printers::PRINTERS, findings), &mut parts.materials, findings);
    let downtime = printers::read_downtime(&sheet(&printers::DOWNTIME, findings), &printers, clock, findings);
    let plates = plates::read(&sheet(&plates::PLATES, findings), &printers.groups, &parts, handling, findings);
    let kits = bills::read(&sheet(&bills::KITS, findings), &parts.names, findings);
    let shipments = shipments::read(&sheet(&shipments::SHIPMENTS, findings), &kits, &parts.names, times, findings);
    let (crews, shifts) = shifts::read(&sheet(&shifts::SHIFTS, findings), findings);
    let closures = shifts::read_closures(&sheet(&shifts::CLOSURES, findings), findings);
    let stock = opening::read_stock(&sheet(&opening::STOCK, findings), &parts.names, findings);
    let running = opening::read_running(&sheet(&opening::RUNNING, findings), &printers, &plates, clock, findings);

    let log = log::read(
        &sheet(&log::LOG, findings),
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
        rehearsal: Rehearsal::default(),
    }
}
