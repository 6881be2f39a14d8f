//! The ledger of plans reasoned by hand.

use super::*;
use crate::sample::{self, at};
use platewright_model::Minutes;
use platewright_model::instance::{PartId, PlateOnGroup, ShipmentId};
use platewright_model::plan::{Allocation, Load, Run, Source};

/// A plan of runs of cups on the first printer, one after the other, each given to a shipment as far as told.
fn cups(instance: &mut Instance, per_bag: u64, runs: &[(u64, &[(&str, u64)])]) -> Plan {
    let mut plan = sample::plan(instance);
    instance.parts[0].per_bag = Some(Count(per_bag));
    instance.running.clear();
    let mut other = instance.shipments[0].clone();
    other.name = "fair".into();
    instance.shipments.push(other);
    (plan.runs, plan.allocation) = (Vec::new(), Vec::new());
    for (number, (copies, gives)) in (1..).zip(runs) {
        let name = format!("cup-{copies}");
        if !instance.plates.iter().any(|plate| plate.name == name) {
            let mut plate = instance.plates[0].clone();
            plate.name = name.clone();
            plate.on_groups =
                vec![PlateOnGroup { copies: vec![(PartId(0), Count(*copies))], ..plate.on_groups[0].clone() }];
            instance.plates.push(plate);
        }
        let from = at(0, 7, 0) + Minutes(300 * number);
        plan.runs.push(Run {
            run: format!("R{number}"),
            printer: "A1".into(),
            plate: name,
            load: Some(Load { from, print_from: from + Minutes(3), loader: "day-1".into() }),
            ready: from + Minutes(253),
            harvest_from: from + Minutes(253),
            harvest_to: from + Minutes(257),
            harvester: "day-1".into(),
        });
        plan.allocation.extend(gives.iter().map(|(shipment, count)| Allocation {
            source: Source::Run(format!("R{number}")),
            part: "cup".into(),
            shipment: (*shipment).into(),
            count: Count(*count),
            spare: Count(0),
        }));
    }
    plan
}

/// Bags as `shipment: run count, run count`, in order.
fn bags(ledger: &Ledger) -> Vec<String> {
    let lots = ledger.lots.iter().filter(|lot| lot.holder == Holder::Bag);
    let fill = |fill: &Fill| match &fill.source {
        Source::Run(run) => format!("{run} {}", fill.count()),
        Source::Stock => format!("stock {}", fill.count()),
    };
    lots.map(|lot| format!("{}: {}", words::whose(lot), lot.fills.iter().map(fill).collect::<Vec<_>>().join(", ")))
        .collect()
}

#[test]
fn bags_are_filled_in_order_and_a_plate_ends_one_and_begins_the_next() {
    let mut instance = sample::instance();
    let plan = cups(&mut instance, 10, &[(8, &[("shop", 8)]), (8, &[("shop", 6), ("fair", 1)]), (8, &[("shop", 8)])]);
    let ledger = ledger(&instance, &plan).unwrap();
    assert_eq!(bags(&ledger), ["shop: R1 8, R2 2", "shop: R2 4, R3 6", "fair: R2 1", "the shelf: R2 1", "shop: R3 2"]);
    let flags: Vec<_> =
        ledger.lots.iter().filter(|l| l.holder == Holder::Bag).map(|l| (l.is_full(), l.is_counted())).collect();
    assert_eq!(flags, [(true, true), (true, true), (false, true), (false, true), (false, true)]);
}

#[test]
fn plates_that_close_bags_are_not_parted() {
    let mut instance = sample::instance();
    // Plates of 8 and of 12 both close a bag of 24, but 8 and 12 together do not.
    let runs: &[(u64, &[(&str, u64)])] = &[
        (8, &[("shop", 8)]),
        (12, &[("shop", 12)]),
        (8, &[("shop", 8)]),
        (12, &[("shop", 12)]),
        (8, &[("shop", 8)]),
        (8, &[("shop", 8)]),
        (12, &[("shop", 12)]),
    ];
    let plan = cups(&mut instance, 24, runs);
    instance.farm.whole_plates_per_bag = true;
    let ledger = ledger(&instance, &plan).unwrap();
    // What is left over of each count shares the last bag.
    assert_eq!(bags(&ledger), ["shop: R1 8, R3 8, R5 8", "shop: R2 12, R4 12", "shop: R6 8, R7 12"]);
    assert!(ledger.lots.iter().all(|lot| !lot.is_counted()));
}

#[test]
fn a_plate_for_two_shipments_makes_a_shared_bag() {
    let mut instance = sample::instance();
    let runs: &[(u64, &[(&str, u64)])] = &[
        (12, &[("shop", 12)]),
        (12, &[("shop", 5), ("fair", 7)]),
        (12, &[("shop", 10)]),
        (12, &[("fair", 2), ("shop", 10)]),
    ];
    let plan = cups(&mut instance, 24, runs);
    instance.farm.whole_plates_per_bag = true;
    let ledger = ledger(&instance, &plan).unwrap();
    assert_eq!(bags(&ledger), ["shop: R1 12", "shop 15, fair 9: R2 12, R4 12", "shop 10, the shelf 2: R3 12"]);
}

