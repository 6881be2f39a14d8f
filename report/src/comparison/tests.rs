use super::*;
use crate::page::WIDTH;
use crate::sample;
use platewright_model::instance::Costs;
use platewright_model::{Count, Minutes};
use unicode_width::UnicodeWidthStr;

fn entry(name: &str, change: impl FnOnce(&mut Instance, &mut Plan)) -> Entry {
    let mut instance = sample::instance();
    instance.farm.costs = Some(Costs {
        currency: "EUR".into(),
        printer_hour: 0.35,
        operator_hour: 18.0,
        night_premium: 0.25,
        filament_kg: 17.0,
        energy_kwh: 0.24,
        printer_watts: 120.0,
    });
    let mut plan = sample::plan(&instance);
    change(&mut instance, &mut plan);
    Entry { name: name.into(), about: None, instance, outcome: Ok(plan) }
}

fn trade_of(comparison: &Comparison) -> String {
    let mut planned = comparison.planned();
    let (base, other) = (planned.next().unwrap(), planned.next().unwrap());
    trade(base, other)
}

#[test]
fn the_trade_says_what_is_bought_and_what_it_costs() {
    let base = entry("as-it-stands", |_, _| {});
    // Another operator all day is 361.20 more, and here nothing is gained by it.
    let crew = entry("two-hands", |instance, _| instance.shifts[0].operators = Count(2));
    let comparison = Comparison::new(vec![base.clone(), crew.clone()]);
    assert_eq!(trade_of(&comparison), "two-hands ships at the same time as as-it-stands and costs 361 EUR more.");
    assert_eq!(comparison.beaten_by(1).map(|rival| rival.name.as_str()), Some("as-it-stands"));
    assert!(comparison.beaten_by(0).is_none());

    let sooner = entry("sooner", |instance, plan| {
        instance.shifts[0].operators = Count(2);
        plan.shipments[0].ready = plan.shipments[0].ready - Minutes(1444);
        plan.runs.pop();
    });
    let comparison = Comparison::new(vec![base.clone(), sooner]);
    assert!(trade_of(&comparison).starts_with("sooner ships 1 d 0 h 04 min sooner than as-it-stands"));
    assert!(comparison.beaten_by(1).is_none());
}

#[test]
fn the_one_that_beats_is_beaten_by_none() {
    let crew = |name: &str, operators| entry(name, |instance, _| instance.shifts[0].operators = Count(operators));
    let comparison = Comparison::new(vec![crew("three", 3), crew("two", 2), crew("one", 1)]);
    let rivals: Vec<_> = (0..3).map(|at| comparison.beaten_by(at).map(|rival| rival.name.as_str())).collect();
    assert_eq!(rivals, [Some("one"), Some("one"), None]);
    assert!(page(&comparison).contains("Beaten by one: three, two."));
}

#[test]
fn idle_night_hours_are_told() {
    let base = entry("as-it-stands", |_, _| {});
    let night = entry("nights", |instance, _| {
        let mut row = instance.shifts[0].clone();
        (row.from, row.to) = (instance.shifts[0].to, instance.shifts[0].from);
        instance.shifts.push(row);
    });
    let told = trade_of(&Comparison::new(vec![base, night]));
    // Two nights of eight hours in which nobody has anything to do.
    assert!(told.ends_with("; 16 of its 16 night hours are idle."), "{told}");
}

#[test]
fn what_ships_otherwise_neither_beats_nor_is_beaten() {
    let base = entry("as-it-stands", |_, _| {});
    let less = entry("less", |instance, _| {
        instance.shipments[0].lines[0].quantity = Count(1);
        instance.farm.costs.as_mut().unwrap().operator_hour = 1.0;
    });
    let comparison = Comparison::new(vec![base, less]);
    assert!(comparison.beaten_by(0).is_none() && comparison.beaten_by(1).is_none());
    assert!(trade_of(&comparison).contains("does not ship the same"));
}

#[test]
fn lateness_is_told_where_it_changes() {
    let late =
        |minutes: i64| entry(&format!("late-{minutes}"), |_, plan| plan.claims.late = WeightedMinutes(minutes * 1000));
    let told = |one: i64, other: i64| trade_of(&Comparison::new(vec![late(one), late(other)]));
    assert!(told(0, 90).contains("is late by 1 h 30 min in all"));
    assert!(told(90, 0).contains("is no longer late"));
    assert!(told(90, 30).contains("is late by 1 h less"));
    assert!(!told(90, 90).contains("is late"));
}

#[test]
fn without_costs_crew_hours_are_traded() {
    let free = |name: &str, operators| {
        entry(name, |instance, _| {
            instance.farm.costs = None;
            instance.shifts[0].operators = Count(operators);
        })
    };
    let comparison = Comparison::new(vec![free("one", 1), free("two", 2)]);
    assert_eq!(trade_of(&comparison), "two ships at the same time as one with 20 crew hours more.");
    assert_eq!(comparison.beaten_by(1).map(|rival| rival.name.as_str()), Some("one"));
    assert!(!page(&comparison).contains("Cost"));
}

#[test]
fn the_page_fits_whatever_the_names_and_a_scenario_without_a_plan_has_its_reasons() {
    let mut none = entry(&"風".repeat(60), |_, _| {});
    none.outcome = Err(vec!["The horizon is too short.".into()]);
    none.about = Some("words ".repeat(40));
    let comparison = Comparison::new(vec![entry("as-it-stands", |_, _| {}), none]);
    let text = page(&comparison);
    assert!(text.lines().all(|line| line.width() <= WIDTH), "{text}");
    assert!(text.contains("no plan") && text.contains("No plan: The horizon is too short."), "{text}");
}

#[test]
fn the_table_has_a_cell_for_every_column_and_adds_up() {
    let mut none = entry("none", |_, _| {});
    none.outcome = Err(Vec::new());
    let comparison = Comparison::new(vec![entry("as-it-stands", |_, _| {}), none]);
    let text = csv(&comparison).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let head = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cell = |row: usize, column: &str| &rows[row][head.iter().position(|name| name == column).unwrap()];
    assert_eq!((cell(0, "outcome"), cell(1, "outcome")), ("feasible", "no plan"));
    assert_eq!((cell(0, "ready shop"), cell(0, "late_minutes shop")), ("2026-03-04T07:04:00+00:00", "0"));
    let figure = |column: &str| cell(0, column).parse::<f64>().unwrap();
    let lines = ["printers", "crew", "night_premium", "filament", "energy"];
    let sum: f64 = lines.iter().map(|line| figure(&format!("cost_{line}"))).sum();
    assert!((sum - figure("cost_total")).abs() < 0.001, "{text}");
    // SEMI E10 splits total time into states that exclude each other; whatever they are called, they add up to it.
    let states = ["printing", "cooling", "blocked", "handled", "down", "empty"];
    let all: f64 = states.iter().map(|state| figure(&format!("{state}_minutes"))).sum();
    assert_eq!(all, 3.0 * figure("makespan_minutes"));
}
