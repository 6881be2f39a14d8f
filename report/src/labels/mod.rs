//! Labels for bags, trays and boxes: sheets of labels of a stated size, each with its lot's number in words and as a QR code
//! (ISO/IEC 18004).
//!
//! The code holds the number and nothing else, in the code's own alphanumeric set, so that it stays coarse enough for a
//! phone and a worn printer: 21 modules to a side at error correction Q, which bears a quarter of it being lost. What the
//! number means is looked up with the ledger.

mod grid;

#[cfg(test)]
mod tests;

pub use grid::{Grid, Misfit, Stock};

use crate::html::frame::Frame;
use crate::html::shown;
use crate::ledger::words::whose;
use crate::ledger::{Holder, Ledger};
use crate::sheet;
use crate::sheet::shift::CrewShift;
use crate::wall::Wall;
use askama::Template;
use platewright_model::plan::Source;
use platewright_model::{Instance, Plan};
use qrcode::{Color, EcLevel, QrCode};
use std::collections::HashSet;
use std::fmt::Write;

/// What a label is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A bag.
    Bag,
    /// A tray.
    Tray,
    /// A box.
    Box,
}

impl Kind {
    /// All of them.
    pub const ALL: [Kind; 3] = [Kind::Bag, Kind::Tray, Kind::Box];
}

/// One label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The lot's number.
    pub id: String,
    /// What is in it: `24 louvre`.
    pub what: String,
    /// For whom: `schools`.
    pub whose: String,
    /// What else tells it apart: `box 1 of 3`, the day of a tray.
    pub which: String,
}

/// The labels of a plan, or of what a shift begins; bags and trays in the order in which they are begun, then boxes.
pub fn labels(
    instance: &Instance,
    plan: &Plan,
    ledger: &Ledger,
    kinds: &[Kind],
    shift: Option<&CrewShift>,
) -> Vec<Label> {
    let wall = Wall::of(instance);
    let begun = shift.map(|shift| begun(instance, plan, ledger, shift));
    let mut labels = Vec::new();
    for (at, lot) in ledger.lots.iter().enumerate() {
        let kind = if lot.holder == Holder::Bag { Kind::Bag } else { Kind::Tray };
        if kinds.contains(&kind) && begun.as_ref().is_none_or(|(lots, _)| lots.contains(&at)) {
            labels.push(Label {
                id: lot.id.clone(),
                what: format!("{} {}", lot.count(), shown(&lot.part)),
                whose: shown(&whose(lot)),
                which: match kind {
                    Kind::Tray => format!("tray, {}", wall.day(lot.opens)),
                    _ if lot.is_full() => format!("bag of {}", lot.count()),
                    _ => "bag, not full".to_owned(),
                },
            });
        }
    }
    for (at, packed) in ledger.boxes.iter().enumerate() {
        if let Some((number, of)) = packed.number
            && kinds.contains(&Kind::Box)
            && begun.as_ref().is_none_or(|(_, boxes)| boxes.contains(&at))
        {
            labels.push(Label {
                id: packed.id.clone(),
                what: format!("{} {}", packed.kits, shown(&packed.kit)),
                whose: shown(&packed.shipment),
                which: format!("box {number} of {of}"),
            });
        }
    }
    labels
}

/// The lots that a shift begins and the boxes that it packs; those that stock begins belong to the first shift.
fn begun(instance: &Instance, plan: &Plan, ledger: &Ledger, shift: &CrewShift) -> (HashSet<usize>, HashSet<usize>) {
    let sheet = sheet::sheet(instance, plan, ledger, shift);
    let stops = sheet.rounds.iter().flat_map(|round| &round.stops);
    let parts = stops.filter_map(|stop| stop.off.as_ref()).flat_map(|off| &off.parts);
    let mut lots: HashSet<usize> =
        parts.flat_map(|part| &part.into).filter(|into| into.begins).map(|into| into.lot).collect();
    if shift.from() <= instance.farm.start {
        let of_stock = |at: &usize| {
            ledger.lots.get(*at).and_then(|lot| lot.fills.first()).is_some_and(|fill| fill.source == Source::Stock)
        };
        lots.extend((0..ledger.lots.len()).filter(of_stock));
    }
    (lots, sheet.boxes.iter().map(|stop| stop.packed).collect())
}

/// The dark modules of a number's QR code as an SVG path, and the code's side with its quiet zone, in modules.
pub fn code(number: &str) -> Option<(String, usize)> {
    /// Clear modules on each side (ISO/IEC 18004).
    const QUIET: usize = 4;
    let code = QrCode::with_error_correction_level(number, EcLevel::Q).ok()?;
    let side = code.width();
    let mut path = String::new();
    for (y, row) in code.to_colors().chunks(side).enumerate() {
        let mut x = QUIET;
        for stretch in row.chunk_by(|one, next| one == next) {
            let wide = stretch.len();
            if stretch.first() == Some(&Color::Dark) {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{x} {}h{wide}v1h-{wide}z", y + QUIET);
            }
            x += wide;
        }
    }
    Some((path, side + 2 * QUIET))
}

struct LabelView<'l> {
    label: &'l Label,
    code: String,
    side: usize,
}

impl LabelView<'_> {
    fn of(label: &Label) -> LabelView<'_> {
        // Any number of ours is far within what a code holds.
        let (code, side) = code(&label.id).unwrap_or_default();
        LabelView { label, code, side }
    }
}

#[derive(Template)]
#[template(path = "labels.html")]
struct LabelsPage<'l> {
    frame: Frame,
    grid: &'l Grid,
    sheets: Vec<Vec<Option<LabelView<'l>>>>,
}

/// The page of all labels, after so many places of the first sheet that are left out.
pub fn page(instance: &Instance, labels: &[Label], grid: &Grid, skip: usize) -> String {
    let style = match grid.paper() {
        crate::paper::Paper::A4 => {
            concat!(include_str!("../../templates/labels.css"), "@page { size: A4; margin: 0; }")
        }
        crate::paper::Paper::Letter => {
            concat!(include_str!("../../templates/labels.css"), "@page { size: letter; margin: 0; }")
        }
    };
    let view = |label| Some(LabelView::of(label));
    let skip = if labels.is_empty() { 0 } else { skip % grid.per_sheet() };
    let places: Vec<Option<LabelView>> = (0..skip).map(|_| None).chain(labels.iter().map(view)).collect();
    let mut sheets: Vec<Vec<Option<LabelView>>> = Vec::new();
    for place in places {
        match sheets.last_mut() {
            Some(sheet) if sheet.len() < grid.per_sheet() => sheet.push(place),
            _ => sheets.push(vec![place]),
        }
    }
    let frame =
        Frame { title: format!("Labels: {}", shown(&instance.farm.name)), kind: Some("labels"), style, script: None };
    // A page of ours, written into a string, has nothing that could fail.
    LabelsPage { frame, grid, sheets }.render().unwrap_or_default()
}
