//! The ledger of bags, trays and boxes.

use super::table::{Pen, Value};
use platewright_model::{Count, Instance, Plan};
use platewright_report::ledger::{BoxLot, Fill, Ledger, Lot, ledger};
use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};

/// The sheets of bags and of boxes; a plan with too many to keep a ledger of says so in their place.
pub(super) fn write(workbook: &mut Workbook, instance: &Instance, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    match ledger(instance, plan) {
        Ok(ledger) => {
            write_bags(workbook.add_worksheet(), &ledger, pen)?;
            write_boxes(workbook.add_worksheet(), &ledger, pen)?;
        }
        Err(too_many) => {
            for name in ["bags", "boxes"] {
                let note = [[Value::Text(too_many.to_string())]];
                pen.fill(workbook.add_worksheet(), name, [("note", 80)], note)?;
            }
        }
    }
    Ok(())
}

/// A row for each source of each bag or tray.
fn write_bags(sheet: &mut Worksheet, ledger: &Ledger, pen: Pen<'_>) -> Result<(), XlsxError> {
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
    let rows = ledger.lots.iter().flat_map(|lot| lot.fills.iter().map(move |fill| bag(lot, fill)));
    pen.fill(sheet, "bags", columns, rows).map(drop)
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
fn write_boxes(sheet: &mut Worksheet, ledger: &Ledger, pen: Pen<'_>) -> Result<(), XlsxError> {
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
    pen.fill(sheet, "boxes", columns, ledger.boxes.iter().map(box_lot)).map(drop)
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