#[test]
fn stock_that_is_given_is_bagged_and_counted() {
    let mut instance = sample::instance();
    let mut plan = cups(&mut instance, 4, &[(4, &[("shop", 4)])]);
    instance.stock[0].quantity = Count(9);
    plan.allocation.push(Allocation {
        source: Source::Stock,
        part: "cup".into(),
        shipment: "shop".into(),
        count: Count(6),
        spare: Count(0),
    });
    for whole in [false, true] {
        instance.farm.whole_plates_per_bag = whole;
        let found = bags(&ledger(&instance, &plan).unwrap());
        let expected: &[&str] = if whole {
            &["shop: stock 4", "shop: stock 2", "shop: R1 4"]
        } else {
            &["shop: stock 4", "shop: stock 2, R1 2", "shop: R1 2"]
        };
        assert_eq!(found, expected);
    }
}

#[test]
fn what_has_no_bag_count_lies_in_a_tray_a_day() {
    let instance = sample::instance();
    let plan = sample::plan(&instance);
    let ledger = ledger(&instance, &plan).unwrap();
    let trays: Vec<(&str, Instant, u64)> =
        ledger.lots.iter().map(|lot| (lot.part.as_str(), lot.opens, lot.count().0)).collect();
    assert_eq!(trays, [("cup", at(0, 8, 14), 4), ("base", at(1, 7, 4), 1), ("base", at(2, 7, 4), 1)]);
    assert!(ledger.lots.iter().all(|lot| lot.holder == Holder::Tray && !lot.is_counted()));
    // The row has no boxes: its kits lie loose, and are complete when the last base is.
    let [loose] = &ledger.boxes[..] else { panic!("{:?}", ledger.boxes) };
    assert_eq!((loose.kits, loose.number, loose.closes), (Count(2), None, at(2, 7, 4)));
    assert!(loose.id.starts_with("LOOSE-0001-"), "{}", loose.id);
}

#[test]
fn boxes_take_what_is_there_first() {
    let mut instance = sample::instance();
    instance.shipments[ShipmentId(0).index()].lines[0].per_box = Some(Count(1));
    let plan = sample::plan(&instance);
    let ledger = ledger(&instance, &plan).unwrap();
    let closes: Vec<_> = ledger.boxes.iter().map(|packed| (packed.number, packed.closes)).collect();
    assert_eq!(closes, [(Some((1, 2)), at(1, 7, 4)), (Some((2, 2)), at(2, 7, 4))]);
    let contents = words::box_contents(&ledger, &ledger.boxes[0]);
    assert_eq!(contents[0], ("2 cup".to_owned(), "2 out of 4 in TRAY-0001".to_owned()));
    assert_eq!(contents[1], ("1 base".to_owned(), "all 1 of TRAY-0002".to_owned()));
}

#[test]
fn another_plan_has_another_mark() {
    let instance = sample::instance();
    let mut plan = sample::plan(&instance);
    let first = ledger(&instance, &plan).unwrap();
    plan.runs[1].printer = "A2".into();
    let second = ledger(&instance, &plan).unwrap();
    assert_ne!(first.mark, second.mark);
    assert_eq!(first.full("bag-0001"), format!("BAG-0001-{}", first.mark));
    assert_eq!(first.full("BAG-0001-FFFF"), "BAG-0001-FFFF");
    assert_eq!(first.short(&first.lots[0].id), "TRAY-0001");
}

#[test]
fn what_the_instance_does_not_know_is_left_out() {
    let instance = sample::instance();
    let mut plan = sample::plan(&instance);
    plan.runs[0].plate = "unheard of".into();
    plan.allocation[1].part = "nothing".into();
    plan.allocation[2].shipment = "nobody".into();
    let ledger = ledger(&instance, &plan).unwrap();
    assert_eq!(ledger.lots.iter().map(words::whose).collect::<Vec<_>>(), ["the shelf", "the shelf"]);
    assert!(told::page(&instance, &plan, &ledger).contains("the shelf"));
}

#[test]
fn a_million_bags_are_too_many() {
    let mut instance = sample::instance();
    let mut plan = cups(&mut instance, 1, &[]);
    instance.stock[0].quantity = Count(90_000_000);
    plan.allocation.push(Allocation {
        source: Source::Stock,
        part: "cup".into(),
        shipment: "shop".into(),
        count: Count(90_000_000),
        spare: Count(0),
    });
    assert_eq!(ledger(&instance, &plan), Err(TooManyLots));
}
