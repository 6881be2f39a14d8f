//! The ledger in words, on a page of eighty columns.

use super::trace;
use super::words::{box_contents, box_name, many, whose};
use super::{BoxLot, Fill, Holder, Ledger, Lot};
use crate::page::{Grid, Lean, Page, clip};
use crate::span::Span;
use crate::wall::Wall;
use platewright_model::plan::{Run, Source};
use platewright_model::{Count, Instance, Plan};
use std::collections::{BTreeMap, HashMap};

/// So many columns for a name that is not the first of its row.
const NAME: usize = 18;

/// The whole ledger: how much has to be counted, then every bag, tray and box in order.
pub fn page(instance: &Instance, plan: &Plan, ledger: &Ledger) -> String {
    let mut page = Page::new(&format!("Bags, trays and boxes of {}", instance.farm.name));
    page.blank();
    page.say(&totals(ledger));
    page.say(&counting(ledger));
    page.say(&format!(
        "The numbers of this plan end with {}, so that its labels are not taken for those of another plan.{}",
        ledger.mark,
        if plan.labelled.is_empty() { "" } else { " What was begun before it keeps the number on its label." }
    ));
    by_part(instance, ledger, &mut page);
    let printers = printers(plan);
    for holder in [Holder::Bag, Holder::Tray] {
        let lots: Vec<&Lot> = ledger.lots.iter().filter(|lot| lot.holder == holder).collect();
        if !lots.is_empty() {
            page.heading(if holder == Holder::Bag { "Bags, in order" } else { "Trays, in order" });
            lots.iter().for_each(|lot| tell_lot(instance, ledger, lot, &printers, &mut page));
        }
    }
    if !ledger.boxes.is_empty() {
        page.heading("Boxes, in order");
        ledger.boxes.iter().for_each(|packed| tell_box(instance, ledger, packed, &mut page));
    }
    page.text()
}

/// What one bag, tray or box holds, and which printers it comes from.
pub fn page_of_lot(instance: &Instance, plan: &Plan, ledger: &Ledger, at: usize, lot: &Lot) -> String {
    let mut page = Page::new(&lot.id);
    page.blank();
    tell_lot(instance, ledger, lot, &printers(plan), &mut page);
    page.heading("Runs in it");
    runs(instance, &trace::runs_into(lot, plan), &mut page);
    let boxes = trace::boxes_from(ledger, at);
    if !boxes.is_empty() {
        page.heading("Boxes that take from it");
        boxes.into_iter().for_each(|packed| box_line(instance, ledger, packed, &mut page));
    }
    page.text()
}

/// What a box holds, and which printers it comes from.
pub fn page_of_box(instance: &Instance, plan: &Plan, ledger: &Ledger, packed: &BoxLot) -> String {
    let mut page = Page::new(&packed.id);
    page.blank();
    tell_box(instance, ledger, packed, &mut page);
    page.heading("Runs in it");
    runs(instance, &trace::runs_in_box(packed, plan), &mut page);
    page.text()
}

/// Where the copies of some runs went.
pub fn page_of_runs(instance: &Instance, plan: &Plan, ledger: &Ledger, found: &[&Run], about: &str) -> String {
    let mut page = Page::new(about);
    page.blank();
    if found.is_empty() {
        page.say("Nothing was on.");
        return page.text();
    }
    runs(instance, found, &mut page);
    let mut lots: BTreeMap<usize, &Lot> = BTreeMap::new();
    let mut boxes: BTreeMap<&str, &BoxLot> = BTreeMap::new();
    for run in found {
        lots.extend(trace::lots_of(ledger, &run.run));
        boxes.extend(trace::boxes_of(ledger, &run.run).into_iter().map(|packed| (packed.id.as_str(), packed)));
    }
    page.heading("Bags and trays with copies of them");
    let printers = printers(plan);
    lots.values().for_each(|lot| tell_lot(instance, ledger, lot, &printers, &mut page));
    if !boxes.is_empty() {
        page.heading("Boxes with copies of them");
        boxes.values().for_each(|packed| box_line(instance, ledger, packed, &mut page));
    }
    page.text()
}

