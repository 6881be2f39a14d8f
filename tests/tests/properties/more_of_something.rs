//! More of what a room has never makes its best plan worse: a plan of the poorer room is a plan of the richer one.

use platewright_model::{Minutes, WeightedMinutes};
use platewright_solver::EngineChoice::{Auto, Quick};
use platewright_tests::benches::bench;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};

/// Lateness and makespan of the best plan, where it is proven.
fn best(name: &str, tables: &Tables) -> Option<(WeightedMinutes, Minutes)> {
    let claims = Trial::new(name, tables).plan(Ask::soonest(Auto)).plan()?.claims;
    (claims.bound == claims.value && claims.late_bound == claims.late).then_some((claims.late, claims.value))
}

/// Compares the optima of small weeks and benches with those of the same after a change for the better.
fn never_worse(what: &str, change: impl Fn(&mut Tables)) {
    let weeks = (400..412).map(|seed| (format!("Tiny week, seed {seed}"), week(seed, Size::Tiny)));
    let benches = (400..412).map(|seed| (format!("bench, seed {seed}"), bench(seed)));
    let mut compared = 0;
    for (name, tables) in weeks.chain(benches) {
        let mut richer = tables.clone();
        change(&mut richer);
        let both = (best(&name, &tables), best(&format!("{name} {what}"), &richer));
        if let (Some(poor), Some(rich)) = both {
            compared += 1;
            assert!(rich <= poor, "{name}: {poor:?} without, {rich:?} {what}");
        }
    }
    assert!(compared >= 16, "only {compared} were proven: does this try anything?");
}

/// One more day to the horizon.
#[test]
fn another_day() {
    never_worse("with another day", |tables| {
        let farm = tables.farm.lines().map(|line| match line.strip_prefix("horizon_days = ") {
            Some(days) => format!("horizon_days = {}\n", days.parse::<i64>().expect("days") + 1),
            None => format!("{line}\n"),
        });
        tables.farm = farm.collect();
    });
}

/// One of each part more in stock.
#[test]
fn another_of_each_part_in_stock() {
    never_worse("with more in stock", |tables| {
        for part in tables.rows("parts").iter().map(|row| row["part"].clone()).collect::<Vec<_>>() {
            match tables.rows_mut("stock").iter_mut().find(|row| row["part"] == part) {
                Some(row) => {
                    let quantity: i64 = row["quantity"].parse().expect("a quantity");
                    row.insert("quantity", (quantity + 1).to_string());
                }
                None => tables.row("stock", &[("part", &part), ("quantity", &1)]),
            }
        }
    });
}

/// Nothing is down.
#[test]
fn no_downtime() {
    never_worse("without downtime", |tables| tables.rows_mut("downtime").clear());
}

/// Every plate prints for a minute less; what would be ready sooner may wait for its old time.
#[test]
fn shorter_plates() {
    never_worse("with shorter plates", |tables| {
        for row in tables.rows_mut("plates") {
            let minutes: i64 = row["minutes"].parse().expect("minutes");
            row.insert("minutes", (minutes - 1).max(1).to_string());
        }
    });
}

/// A bound proven for a room with another printer holds for the room without it, whoever planned that; without due
/// dates, so that both are bounds against all plans.
#[test]
fn a_bound_for_the_richer_room_holds_for_the_poorer() {
    for seed in 420..428 {
        let mut tables = week(seed, Size::Middling);
        tables.rows_mut("shipments").iter_mut().for_each(|row| drop(row.remove("due")));
        let poor = Trial::new(format!("Middling week, seed {seed}"), &tables);
        let Some(plan) = poor.plan(Ask::soonest(Quick)).plan() else { continue };
        let printers = tables.rows_mut("printers");
        let mut another = printers[0].clone();
        another.insert("printer", "another".to_owned());
        printers.push(another);
        let rich = Trial::new(format!("Middling week, seed {seed}, another printer"), &tables);
        let claims = rich.must_plan(Ask { interrupt_after: Some(12), ..Ask::soonest(Auto) }).claims;
        assert!(claims.bound <= plan.claims.value, "{}: {} above {}", rich.name, claims.bound, plan.claims.value);
    }
}
