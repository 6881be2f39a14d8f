//! What is promised for a shipment is found again by planning, nothing that is proven impossible is, and one more of
//! anything makes no proven optimum worse.

use platewright_checker as checker;
use platewright_model::plan::Outcome;
use platewright_model::{Instance, Minutes, Plan, tables};
use platewright_solver::decide::{Book, More, Planner, Wish, earliest, merit, onward, wish};
use platewright_solver::{Answer, EngineChoice};
use platewright_tests::benches::bench;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};
use std::sync::atomic::AtomicBool;

fn with_planner<T>(ask: impl FnOnce(&Planner<'_>) -> T) -> T {
    ask(&Planner {
        engine: EngineChoice::Auto,
        until: None,
        seed: 0,
        stop: &AtomicBool::new(false),
        progress: &|_, _| {},
        accept: &|instance, plan| checker::check(instance, plan).holds(),
    })
}

/// The same tables with one shipment more: half of the first kit of the book again, whenever it can be ready.
fn with_order(tables: &Tables) -> Tables {
    let mut with = tables.clone();
    let rows = with.rows_mut("shipments");
    let mut order = rows[0].clone();
    order.retain(|column, _| ["kit", "quantity", "per_box"].contains(column));
    let quantity: i64 = order["quantity"].parse().expect("a quantity");
    order.insert("quantity", ((quantity + 1) / 2).to_string());
    order.insert("shipment", "order".to_owned());
    rows.push(order);
    with
}

/// Plans the order at the promised date and a minute before what is proven; counts what was proven to the minute.
fn hold_promises(name: &str, tables: &Tables) -> Option<bool> {
    let before = Trial::new(name, tables).plan(Ask::soonest(EngineChoice::Auto)).plan()?;
    let trial = Trial::new(format!("{name}, with the order"), &with_order(tables));
    let order = platewright_model::instance::ShipmentId(trial.instance.shipments.len() as u32 - 1);
    let book = Book::new(&trial.instance, order, &before);
    with_planner(|planner| {
        let found = earliest(planner, &book).ok()?;
        let due = book.due(Some(found.by));
        let breaches = checker::check(&due, &found.plan).breaches;
        assert!(breaches.is_empty(), "{name}: {breaches:#?}");
        assert!(found.not_before <= found.by, "{name}: {found:?}");
        assert!(book.ready(&found.plan).is_some_and(|ready| ready <= found.by), "{name}: a promise is broken");
        assert!(
            matches!(wish(planner, &book, &found, found.by), Wish::Holds(_)),
            "{name}: the found date does not hold"
        );
        if found.confirmed {
            let Answer::Plan(plan) = planner.plan("again", &due) else {
                panic!("{name}: no plan for the promised date")
            };
            assert!(book.ready(&plan).is_some_and(|ready| ready <= found.by), "{name}: planned late");
        }
        let too_soon = found.not_before - Minutes(1);
        assert!(matches!(wish(planner, &book, &found, too_soon), Wish::Never), "{name}: before the bound");
        // The engines themselves, asked for what is said to be impossible, are late, or somebody else is.
        if let Answer::Plan(plan) = planner.plan("too soon", &book.due(Some(too_soon))) {
            assert!(book.ready(&plan).is_none_or(|ready| ready > too_soon), "{name}: done though proven impossible");
        }
        Some(found.not_before == found.by)
    })
}

#[test]
fn a_promise_is_planned_and_what_is_proven_impossible_is_not() {
    let weeks = (600..608).map(|seed| (format!("Tiny week, seed {seed}"), week(seed, Size::Tiny)));
    let benches = (600..608).map(|seed| (format!("bench, seed {seed}"), bench(seed)));
    let outcomes: Vec<bool> = weeks.chain(benches).filter_map(|(name, tables)| hold_promises(&name, &tables)).collect();
    let proven = outcomes.iter().filter(|proven| **proven).count();
    assert!(outcomes.len() >= 10 && proven >= 6, "{} answered, {proven} to the minute", outcomes.len());
}

fn best(planner: &Planner<'_>, instance: &Instance) -> Option<Plan> {
    match planner.plan("best", instance) {
        Answer::Plan(plan) => (plan.claims.outcome == Outcome::Optimal).then_some(*plan),
        Answer::None { .. } => None,
    }
}

/// A printer, an operator, a stretch of shift more: over fifty rooms, no proven optimum gets later.
#[test]
fn one_more_of_anything_makes_no_proven_best_plan_later() {
    let mut compared = 0;
    for seed in 700..750 {
        let trial = Trial::new(format!("bench, seed {seed}"), &bench(seed));
        with_planner(|planner| {
            let Some(base) = best(planner, &trial.instance) else { return };
            for more in More::of_each(&trial.instance).into_iter().filter(More::is_counted) {
                let overlay = more.overlay(&trial.instance, 1);
                let words = more.words(&trial.instance, 1);
                let farm = tables::read_with(trial.folder(), &[overlay])
                    .unwrap_or_else(|faults| panic!("{} {words}: {faults}", trial.name));
                let Some(richer) = best(planner, &farm) else { continue };
                compared += 1;
                let (rich, poor) = (merit(&richer), merit(&base));
                assert!(
                    (rich.0, rich.1) <= (poor.0, poor.1),
                    "{}: {poor:?} without, {rich:?} with {words}",
                    trial.name
                );
                // The poorer room's plan is a plan of the richer one.
                let carried = planner.carry(&base, &farm, Minutes(0), Default::default());
                assert!(carried.is_some(), "{}: the plan does not carry over with {words}", trial.name);
            }
        });
    }
    assert!(compared >= 100, "only {compared} were proven: does this try anything?");
}

/// Going on from a plan in a farm with one more of anything, or with quicker hands, never ends with a worse one. The quick
/// engine's plan of a room that is too large to be planned completely is gone on from.
#[test]
fn going_on_from_a_plan_makes_it_no_worse() {
    let mut better = 0;
    for seed in 430..435 {
        let tables = week(seed, Size::Middling);
        let trial = Trial::new(format!("Middling week, seed {seed}"), &tables);
        let Some(known) = trial.plan(Ask::soonest(EngineChoice::Quick)).plan() else { continue };
        with_planner(|planner| {
            for more in More::of_each(&trial.instance) {
                let words = more.words(&trial.instance, 1);
                let overlay = more.overlay(&trial.instance, 1);
                let farm = tables::read_with(trial.folder(), &[overlay])
                    .unwrap_or_else(|faults| panic!("{} {words}: {faults}", trial.name));
                let plan = onward(planner, &words, &farm, &known);
                let plan = plan.unwrap_or_else(|| panic!("{} {words}: no plan", trial.name));
                let breaches = checker::check(&farm, &plan).breaches;
                assert!(breaches.is_empty(), "{} {words}: {breaches:#?}", trial.name);
                // A plan with quicker hands has other runs, and may need a changeover's minute elsewhere.
                if more.is_counted() {
                    assert!(merit(&plan) <= merit(&known), "{} {words}: {:?}", trial.name, merit(&plan));
                }
                better += usize::from(merit(&plan) < merit(&known));
            }
        });
    }
    assert!(better >= 10, "only {better} were better: does this try anything?");
}
