//! `[rehearsal]` of `farm.toml`.

use super::findings::{At, Findings, Wrong};
use super::keys::Section;
use super::{folder, limits, words};
use crate::fault::FaultCode;
use crate::instance::Instance;
use crate::rehearsal::Rehearsal;

/// Reads the section; what it leaves out has its default.
pub(super) fn read(section: Option<Section<'_, '_>>) -> Rehearsal {
    let usual = Rehearsal::default();
    let Some(mut section) = section else { return usual };
    let breaks_after_hours = section.by_name("breaks_after_hours", limits::HOURS, usual.breaks_after_hours);
    let repair_hours = section.by_name("repair_hours", limits::HOURS, usual.repair_hours);
    Rehearsal {
        print_spread: section.optional_amount("print_spread", limits::SPREAD).unwrap_or(usual.print_spread),
        late_minutes: section.optional_amount("late_minutes", limits::LATE).unwrap_or(usual.late_minutes),
        breaks_after_hours,
        repair_hours,
    }
}

/// The groups that the section names are those of `printers.csv`.
pub(super) fn check_groups(instance: &Instance, findings: &mut Findings) {
    if findings.any_in(&["printers.csv"]) || instance.groups.is_empty() {
        return;
    }
    let says = &instance.farm.rehearsal;
    let keys =
        [("rehearsal.breaks_after_hours", &says.breaks_after_hours), ("rehearsal.repair_hours", &says.repair_hours)];
    for (key, by_group) in keys {
        for (name, _) in by_group.named.iter().filter(|(name, _)| !instance.groups.contains(name)) {
            let groups = || instance.groups.iter().map(String::as_str);
            let meant = words::did_you_mean(name, groups(), true);
            let help = format!("{meant}The groups are {}.", words::listed(groups()));
            let wrong = Wrong::new(FaultCode::UnknownGroup, format!("\"{name}\" is not a group of printers."), help);
            findings.add(At::file(folder::FARM).column(key), wrong);
        }
    }
}
