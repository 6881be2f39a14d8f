//! How many machines one operator can serve, and what that costs.
//!
//! J. A. Tompkins et al., *Facilities Planning*, the multiple activity chart: with `a` minutes in which operator and
//! machine are busy together, `b` of the operator alone and `t` of the machine alone, one operator serves at best
//! n' = (a + t) / (a + b) machines; with a = 5, b = 1, t = 20 that is 4.17. The cycle is 25 minutes for up to four
//! machines, 30 for five. At 12 an hour for the operator and 30 for a machine, a unit costs 13.75 with four machines and
//! 16.20 with five (from memory).
//!
//! Here a printer prints `t` minutes, load and harvest are `a`, and packing a box of one is `b`.

use platewright_solver::EngineChoice::Auto;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Trial};

const A: i64 = 5;
const B: i64 = 1;
const T: i64 = 20;

/// Minutes until so many units are ready and packed, on so many printers served by one operator who is always there.
fn minutes(printers: i64, units: i64) -> i64 {
    let name = format!("{units} units on {printers} printers with one operator");
    let mut tables = Tables::new(&name, "Etc/UTC", "2026-01-05T00:00", 5);
    tables.section("handling", &[("load", &2), ("harvest", &(A - 2)), ("pack_box", &B)]);
    for number in 1..=printers {
        tables.row("printers", &[("printer", &format!("M{number}")), ("group", &"machines")]);
    }
    tables.row("parts", &[("part", &"unit"), ("material", &"any")]);
    let plate: [(&str, &dyn ToString); 5] =
        [("plate", &"unit-1"), ("group", &"machines"), ("part", &"unit"), ("copies", &1), ("minutes", &T)];
    tables.row("plates", &plate);
    tables.row("kits", &[("kit", &"one"), ("item", &"unit"), ("quantity", &1)]);
    let always: [(&str, &dyn ToString); 5] =
        [("crew", &"always"), ("days", &"daily"), ("from", &"00:00"), ("to", &"24:00"), ("operators", &1)];
    tables.row("shifts", &always);
    let shipment: [(&str, &dyn ToString); 4] =
        [("shipment", &"all"), ("kit", &"one"), ("quantity", &units), ("per_box", &1)];
    tables.row("shipments", &shipment);
    let claims = Trial::new(name, &tables).must_plan(Ask::soonest(Auto)).claims;
    // No printer makes a unit in less than a + t, and the operator has a + b to do for each.
    let least = ((units + printers - 1) / printers * (A + T)).max(units * (A + B));
    assert!(claims.value.0 >= least && claims.bound.0 <= claims.value.0, "{claims:?} below {least}");
    claims.value.0
}

/// The pace once the room is under way: beginning and end are the same for both and fall out.
fn cycle(printers: i64, units: i64) -> f64 {
    let (few, many) = (minutes(printers, units), minutes(printers, 2 * units));
    (many - few) as f64 * printers as f64 / units as f64
}

fn unit_cost(printers: i64, cycle: f64) -> f64 {
    (12.0 + 30.0 * printers as f64) * cycle / 60.0 / printers as f64
}

#[test]
fn one_operator_serves_four_machines_and_not_five() {
    let served = (A + T) as f64 / (A + B) as f64;
    assert_eq!(format!("{served:.2}"), "4.17");
    let within = |is: f64, published: f64| (is / published - 1.0).abs() <= 0.02;
    for (printers, published_cycle, published_cost) in [(4, 25.0, 13.75), (5, 30.0, 16.20)] {
        let cycle = cycle(printers, 20);
        assert!(within(cycle, published_cycle), "{printers} machines: a cycle of {cycle}, published {published_cycle}");
        let cost = unit_cost(printers, cycle);
        assert!(within(cost, published_cost), "{printers} machines: {cost} a unit, published {published_cost}");
    }
}
