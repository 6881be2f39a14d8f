//! Where dates contradict the rest, the set that is named is the smallest: over small rooms that are planned completely,
//! every set with fewer wishes is tried by planning tables in which only those are written.

use platewright_checker as checker;
use platewright_model::plan::Outcome;
use platewright_solver::EngineChoice::Auto;
use platewright_solver::decide::{Claim, Planner, Size, clash};
use platewright_tests::calendar::Calendar;
use platewright_tests::chance::Chance;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Found, Trial};
use std::sync::atomic::AtomicBool;

/// Something that a table or a key wishes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wish {
    Closures,
    Downtime,
    NoLonger,
    Release(usize),
    Ready(usize),
}

const SHIPMENTS: usize = 3;

fn wishes() -> Vec<Wish> {
    let of_shipments = (0..SHIPMENTS).flat_map(|of| [Wish::Release(of), Wish::Ready(of)]);
    [Wish::Closures, Wish::Downtime, Wish::NoLonger].into_iter().chain(of_shipments).collect()
}

/// Two printers and a few plates for three shipments, with the wishes that are kept.
fn room(seed: u64, kept: &[Wish]) -> Tables {
    let mut chance = Chance::new("contradictions", seed);
    let calendar = Calendar::new("Europe/Lisbon", "2026-03-02T07:00");
    let mut tables = Tables::new(&format!("room {seed}"), calendar.zone, calendar.start, 8);
    tables.section("handling", &[("load", &3), ("harvest", &4)]);
    let most = chance.of(&[180, 400]);
    if kept.contains(&Wish::NoLonger) {
        tables.section("unattended", &[("max_minutes", &most)]);
    }
    for printer in ["P1", "P2"] {
        tables.row("printers", &[("printer", &printer), ("group", &"bench")]);
    }
    let end = chance.of(&["12:00", "15:00"]);
    tables.row("shifts", &[("crew", &"day"), ("days", &"daily"), ("from", &"07:00"), ("to", &end), ("operators", &1)]);
    let closed = calendar.date(1);
    if kept.contains(&Wish::Closures) {
        tables.row("closures", &[("date", &closed)]);
    }
    let (from, to) = (chance.between(0, 300), chance.between(400, 1200));
    if kept.contains(&Wish::Downtime) {
        tables.row(
            "downtime",
            &[("printer", &"P1"), ("from", &calendar.wall(from)), ("to", &calendar.wall(to)), ("reason", &"nozzle")],
        );
    }
    for of in 0..SHIPMENTS {
        let (part, plate, kit) = (format!("part{of}"), format!("plate{of}"), format!("kit{of}"));
        let minutes = chance.between(120, 420);
        tables.row("parts", &[("part", &part), ("material", &"PLA")]);
        tables.row(
            "plates",
            &[("plate", &plate), ("group", &"bench"), ("part", &part), ("copies", &1), ("minutes", &minutes)],
        );
        tables.row("kits", &[("kit", &kit), ("item", &part), ("quantity", &1)]);
        let quantity = chance.between(1, 3);
        let due = chance.between(minutes, minutes * 5);
        let release = chance.between(0, 400);
        let mut cells: Vec<(&'static str, &dyn ToString)> =
            vec![("shipment", &kit), ("kit", &kit), ("quantity", &quantity)];
        let (due, release) = (calendar.wall(due), calendar.wall(release));
        if kept.contains(&Wish::Ready(of)) {
            cells.push(("due", &due));
        }
        if kept.contains(&Wish::Release(of)) {
            cells.push(("release", &release));
        }
        tables.row("shipments", &cells);
    }
    tables
}

/// Whether no plan has all of these; none where that is neither proven nor refuted.
fn is_impossible(seed: u64, kept: &[Wish]) -> Option<bool> {
    match Trial::new(format!("room {seed} with {kept:?}"), &room(seed, kept)).plan(Ask::soonest(Auto)) {
        Found::Plan(plan) if plan.claims.late.0 == 0 => Some(false),
        Found::Plan(plan) if plan.claims.late_bound.0 > 0 => Some(true),
        Found::Nothing { proven: true } => Some(true),
        _ => None,
    }
}

/// Every set of so many of the wishes.
fn sets(of: &[Wish], size: usize) -> Vec<Vec<Wish>> {
    let bits = (0..1u32 << of.len()).filter(|bits| bits.count_ones() as usize == size);
    bits.map(|bits| (0..of.len()).filter(|at| bits >> at & 1 == 1).map(|at| of[at]).collect()).collect()
}

#[test]
fn the_named_contradiction_is_the_smallest() {
    let mut sizes = Vec::new();
    for seed in 0..24 {
        let all = wishes();
        let trial = Trial::new(format!("room {seed}"), &room(seed, &all));
        let Some(plan) = trial.plan(Ask::soonest(Auto)).plan() else { continue };
        if plan.claims.late.0 == 0 || plan.claims.outcome != Outcome::Optimal {
            continue;
        }
        let found = clash(
            &Planner {
                engine: Auto,
                until: None,
                seed: 0,
                stop: &AtomicBool::new(false),
                progress: &|_, _| {},
                accept: &|instance, plan| checker::check(instance, plan).holds(),
            },
            &trial.instance,
            Some(&plan),
        );
        let found = found.unwrap_or_else(|| panic!("room {seed}: late, and nothing is proven to contradict"));
        assert_eq!(found.size, Size::Smallest, "room {seed}: {found:?}");
        let named: Vec<Wish> = found
            .wishes
            .iter()
            .map(|claim| match claim {
                Claim::Closures => Wish::Closures,
                Claim::Downtime => Wish::Downtime,
                Claim::NoLonger(_) => Wish::NoLonger,
                Claim::Release(id) => Wish::Release(id.index()),
                Claim::Ready(id, _) => Wish::Ready(id.index()),
                other => panic!("room {seed}: {other:?} is wished by nobody"),
            })
            .collect();
        assert_eq!(is_impossible(seed, &named), Some(true), "room {seed}: {named:?} can be kept together");
        for fewer in (0..named.len()).flat_map(|size| sets(&all, size)) {
            assert_eq!(is_impossible(seed, &fewer), Some(false), "room {seed}: {fewer:?} are fewer than {named:?}");
        }
        sizes.push(named.len());
    }
    let at_least = |size: usize| sizes.iter().filter(|s| **s >= size).count();
    assert!(sizes.len() >= 8 && at_least(2) >= 4, "{sizes:?}: does this try anything?");
}
