//! The object of `ledger`.

use super::stamp;
use platewright_model::Instance;
use platewright_report::ledger::{BoxLot, Fill, Ledger, Lot};
use serde::Serialize;

/// What `ledger --json` prints: all lots, or those that a trace found.
#[derive(Debug, Serialize)]
pub struct LedgerObject {
    mark: String,
    lots: Vec<LotObject>,
    boxes: Vec<BoxObject>,
}

#[derive(Debug, Serialize)]
struct LotObject {
    lot: String,
    holder: &'static str,
    part: String,
    count: u64,
    bag_count: Option<u64>,
    full: bool,
    counted: bool,
    opens: String,
    closes: String,
    shipments: Vec<GiveObject>,
    fills: Vec<FillObject>,
}

#[derive(Debug, Serialize)]
struct GiveObject {
    /// None: for the shelf.
    shipment: Option<String>,
    count: u64,
}

#[derive(Debug, Serialize)]
struct FillObject {
    source: String,
    count: u64,
    whole_plate: bool,
    at: String,
    usable: String,
    shipments: Vec<GiveObject>,
}

#[derive(Debug, Serialize)]
struct BoxObject {
    #[serde(rename = "box")]
    id: String,
    shipment: String,
    kit: String,
    kits: u64,
    number: Option<u64>,
    of: Option<u64>,
    operator: Option<String>,
    closes: String,
    contents: Vec<ContentObject>,
}

#[derive(Debug, Serialize)]
struct ContentObject {
    part: String,
    count: u64,
    from: Vec<PiecesObject>,
}

#[derive(Debug, Serialize)]
struct PiecesObject {
    lot: String,
    source: String,
    count: u64,
}

/// Some lots and boxes of a ledger.
pub fn of<'l>(
    instance: &Instance,
    ledger: &'l Ledger,
    lots: impl IntoIterator<Item = &'l Lot>,
    boxes: impl IntoIterator<Item = &'l BoxLot>,
) -> LedgerObject {
    LedgerObject {
        mark: ledger.mark.clone(),
        lots: lots.into_iter().map(|lot| lot_object(instance, lot)).collect(),
        boxes: boxes.into_iter().map(|packed| box_object(instance, ledger, packed)).collect(),
    }
}

fn lot_object(instance: &Instance, lot: &Lot) -> LotObject {
    LotObject {
        lot: lot.id.clone(),
        holder: lot.holder.word(),
        part: lot.part.clone(),
        count: lot.count().0,
        bag_count: lot.capacity.map(|count| count.0),
        full: lot.is_full(),
        counted: lot.is_counted(),
        opens: stamp(instance, lot.opens),
        closes: stamp(instance, lot.closes),
        shipments: lot.gives().into_iter().map(|g| GiveObject { shipment: g.shipment, count: g.count.0 }).collect(),
        fills: lot.fills.iter().map(|fill| fill_object(instance, fill)).collect(),
    }
}

fn fill_object(instance: &Instance, fill: &Fill) -> FillObject {
    let gives = fill.gives.iter().map(|g| GiveObject { shipment: g.shipment.clone(), count: g.count.0 });
    FillObject {
        source: fill.source.name().to_owned(),
        count: fill.count().0,
        whole_plate: fill.whole,
        at: stamp(instance, fill.at),
        usable: stamp(instance, fill.usable),
        shipments: gives.collect(),
    }
}

fn box_object(instance: &Instance, ledger: &Ledger, packed: &BoxLot) -> BoxObject {
    let lot = |at: usize| ledger.lots.get(at).map(|lot| lot.id.clone()).unwrap_or_default();
    let contents = packed.contents.iter().map(|content| ContentObject {
        part: content.part.clone(),
        count: content.count().0,
        from: content
            .pieces
            .iter()
            .map(|p| PiecesObject { lot: lot(p.lot), source: p.source.name().to_owned(), count: p.count.0 })
            .collect(),
    });
    BoxObject {
        id: packed.id.clone(),
        shipment: packed.shipment.clone(),
        kit: packed.kit.clone(),
        kits: packed.kits.0,
        number: packed.number.map(|(number, _)| number),
        of: packed.number.map(|(_, of)| of),
        operator: packed.packing.as_ref().map(|packing| packing.operator.clone()),
        closes: stamp(instance, packed.closes),
        contents: contents.collect(),
    }
}
