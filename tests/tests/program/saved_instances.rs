//! The project's instances planned again, and the demo's scenarios side by side.

use platewright_tests::program::{instances, run};
use serde_json::Value;

fn folder(name: &str) -> String {
    instances().join(name).to_str().expect("a readable path").to_owned()
}

/// No saved instance is planned worse than it was, and no plan breaks a rule.
#[test]
fn no_instance_is_planned_worse_than_before() {
    let ran = run(&["regress", &folder(""), "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    let saved = object["instances"].as_array().expect("instances");
    assert!(saved.len() >= 18, "{} instances", saved.len());
    for instance in saved {
        assert!(instance["was"].is_object(), "{} has no expected.toml", instance["instance"]);
    }
}

/// A thousand kits every three weeks, with fifty printers and a crew that sleeps: the planner must need no more, and it
/// says how much sooner it is. Common practice, no source; the README beside the instance has the figures.
#[test]
fn a_thousand_kits_are_ready_within_three_weeks() {
    let out = tempfile::tempdir().expect("a folder");
    let plan = out.path().to_str().expect("a readable path");
    let ran = run(&["plan", &folder("three-weekly"), "--out", plan, "--engine", "quick", "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    assert_eq!((object["late_minutes"].as_f64(), object["runs"].as_u64()), (Some(0.0), Some(1460)), "{object}");
    assert!(object["makespan_minutes"].as_i64().expect("minutes") <= 21 * 1440, "{object}");
    assert_eq!(run(&["check", &folder("three-weekly"), plan]).code, 0);
    let said = run(&["plan", &folder("three-weekly"), "--out", plan, "--engine", "quick"]).out;
    assert!(said.contains("to spare"), "{said}");
}

/// Every claim of the comparison is what `check` confirms on the plan behind it, and its states add up to total time.
#[test]
fn the_demo_with_its_scenarios() {
    let out = tempfile::tempdir().expect("a folder");
    let path = |name: &str| out.path().join(name).to_str().expect("a readable path").to_owned();
    let demo = folder("harbour-week");
    let ran = run(&["compare", &demo, "--out", &path(""), "--engine", "quick", "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    let scenarios = object["scenarios"].as_array().expect("scenarios");
    let names: Vec<&str> = scenarios.iter().filter_map(|scenario| scenario["scenario"].as_str()).collect();
    assert_eq!(names, ["as-it-stands", "day-long-plates", "day-only", "round-the-clock", "six-more", "two-shifts"]);
    for (name, scenario) in names.iter().zip(scenarios) {
        let figures = &scenario["figures"];
        let checked = run(&["check", &demo, &path(name), "--scenario", name, "--json"]);
        assert_eq!(checked.code, 0, "{name}: {checked:#?}");
        let found = checked.object();
        for figure in ["makespan_minutes", "late_minutes", "shipments"] {
            assert_eq!(found[figure], figures[figure], "{name}: {figure}");
        }
        assert_eq!(found["operator_minutes"], figures["crew_minutes"]["busy"], "{name}");
        // SEMI E10 splits total time into states that exclude each other and add up to it; so do these.
        let split = &figures["printer_minutes"];
        let printers = if *name == "six-more" { 30 } else { 24 };
        let states = ["printing", "cooling", "blocked", "handled", "down", "empty"];
        let sum: i64 = states.iter().filter_map(|state| split[state].as_i64()).sum();
        assert_eq!(Some(sum), split["total"].as_i64(), "{name}");
        let makespan = figures["makespan_minutes"].as_i64().expect("minutes");
        // A last surplus plate may be harvested after the last shipment is ready.
        assert!(sum >= printers * makespan && sum % printers == 0, "{name}: {sum} of {printers} times {makespan}");
    }
    // Two full shifts and six more printers only add to the tables: what is shown is not later.
    let merit = |name: &str| {
        let scenario = names.iter().position(|known| known == &name).map(|at| &scenarios[at]["figures"]);
        let figure = |key: &str| scenario.and_then(|figures: &Value| figures[key].as_f64()).expect("a figure");
        (figure("late_minutes"), figure("makespan_minutes"))
    };
    for richer in ["two-shifts", "six-more"] {
        assert!(merit(richer) <= merit("as-it-stands"), "{richer}");
    }
    assert!(merit("as-it-stands") <= merit("day-only"));
}

/// The tiny farm whose costs are added up by hand in its README.
#[test]
fn costs_add_up_to_the_cent() {
    let out = tempfile::tempdir().expect("a folder");
    let ran = run(&["compare", &folder("tiny-costs"), "--out", out.path().to_str().expect("a path"), "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    let readme = std::fs::read_to_string(instances().join("tiny-costs/README.md")).expect("a README");
    let by_hand: Vec<f64> =
        readme.lines().filter_map(|line| line.strip_suffix(" |")?.rsplit("| ").next()?.parse().ok()).collect();
    assert_eq!(by_hand, [1.62, 87.30, 12.83, 2.63, 0.13, 104.51]);
    let lines = ["printers", "crew", "night_premium", "filament", "energy", "total"];
    let cost = |at: usize, line: &str| object["scenarios"][at]["figures"]["cost"][line].as_f64().expect("an amount");
    assert_eq!(lines.map(|line| cost(0, line)).to_vec(), by_hand);
    assert_eq!((cost(0, "per_kit"), cost(1, "total")), (104.51, 204.63));
}