/// What a printer's stretch is called in a heading.
pub fn stretch(instance: &Instance, printer: &str, span: Span) -> String {
    format!("What {printer} had on, {}", Wall::of(instance).span(span.from, span.to))
}

fn totals(ledger: &Ledger) -> String {
    let count = |holder| ledger.lots.iter().filter(|lot| lot.holder == holder).count();
    let boxes = ledger.boxes.iter().filter(|packed| packed.number.is_some()).count();
    format!(
        "{}, {} and {}.",
        many(count(Holder::Bag), "bag", "bags"),
        many(count(Holder::Tray), "tray", "trays"),
        many(boxes, "box", "boxes")
    )
}

fn counting(ledger: &Ledger) -> String {
    let bags: Vec<&Lot> = ledger.lots.iter().filter(|lot| lot.holder == Holder::Bag).collect();
    if bags.is_empty() {
        return "No part has a bag count, so nothing is bagged.".to_owned();
    }
    let full = bags.iter().filter(|lot| lot.is_full()).count();
    let exact = bags.iter().filter(|lot| lot.is_full() && !lot.is_counted()).count();
    let counted = bags.iter().filter(|lot| lot.is_counted()).count();
    let shared = bags.iter().filter(|lot| lot.gives().len() > 1).count();
    let shared = match shared {
        0 => String::new(),
        _ => format!(" {} for more than one shipment, or in part for the shelf.", many(shared, "bag is", "bags are")),
    };
    format!(
        "{} of {} are full; plates alone close {exact} of these. Into {counted} somebody has to count.{shared}",
        full,
        many(bags.len(), "bag", "bags")
    )
}

fn by_part(instance: &Instance, ledger: &Ledger, page: &mut Page) {
    let mut grid = Grid::new([
        ("part", Lean::Left),
        ("pieces", Lean::Right),
        ("trays", Lean::Right),
        ("bags", Lean::Right),
        ("bag of", Lean::Right),
        ("full", Lean::Right),
        ("counted", Lean::Right),
    ]);
    for part in &instance.parts {
        let lots: Vec<&Lot> = ledger.lots.iter().filter(|lot| lot.part == part.name).collect();
        let pieces: u64 = lots.iter().map(|lot| lot.count().0).sum();
        if pieces == 0 {
            continue;
        }
        let bags: Vec<&&Lot> = lots.iter().filter(|lot| lot.holder == Holder::Bag).collect();
        let shown = |count: usize| if count == 0 { String::new() } else { count.to_string() };
        grid.row([
            part.name.clone(),
            pieces.to_string(),
            shown(lots.len() - bags.len()),
            shown(bags.len()),
            part.per_bag.map_or_else(String::new, |per_bag| per_bag.to_string()),
            shown(bags.iter().filter(|lot| lot.is_full()).count()),
            shown(bags.iter().filter(|lot| lot.is_counted()).count()),
        ]);
    }
    page.heading("By part");
    page.table(&grid);
}

type Printers<'p> = HashMap<&'p str, &'p str>;

fn printers(plan: &Plan) -> Printers<'_> {
    plan.runs.iter().map(|run| (run.run.as_str(), run.printer.as_str())).collect()
}

fn tell_lot(instance: &Instance, ledger: &Ledger, lot: &Lot, printers: &Printers, page: &mut Page) {
    let wall = Wall::of(instance);
    let holds = match lot.capacity {
        Some(capacity) if capacity != lot.count() => format!("{} of {capacity}", lot.count()),
        _ => lot.count().to_string(),
    };
    let how = match (lot.holder, lot.is_full(), lot.is_counted()) {
        (Holder::Bag, true, false) => ", closed by plates alone",
        (Holder::Bag, false, false) => ", not full",
        (Holder::Bag, true, true) => ", count",
        (Holder::Bag, false, true) => ", count, not full",
        (Holder::Tray, _, true) => ", count",
        (Holder::Tray, _, false) => "",
    };
    let when = if lot.opens == lot.closes { wall.say(lot.opens) } else { wall.span(lot.opens, lot.closes) };
    page.item(&format!("{}: {holds} {} for {}, {when}{how}", ledger.short(&lot.id), lot.part, whose(lot)));
    let fills: Vec<String> = lot.fills.iter().map(|fill| said(fill, printers)).collect();
    page.under_item(&fills.join(", "));
}

