//! Kits within kits, counted by hand and against the planners' own expansion.

use super::*;
use crate::folder::{farm, repository};
use platewright_model::instance::ShipmentId;
use platewright_model::kits;

fn named(instance: &Instance, parts: &Parts) -> Vec<(String, u128)> {
    parts.iter().map(|(part, &count)| (instance.parts[part.index()].name.clone(), count)).collect()
}

#[test]
fn a_kit_reached_by_two_ways_counts_by_both() {
    let instance = farm(&[
        ("parts.csv", "part,material\nscrew,pla\nlid,pla\nunused,pla\n"),
        ("plates.csv", "plate,group,part,copies,minutes\nscrews,small,screw,10,60\nlids,small,lid,1,60\n"),
        (
            "kits.csv",
            "kit,item,quantity\nstation,hub,2\nstation,bag,1\nhub,bag,3\nhub,lid,1\nbag,screw,5\nspares,bag,1\n",
        ),
        ("shipments.csv", "shipment,kit,quantity\nspring,station,4\nspring,spares,2\nsummer,spares,1\n"),
    ]);
    let demand = Demand::of(&instance);
    // A station holds two hubs of three bags each and one bag: seven bags of five screws, and two lids.
    let station = demand.kit(instance.shipments[0].lines[0].kit).expect("it is shipped");
    assert_eq!(named(&instance, station), [("screw".to_owned(), 35), ("lid".to_owned(), 2)]);
    let spring = demand.shipment(0).expect("it is there");
    assert_eq!(named(&instance, spring), [("screw".to_owned(), 4 * 35 + 2 * 5), ("lid".to_owned(), 8)]);
    let summer = demand.shipment(1).expect("it is there");
    assert_eq!(named(&instance, summer), [("screw".to_owned(), 5)]);
}

#[test]
fn counts_beyond_counting_and_kits_in_a_ring_do_no_harm() {
    let mut instance = farm(&[]);
    let (kit, huge) = (instance.kits[0].clone(), platewright_model::Count(u64::MAX));
    instance.kits[0].items = vec![(KitItem::Kit(KitId(1)), huge)];
    for next in 2..=9 {
        instance
            .kits
            .push(platewright_model::instance::Kit { items: vec![(KitItem::Kit(KitId(next)), huge)], ..kit.clone() });
    }
    instance.kits.push(kit);
    instance.shipments[0].lines[0].quantity = huge;
    let needs = |instance: &Instance| named(instance, Demand::of(instance).shipment(0).expect("it is there"));
    assert_eq!(needs(&instance), [("body".to_owned(), u128::MAX)]);

    instance.kits[9].items = vec![(KitItem::Kit(KitId(0)), huge)];
    needs(&instance);
}

#[test]
fn the_instances_of_the_repository_need_what_the_planners_say() {
    for (name, instance) in repository() {
        let demand = Demand::of(&instance);
        for shipment in (0..).map(ShipmentId).take(instance.shipments.len()) {
            let theirs: Parts = kits::needs(&instance, shipment).into_iter().map(|(p, n)| (p, n.0.into())).collect();
            assert_eq!(demand.shipment(shipment.index()), Some(&theirs), "{name}");
        }
    }
}
