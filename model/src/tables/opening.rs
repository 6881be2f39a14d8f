//! `stock.csv` and `running.csv`: what the farm begins with.

use super::findings::{Findings, Wrong};
use super::limits;
use super::names::Names;
use super::plates::Plates;
use super::printers::Printers;
use super::sheet::{Line, Sheet, Spec};
use super::words;
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::instance::{PartId, PlateId, PrinterId, Running, Stock};
use std::collections::HashMap;

pub(super) const STOCK: Spec =
    Spec { file: "stock.csv", required: &["part", "quantity"], optional: &[], may_be_empty: true };

pub(super) const RUNNING: Spec =
    Spec { file: "running.csv", required: &["printer", "plate", "ready"], optional: &[], may_be_empty: true };

/// Reads the stock.
pub(super) fn read_stock(sheet: &Sheet, parts: &Names, findings: &mut Findings) -> Vec<Stock> {
    let mut seen: HashMap<u32, Line> = HashMap::new();
    let mut all = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let (name, quantity) = (cells.name("part"), cells.count("quantity", limits::STOCK_QUANTITY));
        let Some(part) = name.and_then(|name| parts.find(&name, cells.at("part"), cells.findings)) else { continue };
        if let Some(first) = seen.insert(part, row.line) {
            let message = format!("The part \"{}\" is already on row {first}.", row.text("part").unwrap_or_default());
            let wrong = Wrong::new(FaultCode::DuplicateRow, message, "Add the two quantities up on one row.");
            cells.findings.add(cells.at("part"), wrong);
        } else if let Some(quantity) = quantity {
            all.push(Stock { part: PartId(part), quantity });
        }
    }
    all
}

/// Reads the runs that are on printers at the start.
pub(super) fn read_running(
    sheet: &Sheet,
    printers: &Printers,
    plates: &Plates,
    clock: Option<Clock>,
    findings: &mut Findings,
) -> Vec<Running> {
    let mut seen: HashMap<u32, Line> = HashMap::new();
    let mut all = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let (printer_name, plate_name) = (cells.name("printer"), cells.name("plate"));
        let ready = cells.instant("ready", clock);
        let printer = printer_name.and_then(|name| printers.names.find(&name, cells.at("printer"), cells.findings));
        let plate = plate_name.and_then(|name| plates.names.find(&name, cells.at("plate"), cells.findings));
        let Some(printer) = printer else { continue };
        if let Some(first) = seen.insert(printer, row.line) {
            let name = row.text("printer").unwrap_or_default();
            let message = format!("The printer \"{name}\" already runs the plate of row {first}.");
            let wrong =
                Wrong::new(FaultCode::DuplicateRow, message, "A printer runs one plate at a time: keep one row.");
            cells.findings.add(cells.at("printer"), wrong);
            continue;
        }
        let Some(plate) = plate else { continue };
        if let Some(wrong) = not_on_group(printer, plate, printers, plates) {
            cells.findings.add(cells.at("plate"), wrong);
        }
        if let Some(ready) = ready {
            all.push(Running { printer: PrinterId(printer), plate: PlateId(plate), ready });
        }
    }
    all
}

/// What to say of a plate that is not listed for a printer's group.
fn not_on_group(printer: u32, plate: u32, printers: &Printers, plates: &Plates) -> Option<Wrong> {
    let printer = printers.list.get(printer as usize)?;
    let plate = plates.list.get(plate as usize)?;
    if !plates.names.complete || !printers.groups.complete || plate.on(printer.group).is_some() {
        return None;
    }
    let called = |group: usize| printers.groups.iter().nth(group).unwrap_or_default();
    let listed = words::listed(plate.on_groups.iter().map(|on| called(on.group.index())));
    if listed.is_empty() {
        return None;
    }
    let (name, group) = (&printer.name, called(printer.group.index()));
    let message = format!("Plate \"{}\" does not run on group {group}, to which printer {name} belongs.", plate.name);
    let help =
        format!("It is listed for {listed}: correct the printer or the plate, or add the plate's row for {group}.");
    Some(Wrong::new(FaultCode::PlateNotOnGroup, message, help))
}