fn said(fill: &Fill, printers: &Printers) -> String {
    match &fill.source {
        Source::Stock => format!("{} from stock", fill.count()),
        Source::Run(run) => {
            let printer = printers.get(run.as_str()).copied().unwrap_or("?");
            let parted = if fill.whole { "" } else { " (plate parted)" };
            format!("{} of {run} on {printer}{parted}", fill.count())
        }
    }
}

fn tell_box(instance: &Instance, ledger: &Ledger, packed: &BoxLot, page: &mut Page) {
    box_line(instance, ledger, packed, page);
    let contents = box_contents(ledger, packed);
    page.under_item(&contents.iter().map(|(part, from)| format!("{part}: {from}")).collect::<Vec<_>>().join("; "));
}

fn box_line(instance: &Instance, ledger: &Ledger, packed: &BoxLot, page: &mut Page) {
    let by = packed.packing.as_ref().map_or_else(String::new, |packing| format!(" by {}", packing.operator));
    page.item(&format!(
        "{}: {}, {}{by}",
        ledger.short(&packed.id),
        box_name(packed),
        Wall::of(instance).say(packed.closes)
    ));
}

fn runs(instance: &Instance, runs: &[&Run], page: &mut Page) {
    let wall = Wall::of(instance);
    let mut grid = Grid::new([
        ("run", Lean::Left),
        ("printer", Lean::Left),
        ("plate", Lean::Left),
        ("loaded", Lean::Left),
        ("harvested", Lean::Left),
    ]);
    for run in runs {
        grid.row([
            run.run.clone(),
            clip(&run.printer, NAME),
            clip(&run.plate, NAME),
            run.load.as_ref().map_or_else(|| "before the start".to_owned(), |load| wall.column(load.from)),
            wall.column(run.harvest_to),
        ]);
    }
    page.table(&grid);
}

/// The packing list of a shipment: each box with what goes in and where it lies.
pub fn packing_list(instance: &Instance, plan: &Plan, ledger: &Ledger, shipment: &str) -> String {
    let wall = Wall::of(instance);
    let mut page = Page::new(&format!("Packing list: {shipment}"));
    page.blank();
    page.say(&instance.farm.name);
    if let Some(promise) = plan.shipments.iter().find(|promise| promise.shipment == shipment) {
        let due = promise.due.map_or_else(|| "at any time".to_owned(), |due| wall.say(due));
        page.say(&format!("Ready {}, due {due}.", wall.say(promise.ready)));
    }
    let boxes: Vec<&BoxLot> = ledger.boxes.iter().filter(|packed| packed.shipment == shipment).collect();
    let mut totals: BTreeMap<(usize, &str), Count> = BTreeMap::new();
    let order = |part: &str| instance.parts.iter().position(|p| p.name == part).unwrap_or(usize::MAX);
    for packed in &boxes {
        page.heading(&format!("{}: {}", ledger.short(&packed.id), box_name(packed)));
        page.say(&format!("Packed {}.", wall.say(packed.closes)));
        for (content, from) in box_contents(ledger, packed) {
            page.tick(&format!("{content}: {from}"));
        }
        for content in &packed.contents {
            *totals.entry((order(&content.part), &content.part)).or_insert(Count(0)) += content.count();
        }
    }
    page.heading("In all");
    let mut grid = Grid::new([("part", Lean::Left), ("pieces", Lean::Right)]);
    for ((_, part), count) in totals {
        grid.row([part.to_owned(), count.to_string()]);
    }
    page.table(&grid);
    page.text()
}
