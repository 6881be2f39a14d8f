//! `printers.csv` and `downtime.csv`: the machines, and when they are down.

use super::findings::{At, Findings, Wrong};
use super::limits;
use super::names::Names;
use super::sheet::{Sheet, Spec};
use super::words;
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::instance::{Downtime, GroupId, MaterialId, Printer, PrinterId};

pub(super) const PRINTERS: Spec =
    Spec { file: "printers.csv", required: &["printer", "group"], optional: &["bay", "material"], may_be_empty: false };

pub(super) const DOWNTIME: Spec =
    Spec { file: "downtime.csv", required: &["printer", "from", "to"], optional: &["reason"], may_be_empty: true };

/// Printers and their groups.
pub(super) struct Printers {
    pub(super) names: Names,
    pub(super) groups: Names,
    pub(super) list: Vec<Printer>,
    /// The printers of each group.
    members: Vec<Vec<PrinterId>>,
}

/// Reads the printers; their materials join those of the parts.
pub(super) fn read(sheet: &Sheet, materials: &mut Names, findings: &mut Findings) -> Printers {
    let mut names = Names::new("a printer", "printers.csv", FaultCode::UnknownPrinter);
    let mut groups = Names::new("a group of printers", "The column group of printers.csv", FaultCode::UnknownGroup);
    let mut list: Vec<Printer> = Vec::new();
    names.complete = sheet.complete;
    groups.complete = sheet.complete;
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let (name, group) = (cells.name("printer"), cells.name("group"));
        let (bay, material) = (cells.note("bay"), cells.optional_name("material"));
        let group = group.map(|group| groups.mention(&group, cells.at("group"), cells.findings));
        let material = material.map(|material| materials.mention(&material, cells.at("material"), cells.findings));
        groups.complete &= group.is_some();
        let Some(name) = name else {
            names.complete = false;
            continue;
        };
        if let Some(first) = names.row(&name) {
            let message = format!("The printer \"{name}\" is already on row {first}.");
            let wrong = Wrong::new(FaultCode::DuplicateRow, message, "Give every printer a name of its own.");
            cells.findings.add(cells.at("printer"), wrong);
            continue;
        }
        names.declare(&name, row.line);
        list.push(Printer { name, group: GroupId(group.unwrap_or(0)), bay, material: material.map(MaterialId) });
    }
    if list.len() > limits::PRINTERS {
        let message = format!("The table has {} printers; {} is the most.", list.len(), limits::PRINTERS);
        findings.add(
            At::file(PRINTERS.file),
            Wrong::new(FaultCode::TooMuch, message, "Split the farm and plan each room by itself."),
        );
    }
    let mut members = vec![Vec::new(); groups.iter().count()];
    for (id, printer) in (0..).map(PrinterId).zip(&list) {
        members.get_mut(printer.group.index()).into_iter().for_each(|group: &mut Vec<_>| group.push(id));
    }
    Printers { names, groups, list, members }
}

/// Reads the downtimes, a group's once for each of its printers.
pub(super) fn read_downtime(
    sheet: &Sheet,
    printers: &Printers,
    clock: Option<Clock>,
    findings: &mut Findings,
) -> Vec<Downtime> {
    let mut all = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let name = cells.name("printer");
        let (from, to) = (cells.instant("from", clock), cells.instant("to", clock));
        let reason = cells.note("reason");
        let down = name.map(|name| meant(&name, printers, cells.at("printer"), cells.findings)).unwrap_or_default();
        let (Some(from), Some(to)) = (from, to) else { continue };
        if to <= from {
            let message =
                format!("The downtime ends at or before it begins ({}).", row.text("from").unwrap_or_default());
            let wrong = Wrong::new(FaultCode::EndBeforeStart, message, "Write the later time under to.");
            cells.findings.add(cells.at("to"), wrong);
        }
        if all.len() + down.len() > limits::DOWNTIMES {
            let message = format!("The downtimes of single printers are more than {}.", limits::DOWNTIMES);
            cells.findings.add(row.at(), Wrong::new(FaultCode::TooMuch, message, "Join stretches that touch."));
            break;
        }
        all.extend(down.into_iter().map(|printer| Downtime { printer, from, to, reason: reason.clone() }));
    }
    all
}

/// The printers that a name means: one, or those of a group.
fn meant(name: &str, printers: &Printers, at: At<'_>, findings: &mut Findings) -> Vec<PrinterId> {
    let of_group = |group: u32| printers.members.get(group as usize).cloned().unwrap_or_default();
    match (printers.names.number(name).map(PrinterId), printers.groups.number(name).map(of_group)) {
        (Some(printer), Some(group)) if group != [printer] => {
            findings.add_once(at, FaultCode::AmbiguousName, name, |_| {
                let message = format!("\"{name}\" is both a printer and a group.");
                Wrong::new(FaultCode::AmbiguousName, message, "Rename the printer or the group in printers.csv.")
            });
            Vec::new()
        }
        (Some(printer), _) => vec![printer],
        (None, Some(group)) => group,
        (None, None) => {
            if printers.names.complete && printers.groups.complete {
                findings.add_once(at, FaultCode::UnknownPrinter, name, |suggest| {
                    let names = printers.names.iter().chain(printers.groups.iter());
                    let meant = words::did_you_mean(name, names, suggest);
                    let groups = words::listed(printers.groups.iter());
                    let help = format!("{meant}printers.csv lists printers; the groups are {groups}.");
                    Wrong::new(FaultCode::UnknownPrinter, format!("\"{name}\" is neither a printer nor a group."), help)
                });
            }
            Vec::new()
        }
    }
}
