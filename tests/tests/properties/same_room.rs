//! The same room described otherwise has the same best plan: what things are called and which row comes first is nothing
//! to a printer.

use platewright_solver::EngineChoice::Auto;
use platewright_tests::benches::bench;
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};

/// Compares what is proven best for small weeks and benches before and after a change that changes nothing.
fn same_best(what: &str, change: impl Fn(&mut Tables)) {
    let weeks = (500..512).map(|seed| (format!("Tiny week, seed {seed}"), week(seed, Size::Tiny)));
    let benches = (500..508).map(|seed| (format!("bench, seed {seed}"), bench(seed)));
    let mut compared = 0;
    for (name, tables) in weeks.chain(benches) {
        let mut changed = tables.clone();
        change(&mut changed);
        let before = Trial::new(name.as_str(), &tables);
        let after = Trial::new(format!("{name} {what}"), &changed);
        let [one, other] = [&before, &after].map(|trial| trial.plan(Ask::soonest(Auto)).plan().map(|plan| plan.claims));
        if let (Some(one), Some(other)) = (one, other)
            && [&one, &other].iter().all(|c| c.bound == c.value && c.late_bound == c.late)
        {
            compared += 1;
            assert_eq!((one.late, one.value), (other.late, other.value), "{name} {what}");
        }
    }
    assert!(compared >= 14, "only {compared} were proven: does this try anything?");
}

/// The rows of every table the other way round.
#[test]
fn rows_in_another_order() {
    same_best("from the last row to the first", |tables| {
        for table in ["printers", "parts", "plates", "kits", "shipments", "shifts", "downtime", "running", "stock"] {
            tables.rows_mut(table).reverse();
        }
    });
}

/// Every printer under another name.
#[test]
fn printers_by_other_names() {
    same_best("with printers renamed", |tables| {
        for table in ["printers", "downtime", "running"] {
            for row in tables.rows_mut(table) {
                let printer = row["printer"].clone();
                if let Some(number) = printer.strip_prefix('P') {
                    row.insert("printer", format!("{} of the room", 99 - number.parse::<i64>().expect("a number")));
                }
            }
        }
    });
}

/// Weights that keep their ratios.
#[test]
fn weights_doubled() {
    let weeks = (520..532).map(|seed| (seed, week(seed, Size::Tiny)));
    for (seed, tables) in weeks {
        let mut changed = tables.clone();
        for row in changed.rows_mut("shipments") {
            let weight: f64 = row["weight"].parse().expect("a weight");
            row.insert("weight", (2.0 * weight).to_string());
        }
        let before = Trial::new(format!("Tiny week, seed {seed}"), &tables).plan(Ask::soonest(Auto)).plan();
        let after = Trial::new(format!("Tiny week, seed {seed}, doubled"), &changed).plan(Ask::soonest(Auto)).plan();
        if let (Some(before), Some(after)) = (before, after)
            && [&before, &after]
                .iter()
                .all(|p| p.claims.bound == p.claims.value && p.claims.late_bound == p.claims.late)
        {
            let (before, after) = (before.claims, after.claims);
            assert_eq!((2 * before.late.0, before.value), (after.late.0, after.value), "seed {seed}");
        }
    }
}
