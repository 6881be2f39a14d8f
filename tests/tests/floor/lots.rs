//! Nothing is lost or doubled on the way from plates through bags and trays into boxes, and the two ways of tracing a lot
//! agree.

use crate::plans;
use platewright_model::instance::ShipmentId;
use platewright_model::{Count, Instance, Plan, kits};
use platewright_report::ledger::{Holder, Ledger, ledger, trace};
use platewright_report::span::Span;
use platewright_tests::weeks::Size;
use std::collections::{BTreeMap, BTreeSet};

type Key = (String, String, String);

fn add(counts: &mut BTreeMap<Key, u64>, key: (&str, &str, &str), count: u64) {
    *counts.entry((key.0.to_owned(), key.1.to_owned(), key.2.to_owned())).or_default() += count;
}

/// By source, part and shipment, lots and boxes hold what the allocation says; what is over is for the shelf.
fn counts(instance: &Instance, plan: &Plan, ledger: &Ledger) {
    let mut allocated = BTreeMap::new();
    for row in &plan.allocation {
        add(&mut allocated, (row.source.name(), &row.part, &row.shipment), row.count.0);
    }
    let (mut in_lots, mut shelved, mut in_boxes) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
    for lot in &ledger.lots {
        for fill in &lot.fills {
            for give in &fill.gives {
                match &give.shipment {
                    Some(shipment) => add(&mut in_lots, (fill.source.name(), &lot.part, shipment), give.count.0),
                    None => add(&mut shelved, (fill.source.name(), &lot.part, ""), give.count.0),
                }
            }
        }
    }
    for packed in &ledger.boxes {
        for content in &packed.contents {
            for pieces in &content.pieces {
                let lot = &ledger.lots[pieces.lot];
                assert_eq!(lot.part, content.part);
                assert!(lot.fills.iter().any(|fill| fill.source == pieces.source));
                let key = (pieces.source.name().to_owned(), content.part.clone(), packed.shipment.clone());
                *in_boxes.entry(key).or_default() += pieces.count.0;
            }
        }
    }
    assert_eq!(in_lots, allocated, "bags and trays against the allocation");
    assert_eq!(in_boxes, allocated, "boxes against the allocation");
    for run in &plan.runs {
        let printer = instance.printers.iter().find(|p| p.name == run.printer).unwrap();
        let plate = instance.plates.iter().find(|p| p.name == run.plate).unwrap().on(printer.group).unwrap();
        for (part, copies) in &plate.copies {
            let part = &instance.parts[part.index()].name;
            let given: u64 = in_lots.iter().filter(|(k, _)| k.0 == run.run && k.1 == *part).map(|(_, n)| n).sum();
            let left = shelved.get(&(run.run.clone(), part.clone(), String::new())).copied().unwrap_or(0);
            assert_eq!(given + left, copies.0, "{} of {part}", run.run);
        }
    }
}

/// As many kits and boxes as the shipments say, each with what its kit holds, none packed from parts that are not there.
fn boxes(instance: &Instance, ledger: &Ledger) {
    for shipment in &instance.shipments {
        for line in &shipment.lines {
            let kit = &instance.kits[line.kit.index()].name;
            let of_line = ledger.boxes.iter().filter(|b| b.shipment == shipment.name && b.kit == *kit);
            let kits: u64 = of_line.clone().map(|b| b.kits.0).sum();
            assert_eq!(kits, line.quantity.0, "kits of {kit} for {}", shipment.name);
            let boxed = of_line.clone().filter(|b| b.number.is_some()).count() as u64;
            assert_eq!(boxed, line.boxes().0, "boxes of {kit} for {}", shipment.name);
            for packed in of_line {
                let holds: BTreeMap<&str, u64> =
                    packed.contents.iter().map(|content| (content.part.as_str(), content.count().0)).collect();
                let bill = kits::parts_of_kit(instance, line.kit);
                let due: BTreeMap<&str, u64> = bill
                    .iter()
                    .map(|(part, each)| (instance.parts[part.index()].name.as_str(), each.0 * packed.kits.0))
                    .collect();
                assert_eq!(holds, due, "{}", packed.id);
                let Some(packing) = &packed.packing else { continue };
                for pieces in packed.contents.iter().flat_map(|content| &content.pieces) {
                    let fills = &ledger.lots[pieces.lot].fills;
                    let fill = fills.iter().find(|fill| fill.source == pieces.source).unwrap();
                    assert!(fill.usable <= packing.from, "{} is packed before its parts are there", packed.id);
                }
            }
        }
    }
    for (id, shipment) in (0..).map(ShipmentId).zip(&instance.shipments) {
        let needs: u64 = kits::needs(instance, id).iter().map(|(_, count)| count.0).sum();
        let gives = ledger.lots.iter().flat_map(|lot| lot.gives());
        let bagged: u64 = gives.filter(|g| g.shipment.as_ref() == Some(&shipment.name)).map(|g| g.count.0).sum();
        assert_eq!(bagged, needs, "pieces bagged for {}", shipment.name);
    }
}

