//! The sheets of a folder with the changes of scenarios made to them.
//!
//! Each table is changed by itself, except that printers which are taken away take their downtimes along, and that a
//! printer with a run on it is not taken away.

use super::findings::{At, Findings, Wrong};
use super::folder::Folder;
use super::number::{self, Whole};
use super::sheet::{Sheet, Spec};
use super::{bills, limits, opening, parts, plates, printers, shifts, shipments, words};
use crate::fault::FaultCode;
use crate::overlay::{Cell, Change, Overlay, Table, What};
use std::collections::BTreeSet;
use std::sync::Arc;

/// How many printers a scenario may add or take away at once.
const PRINTERS: Whole = Whole {
    what: "the number of printers",
    least: 1,
    most: limits::PRINTERS as u64,
    help: "Write how many printers of the group come or go.",
};

/// Every table as a sheet, in the order of [`Table::ALL`].
pub(super) struct Sheets(Vec<Sheet>);

impl Sheets {
    /// Reads the tables and makes the changes.
    pub(super) fn read(files: &Folder, overlays: &[Overlay], findings: &mut Findings) -> Sheets {
        let read = |table: Table, findings: &mut Findings| {
            let spec = spec(table);
            match files.text(spec.file) {
                Some(text) => Sheet::read(spec, text, findings),
                None => Sheet::absent(spec),
            }
        };
        let mut sheets = Sheets(Table::ALL.into_iter().map(|table| read(table, findings)).collect());
        for overlay in overlays {
            for change in &overlay.changes {
                sheets.make(change, &overlay.file, findings);
            }
            sheets.none_emptied(overlay, findings);
        }
        sheets
    }

    /// The sheet of a table.
    pub(super) fn of(&self, table: Table) -> &Sheet {
        // There is one for every table.
        &self.0[table as usize]
    }

    fn of_mut(&mut self, table: Table) -> &mut Sheet {
        &mut self.0[table as usize]
    }

    fn make(&mut self, change: &Change, file: &Arc<str>, findings: &mut Findings) {
        let (table, row) = (change.table, change.row);
        match &change.what {
            What::Clear => self.of_mut(table).clear(),
            What::Add(cells) => self.of_mut(table).add(cells, file, row, findings),
            What::Drop(which) => self.of_mut(table).drop(which, file, row, findings),
            What::Set(which, cells) => self.of_mut(table).set(which, cells, file, row, findings),
            What::More(group) => self.more(group, file, findings),
            What::Fewer(group) => self.fewer(group, file, findings),
        }
    }

    /// Printers of the group are added under names that nothing has yet.
    fn more(&mut self, group: &Cell, file: &Arc<str>, findings: &mut Findings) {
        let Some((count, _)) = self.group(group, "more", file, findings) else { return };
        let printers = self.of(Table::Printers);
        let mut taken: BTreeSet<String> =
            printers.rows().filter_map(|row| row.text("printer")).map(str::to_owned).collect();
        let mut numbers = 1..;
        for _ in 0..count {
            let names = numbers.by_ref().map(|number: u64| format!("{}+{number}", group.column));
            let Some(name) = names.into_iter().find(|name| !taken.contains(name)) else { return };
            let cell =
                |column: &str, text: &str| Cell { column: column.to_owned(), text: text.to_owned(), row: group.row };
            let cells = [cell("printer", &name), cell("group", &group.column)];
            self.of_mut(Table::Printers).add(&cells, file, group.row, findings);
            taken.insert(name);
        }
    }

    /// The last printers of the group leave, of those that have no run on them at the start.
    fn fewer(&mut self, group: &Cell, file: &Arc<str>, findings: &mut Findings) {
        let Some((count, members)) = self.group(group, "fewer", file, findings) else { return };
        let busy: BTreeSet<String> =
            self.of(Table::Running).rows().filter_map(|row| row.text("printer")).map(str::to_owned).collect();
        let free: Vec<&String> = members.iter().filter(|printer| !busy.contains(*printer)).collect();
        if free.len() < count {
            let with_run = members.len() - free.len();
            let note =
                if with_run > 0 { format!(", {with_run} of them with a run at the start") } else { String::new() };
            let message = format!(
                "{count} printers of group {} cannot be taken away: there are {}{note}.",
                group.column,
                members.len()
            );
            let wrong = Wrong::new(FaultCode::OutOfRange, message, format!("Write {} or fewer.", free.len()));
            let column = format!("printers.fewer.{}", group.column);
            findings.add(At { file, row: group.row, column: Some(&column) }, wrong);
            return;
        }
        let leaving: BTreeSet<String> = free.into_iter().rev().take(count).cloned().collect();
        for table in [Table::Printers, Table::Downtime] {
            self.of_mut(table).keep("printer", |printer| !leaving.contains(printer));
        }
    }

    /// How many printers a change speaks of, and those that the group has; told where either makes no sense.
    fn group(
        &self,
        group: &Cell,
        word: &str,
        file: &Arc<str>,
        findings: &mut Findings,
    ) -> Option<(usize, Vec<String>)> {
        let column = format!("printers.{word}.{}", group.column);
        let at = At { file, row: group.row, column: Some(&column) };
        let count = number::whole(&group.text, PRINTERS).map_err(|wrong| findings.add(at, wrong)).ok();
        let printers = self.of(Table::Printers);
        let in_group = printers.rows().filter(|row| row.text("group") == Some(&group.column));
        let members: Vec<String> = in_group.filter_map(|row| row.text("printer")).map(str::to_owned).collect();
        if members.is_empty() {
            if printers.complete {
                let groups: BTreeSet<&str> = printers.rows().filter_map(|row| row.text("group")).collect();
                let meant = words::did_you_mean(&group.column, groups.iter().copied(), true);
                let help =
                    format!("{meant}The column group of printers.csv lists {}.", words::listed(groups.iter().copied()));
                let message = format!("\"{}\" is not a group of printers.", group.column);
                findings.add(at, Wrong::new(FaultCode::UnknownGroup, message, help));
            }
            return None;
        }
        Some((usize::try_from(count?).ok()?, members))
    }

    /// A table that must have rows still has some.
    fn none_emptied(&self, overlay: &Overlay, findings: &mut Findings) {
        for table in Table::ALL {
            let (sheet, spec) = (self.of(table), spec(table));
            if overlay.changes.iter().any(|change| change.table == table)
                && sheet.complete
                && sheet.len() == 0
                && !spec.may_be_empty
            {
                let message = format!("The scenario leaves no row of {}.", spec.file);
                let at = At::file(&overlay.file).column(table.word());
                findings.add(at, Wrong::new(FaultCode::NoRows, message, "Leave or add at least one row."));
            }
        }
    }
}

/// What a table looks like.
pub(super) fn spec(table: Table) -> &'static Spec {
    match table {
        Table::Printers => &printers::PRINTERS,
        Table::Downtime => &printers::DOWNTIME,
        Table::Parts => &parts::PARTS,
        Table::Plates => &plates::PLATES,
        Table::Kits => &bills::KITS,
        Table::Shipments => &shipments::SHIPMENTS,
        Table::Shifts => &shifts::SHIFTS,
        Table::Closures => &shifts::CLOSURES,
        Table::Stock => &opening::STOCK,
        Table::Running => &opening::RUNNING,
    }
}
