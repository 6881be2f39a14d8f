//! The ledger of bags, trays and boxes.

use super::table::{Pen, Value};
use platewright_model::Count;
use platewright_report::ledger::{BoxLot, Fill, Ledger, Lot};
use rust_xlsxwriter::{Worksheet, XlsxError};

/// A row for each source of each bag or tray; a plan with too many to keep a ledger of says so in their place.
pub(super) fn write_bags(
    sheet: &mut Worksheet,
    ledger: &Result<Ledger, String>,
    pen: Pen<'_>,
) -> Result<(), XlsxError> {
    let columns = [
        ("lot", 18),
        ("holder", 9),
        ("part", 24),
        ("capacity", 10),
        ("source", 12),
        ("count", 10),
        ("whole_plate", 12),
        ("comes_off", 17),
        ("usable", 17),
        ("for", 40),
        ("lot_closes", 17),
    ];
    match ledger {
        Ok(ledger) => {
            let fills = ledger.lots.iter().flat_map(|lot| lot.fills.iter().map(move |fill| (lot, fill)));
            pen.fill(sheet, "bags", columns, fills.map(|(lot, fill)| bag(lot, fill))).map(drop)
        }
        Err(why) => none(sheet, "bags", why, pen),
    }
}

fn bag(lot: &Lot, fill: &Fill) -> [Value; 11] {
    let gives =
        fill.gives.iter().map(|give| format!("{} {}", give.count, give.shipment.as_deref().unwrap_or("surplus")));
    [
        (&lot.id).into(),
        lot.holder.word().into(),
        (&lot.part).into(),
        lot.capacity.into(),
        fill.source.name().into(),
        fill.count().into(),
        if fill.whole { "yes" } else { "no: count" }.into(),
        fill.at.into(),
        fill.usable.into(),
        Value::Text(gives.collect::<Vec<_>>().join(", ")),
        lot.closes.into(),
    ]
}

/// A row for each box, or for the kits of a row without boxes.
pub(super) fn write_boxes(
    sheet: &mut Worksheet,
    ledger: &Result<Ledger, String>,
    pen: Pen<'_>,
) -> Result<(), XlsxError> {
    let columns = [
        ("lot", 18),
        ("shipment", 24),
        ("kit", 24),
        ("kits", 8),
        ("box", 8),
        ("of", 8),
        ("packer", 14),
        ("pack_from", 17),
        ("pack_to", 17),
        ("closes", 17),
    ];
    match ledger {
        Ok(ledger) => pen.fill(sheet, "boxes", columns, ledger.boxes.iter().map(box_lot)).map(drop),
        Err(why) => none(sheet, "boxes", why, pen),
    }
}

fn box_lot(packed: &BoxLot) -> [Value; 10] {
    let packing = packed.packing.as_ref();
    [
        (&packed.id).into(),
        (&packed.shipment).into(),
        (&packed.kit).into(),
        packed.kits.into(),
        packed.number.map(|number| Count(number.0)).into(),
        packed.number.map(|number| Count(number.1)).into(),
        packing.map(|packing| &packing.operator).into(),
        packing.map(|packing| packing.from).into(),
        packing.map(|packing| packing.to).into(),
        packed.closes.into(),
    ]
}

fn none(sheet: &mut Worksheet, name: &str, why: &str, pen: Pen<'_>) -> Result<(), XlsxError> {
    pen.fill(sheet, name, [("note", 80)], [[Value::from(why)]]).map(drop)
}