/// No bag holds more than its count, a plate lies in one bag where plates close bags, and without that no more bags are
/// filled for a shipment than its pieces need.
fn bags(instance: &Instance, plan: &Plan, ledger: &Ledger) -> usize {
    let mut bags_of: BTreeMap<(String, String), BTreeSet<&str>> = BTreeMap::new();
    let mut per_shipment: BTreeMap<(String, Option<String>), (u64, u64)> = BTreeMap::new();
    let mut seen = 0;
    for lot in ledger.lots.iter().filter(|lot| lot.holder == Holder::Bag) {
        seen += 1;
        let capacity = lot.capacity.unwrap();
        assert!(lot.count() <= capacity, "{} holds {} of {capacity}", lot.id, lot.count());
        for fill in &lot.fills {
            bags_of.entry((fill.source.name().to_owned(), lot.part.clone())).or_default().insert(&lot.id);
        }
        if !instance.farm.whole_plates_per_bag {
            let [give] = &lot.gives()[..] else { panic!("{} is for several", lot.id) };
            let known = per_shipment.entry((lot.part.clone(), give.shipment.clone())).or_default();
            *known = (known.0 + 1, known.1 + give.count.0);
        }
    }
    for ((part, shipment), (bags, pieces)) in per_shipment {
        let per_bag = instance.parts.iter().find(|p| p.name == part).unwrap().per_bag.unwrap();
        assert_eq!(bags, pieces.div_ceil(per_bag.0), "bags of {part} for {shipment:?}");
    }
    let planned: BTreeSet<&str> = plan.runs.iter().filter(|r| r.load.is_some()).map(|r| r.run.as_str()).collect();
    for ((source, part), bags) in bags_of {
        let whole = instance.farm.whole_plates_per_bag && planned.contains(source.as_str());
        assert!(!whole || bags.len() == 1, "{source} lies in {bags:?} with its {part}");
    }
    seen
}

/// From every lot to its runs, and from every run to its lots: the same pairs. From a printer's hour too.
fn tracing(plan: &Plan, ledger: &Ledger) {
    let mut forth = BTreeSet::new();
    let mut back = BTreeSet::new();
    for (at, lot) in ledger.lots.iter().enumerate() {
        assert_eq!(trace::lot(ledger, &lot.id).map(|(at, _)| at), Some(at));
        forth.extend(trace::runs_into(lot, plan).into_iter().map(|run| (lot.id.clone(), run.run.clone())));
    }
    for packed in &ledger.boxes {
        forth.extend(trace::runs_in_box(packed, plan).into_iter().map(|run| (packed.id.clone(), run.run.clone())));
    }
    for run in &plan.runs {
        let lots = trace::lots_of(ledger, &run.run);
        assert!(!lots.is_empty(), "{} lies nowhere", run.run);
        back.extend(lots.into_iter().map(|(_, lot)| (lot.id.clone(), run.run.clone())));
        back.extend(trace::boxes_of(ledger, &run.run).into_iter().map(|packed| (packed.id.clone(), run.run.clone())));
        let from = run.load.as_ref().map_or(run.ready - platewright_model::Minutes(1), |load| load.from);
        let hour = trace::runs_on(plan, &run.printer, Span { from, to: run.ready });
        assert_eq!(hour.iter().map(|r| r.run.as_str()).collect::<Vec<_>>(), [run.run.as_str()], "in its own hours");
    }
    assert_eq!(forth, back, "the two ways of tracing");
    let ids: BTreeSet<&str> =
        ledger.lots.iter().map(|lot| lot.id.as_str()).chain(ledger.boxes.iter().map(|b| b.id.as_str())).collect();
    assert_eq!(ids.len(), ledger.lots.len() + ledger.boxes.len(), "every number is given once");
}

/// The same room without the rule, and with bags of seven, which few plates close.
fn with_bags_of_seven(instance: &Instance) -> Instance {
    let mut instance = instance.clone();
    instance.farm.whole_plates_per_bag = false;
    instance.parts.iter_mut().for_each(|part| part.per_bag = Some(Count(7)));
    instance
}

/// The ledgers of random weeks.
#[test]
fn of_random_weeks() {
    let mut seen = [0, 0];
    for (trial, plan) in plans(300..324, Size::Middling).into_iter().chain(plans(400..408, Size::Large)) {
        println!("{}", trial.name);
        for instance in [&trial.instance, &with_bags_of_seven(&trial.instance)] {
            let ledger = ledger(instance, &plan).unwrap();
            counts(instance, &plan, &ledger);
            boxes(instance, &ledger);
            seen[usize::from(instance.farm.whole_plates_per_bag)] += bags(instance, &plan, &ledger);
            tracing(&plan, &ledger);
        }
    }
    println!("{} bags where plates may be parted, {} where not", seen[0], seen[1]);
    assert!(seen.iter().all(|bags| *bags > 20), "{seen:?}: too few bags to show anything");
}
