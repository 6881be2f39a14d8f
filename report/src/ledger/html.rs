//! Packing lists as a page to print.

use super::Ledger;
use super::words::{box_contents, box_name};
use crate::html::frame::Frame;
use crate::html::moment::Moment;
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::paper::Paper;
use askama::Template;
use platewright_model::{Count, Instance, Plan};

#[derive(Template)]
#[template(path = "packing.html")]
struct PackingPage {
    frame: Frame,
    farm: String,
    mark: String,
    lists: Vec<ListView>,
}

struct ListView {
    shipment: String,
    ready: Option<Moment>,
    due: Option<Moment>,
    boxes: Vec<BoxView>,
    totals: Table,
}

struct BoxView {
    number: String,
    name: String,
    closes: Moment,
    contents: Vec<(String, String)>,
}

/// The packing lists of some shipments; each begins a page of its own.
pub fn packing_lists(
    instance: &Instance,
    plan: &Plan,
    ledger: &Ledger,
    shipments: &[&str],
    paper: Option<Paper>,
) -> String {
    let style = match paper {
        None => concat!(include_str!("../../templates/packing.css"), "@page { margin: 12mm; }"),
        Some(Paper::A4) => concat!(include_str!("../../templates/packing.css"), "@page { size: A4; margin: 12mm; }"),
        Some(Paper::Letter) => {
            concat!(include_str!("../../templates/packing.css"), "@page { size: letter; margin: 12mm; }")
        }
    };
    let title = format!("Packing lists: {}", shown(&instance.farm.name));
    let page = PackingPage {
        frame: Frame { title, kind: Some("packing"), style, script: None },
        farm: shown(&instance.farm.name),
        mark: ledger.mark.clone(),
        lists: shipments.iter().map(|shipment| list(instance, plan, ledger, shipment)).collect(),
    };
    // A page of ours, written into a string, has nothing that could fail.
    page.render().unwrap_or_default()
}

fn list(instance: &Instance, plan: &Plan, ledger: &Ledger, shipment: &str) -> ListView {
    let promise = plan.shipments.iter().find(|promise| promise.shipment == shipment);
    let boxes = ledger.boxes.iter().filter(|packed| packed.shipment == shipment);
    let mut totals = Table::new("In all", &["part", "#pieces"]);
    for part in &instance.parts {
        let contents = boxes.clone().flat_map(|packed| &packed.contents).filter(|content| content.part == part.name);
        let count = contents.fold(Count(0), |sum, content| sum + content.count());
        if count.0 > 0 {
            totals.row([Cell::head(&part.name), Cell::figure(count)]);
        }
    }
    ListView {
        shipment: shown(shipment),
        ready: promise.map(|promise| Moment::of(instance, promise.ready)),
        due: promise.and_then(|promise| promise.due).map(|due| Moment::of(instance, due)),
        boxes: boxes
            .map(|packed| BoxView {
                number: ledger.short(&packed.id).to_owned(),
                name: shown(&box_name(packed)),
                closes: Moment::of(instance, packed.closes),
                contents: box_contents(ledger, packed).into_iter().map(|(part, from)| (shown(&part), from)).collect(),
            })
            .collect(),
        totals,
    }
}
