//! `shipments.csv`: the order book, a row for each shipment and kit.

use super::bills::Kits;
use super::findings::{At, Findings, Wrong};
use super::names::Names;
use super::sheet::{Line, Row, Sheet, Spec};
use super::stated::Stated;
use super::{limits, number, waits};
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::instance::{After, KitId, Shipment, ShipmentLine};
use crate::units::{Instant, Minutes, Weight};
use std::collections::HashMap;

pub(super) const SHIPMENTS: Spec = Spec {
    file: "shipments.csv",
    required: &["shipment", "kit", "quantity"],
    optional: &["release", "due", "weight", "per_box", "after", "hold_hours"],
    may_be_empty: false,
};

/// What the rest of the farm says about the times of a shipment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Times {
    pub(super) clock: Option<Clock>,
    pub(super) start: Option<Instant>,
}

/// A shipment while its rows come in.
#[derive(Default)]
struct Draft {
    lines: Vec<ShipmentLine>,
    /// The row of each kit's line.
    rows: HashMap<KitId, Line>,
    release: Stated<Instant>,
    due: Stated<Instant>,
    weight: Stated<Weight>,
    waits: waits::Waits,
}

/// Reads the shipments.
pub(super) fn read(sheet: &Sheet, kits: &Kits, parts: &Names, times: Times, findings: &mut Findings) -> Vec<Shipment> {
    let mut names = Names::new("a shipment", "shipments.csv", FaultCode::UnknownShipment);
    let mut drafts: Vec<Draft> = Vec::new();
    for row in sheet.rows() {
        read_row(row, kits, parts, times, (&mut names, &mut drafts), findings);
    }
    let weights = drafts.iter().map(|draft| draft.weight.value().unwrap_or_default().0).sum::<u64>();
    if weights > limits::ALL_WEIGHTS * 1000 {
        let most = number::grouped(limits::ALL_WEIGHTS);
        let message = format!("The weights of all shipments add up to more than {most}.");
        let at = At::file(SHIPMENTS.file).column("weight");
        findings.add(
            at,
            Wrong::new(FaultCode::TooMuch, message, "Only their ratios matter: divide them all by the same number."),
        );
    }
    names.complete = sheet.complete && names.complete;
    let after = waits::resolve(drafts.iter().map(|draft| &draft.waits), &names, findings);
    names.iter().zip(drafts).zip(after).map(|((name, draft), after)| draft.shipment(name, after)).collect()
}

fn read_row(
    row: Row<'_>,
    kits: &Kits,
    parts: &Names,
    times: Times,
    (names, drafts): (&mut Names, &mut Vec<Draft>),
    findings: &mut Findings,
) {
    let mut cells = row.cells(findings);
    let (name, kit) = (cells.name("shipment"), cells.name("kit"));
    let quantity = cells.count("quantity", limits::KIT_QUANTITY);
    let release = cells.optional_instant("release", times.clock);
    let due = cells.optional_instant("due", times.clock);
    let weight = cells.optional("weight", |text| number::weight(text, limits::WEIGHT));
    let per_box = cells.optional_count("per_box", limits::PER_BOX);
    let after = cells.optional_name("after");
    let hold = cells.optional("hold_hours", waits::hold);
    let kit_at = cells.at("kit");
    let kit_id = kit.as_ref().and_then(|kit| find_kit(kit, kits, parts, kit_at, cells.findings));
    check_due(due, row, times.start, cells.findings);

    let Some(name) = name else {
        names.complete = false;
        return;
    };
    let number = names.declare(&name, row.line) as usize;
    if number == drafts.len() {
        drafts.push(Draft::default());
    }
    let Some(draft) = drafts.get_mut(number) else { return };
    let whose = format!("shipment {name}");
    draft.release.take(release, row, "release", &whose, cells.findings);
    draft.due.take(due, row, "due", &whose, cells.findings);
    draft.weight.take(weight, row, "weight", &whose, cells.findings);
    draft.waits.take(after, hold, row, &whose, cells.findings);
    let (Some(kit), Some(quantity)) = (kit_id, quantity) else { return };
    if let Some(first) = draft.rows.insert(kit, row.line) {
        let message = format!("Row {first} already puts {} into shipment {name}.", row.text("kit").unwrap_or_default());
        cells
            .findings
            .add(row.at(), Wrong::new(FaultCode::DuplicateRow, message, "Add the two quantities up on one row."));
        return;
    }
    draft.lines.push(ShipmentLine { kit, quantity, per_box });
}

fn find_kit(name: &str, kits: &Kits, parts: &Names, at: At<'_>, findings: &mut Findings) -> Option<KitId> {
    if kits.names.number(name).is_none() && kits.names.complete && parts.number(name).is_some() {
        findings.add_once(at, FaultCode::UnknownKit, name, |_| {
            let help = format!("Add a kit of one {name} to kits.csv, and ship that.");
            Wrong::new(FaultCode::UnknownKit, format!("\"{name}\" is a part; kits are shipped."), help)
        });
        return None;
    }
    kits.names.find(name, at, findings).map(KitId)
}

/// A due date years away is a slip, and lateness from it would not be counted safely.
fn check_due(due: Option<Instant>, row: Row<'_>, start: Option<Instant>, findings: &mut Findings) {
    let (Some(due), Some(start)) = (due, start) else { return };
    if (due - start).0.abs() > limits::DUE_WITHIN_MINUTES {
        let text = row.text("due").unwrap_or_default();
        let message = format!("{text} lies more than five years from the farm's start.");
        let at = row.at_cell("due");
        findings.add(at, Wrong::new(FaultCode::OutOfRange, message, "Check the year here and in farm.toml."));
    }
}

impl Draft {
    fn shipment(self, name: &str, after: Option<After>) -> Shipment {
        Shipment {
            name: name.to_owned(),
            lines: self.lines,
            release: self.release.value(),
            due: self.due.value(),
            weight: self.weight.value().unwrap_or_default(),
            after,
        }
    }
}

/// Kept beside the limit it justifies: the largest sum of weighted lateness is exact in an `f64`.
const _: () = {
    let reach = limits::HORIZON_DAYS.most as i64 * Minutes::DAY.0 + limits::DUE_WITHIN_MINUTES;
    assert!(reach * (limits::ALL_WEIGHTS as i64 * 1000) < 9_000_000_000_000_000);
};
