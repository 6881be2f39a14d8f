//! Rooms where only printer time counts, and rooms that are nearly so. Where the solver takes one for such a room, what
//! it proves by assigning runs to printers is what searching everything proves.

use platewright_solver::EngineChoice::Auto;
use platewright_solver::assignment;
use platewright_solver::problem::Problem;
use platewright_tests::chance::Chance;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Trial};

/// A room of up to so many parts, kits and printers a group: about half the time one where only printer time counts.
fn room(seed: u64, parts: i64, kits: i64, printers: i64) -> Tables {
    let mut chance = Chance::new("only printer time", seed);
    let mut tables = Tables::new("Room", "Etc/UTC", "2026-01-05T00:00", 20);
    let (load, harvest) = chance.of(&[(0, 0), (0, 0), (3, 4), (5, 0), (0, 2)]);
    let changeover = if chance.percent(12) { 6 } else { 0 };
    tables.section("handling", &[("load", &load), ("harvest", &harvest), ("changeover", &changeover)]);
    let groups = if chance.percent(50) { &["wide", "tall"][..] } else { &["wide"][..] };
    let mut all = 0;
    for group in groups {
        for number in 1..=chance.between(1, printers) {
            tables.row("printers", &[("printer", &format!("{group}-{number}")), ("group", group)]);
            all += 1;
        }
    }
    let finish = chance.of(&[0, 0, 15]);
    for number in 1..=chance.between(2, parts) {
        let part = format!("part-{number}");
        let finish = if chance.percent(8) { 40 } else { finish };
        let material = if chance.percent(17) { "PETG" } else { "PLA" };
        tables.row("parts", &[("part", &part), ("material", &material), ("finish_minutes", &finish)]);
        for sheet in 0..if chance.percent(8) { 2 } else { 1 } {
            tables.row(
                "plates",
                &[
                    ("plate", &format!("{part}-{sheet}")),
                    ("group", &chance.of(groups)),
                    ("part", &part),
                    ("copies", &chance.between(1, 3)),
                    ("minutes", &chance.between(10, 90)),
                    ("cool_minutes", &chance.between(0, 5)),
                ],
            );
        }
        tables.row("kits", &[("kit", &"all"), ("item", &part), ("quantity", &chance.between(1, 2))]);
        if chance.percent(25) {
            tables.row("stock", &[("part", &part), ("quantity", &chance.between(1, 2))]);
        }
    }
    let few = chance.percent(20);
    let operators = if few { 1 } else { all };
    let shifts = chance.of(&[
        &[("00:00", "24:00")][..],
        &[("00:00", "24:00")][..],
        &[("00:00", "12:00"), ("12:00", "24:00")][..],
        &[("06:00", "22:00")][..],
    ]);
    for (number, (from, to)) in (1..).zip(shifts) {
        let crew = format!("crew-{number}");
        tables.row(
            "shifts",
            &[("crew", &crew), ("days", &"daily"), ("from", from), ("to", to), ("operators", &operators)],
        );
    }
    if chance.percent(10) {
        tables.row("downtime", &[("printer", &"wide-1"), ("from", &"2026-01-05T01:00"), ("to", &"2026-01-05T02:00")]);
    }
    for number in 1..=chance.between(1, 2) {
        let due = format!("2026-01-{:02}T12:00", chance.between(5, 9));
        let due = if chance.percent(33) { due } else { String::new() };
        let release = if chance.percent(10) { "2026-01-05T02:00" } else { "" };
        tables.row(
            "shipments",
            &[
                ("shipment", &format!("S{number}")),
                ("kit", &"all"),
                ("quantity", &chance.between(1, kits)),
                ("due", &due),
                ("release", &release),
            ],
        );
    }
    tables
}

/// Small rooms, which are searched completely.
#[test]
fn assigning_proves_what_searching_everything_proves() {
    let (mut compared, mut taken) = (0, 0);
    for seed in 0..160 {
        let trial = Trial::new(format!("Small room, seed {seed}"), &room(seed, 4, 1, 2));
        let Some(plan) = trial.plan(Ask::soonest(Auto)).plan() else { continue };
        let claims = &plan.claims;
        if claims.late.0 > 0 || claims.bound != claims.value || claims.engine != "complete" {
            continue;
        }
        compared += 1;
        let (problem, until) = (Problem::new(&trial.instance), claims.value.0 as i32);
        let Some(found) = assignment::search(&problem, until, seed, &|| false) else { continue };
        taken += 1;
        let value = found.plan.map(|plan| (plan.0.late, plan.0.value));
        assert_eq!((value, found.bound), (Some((0, claims.value.0)), claims.value.0), "{}", trial.name);
    }
    println!("{compared} small rooms proven, in {taken} of them only printer time counts");
    assert!(compared >= 100 && taken >= 30, "{taken} of {compared}: does this try anything?");
}

/// Larger rooms: the plans hold, and most are proven to be the best.
#[test]
fn larger_rooms_are_mostly_proven() {
    let (mut taken, mut proven) = (0, 0);
    for seed in 1000..1060 {
        let trial = Trial::new(format!("Room, seed {seed}"), &room(seed, 9, 6, 5));
        let problem = Problem::new(&trial.instance);
        if assignment::search(&problem, 7000, seed, &|| false).is_none() {
            continue;
        }
        taken += 1;
        let claims = trial.must_plan(Ask::soonest(Auto)).claims;
        proven += usize::from(claims.bound == claims.value);
    }
    println!("{proven} of {taken} larger rooms proven");
    assert!(taken >= 6 && proven * 10 >= taken * 9, "{proven} of {taken} proven");
}
