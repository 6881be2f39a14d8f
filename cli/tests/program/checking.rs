//! `check`: a good plan passes, a damaged one is told of with the rule, and what cannot be read is unusable.

use crate::farm::{Farm, Ran};
use std::fs;

fn planned() -> Farm {
    let farm = Farm::small();
    let ran = farm.run(&["plan", "--engine", "quick"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    farm
}

fn check(farm: &Farm, more: &[&str]) -> Ran {
    let plan = farm.at("plan");
    let mut words = vec!["check", plan.to_str().unwrap()];
    words.extend(more);
    farm.run(&words)
}

#[test]
fn a_good_plan_keeps_all_rules() {
    let farm = planned();
    let ran = check(&farm, &[]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{ran:#?}");
    assert!(ran.out.contains("The plan keeps all") && ran.out.contains("Mon  2 Mar 11:14"), "{}", ran.out);
    let object = check(&farm, &["--json"]).object();
    assert_eq!(object["outcome"], "holds");
    assert_eq!(object["breaches"].as_array().unwrap().len(), 0);
    assert_eq!((&object["makespan_minutes"], &object["runs"]), (&254.into(), &2.into()));
    assert_eq!(object["shipments"][0]["ready"], "2026-03-02T11:14:00+00:00");
}

#[test]
fn a_harvest_before_ready_is_told_with_its_rule_run_and_time() {
    let farm = planned();
    farm.replace(
        "plan/runs.csv",
        "2026-03-02T09:03:00+00:00,2026-03-02T09:03:00",
        "2026-03-02T09:03:00+00:00,2026-03-02T09:02:00",
    );
    let ran = check(&farm, &[]);
    assert_eq!(ran.code, 1, "{ran:#?}");
    assert!(
        ran.out.contains("\nREADY\n") && ran.out.contains("R0001") && ran.out.contains("Mon 2 Mar 09:02"),
        "{}",
        ran.out
    );
    let object = check(&farm, &["--json"]);
    assert_eq!(object.code, 1);
    let object = object.object();
    assert_eq!(object["outcome"], "broken");
    let ready = object["breaches"].as_array().unwrap().iter().find(|b| b["rule"] == "READY").unwrap();
    assert_eq!(ready["run"], "R0001");
}

#[test]
fn an_operator_in_two_places_is_told() {
    let farm = planned();
    // The harvest of the first run, a minute later than planned, runs into the load of the second.
    let planned = "2026-03-02T09:03:00+00:00,2026-03-02T09:07:00+00:00";
    let late = "2026-03-02T09:04:00+00:00,2026-03-02T09:08:00+00:00";
    farm.replace("plan/runs.csv", planned, late);
    farm.replace("plan/tasks.csv", planned, late);
    let ran = check(&farm, &[]);
    assert_eq!(ran.code, 1, "{ran:#?}");
    assert!(ran.out.contains("\nOPERATOR\n") && ran.out.contains("day-1"), "{}", ran.out);
    assert!(ran.out.contains("\nPRINTER\n"), "{}", ran.out);
}

#[test]
fn a_figure_of_the_plan_that_is_not_true_is_a_broken_claim() {
    let farm = planned();
    farm.replace("plan/plan.json", "254", "253");
    let ran = check(&farm, &[]);
    assert_eq!(ran.code, 1, "{ran:#?}");
    assert!(ran.out.contains("CLAIM"), "{}", ran.out);
}

#[test]
fn tables_that_changed_since_the_plan_are_noticed() {
    let farm = planned();
    farm.replace("plates.csv", "cup,2,120", "cup,2,121");
    let ran = check(&farm, &[]);
    assert_eq!(ran.code, 1, "{ran:#?}");
}

#[test]
fn without_plan_json_the_tables_are_checked_and_the_rest_is_said_to_be_unknown() {
    let farm = planned();
    fs::remove_file(farm.at("plan/plan.json")).unwrap();
    let ran = check(&farm, &[]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert!(ran.out.contains("There is no plan.json"), "{}", ran.out);
    assert_eq!(check(&farm, &["--json"]).object()["claims_checked"], false);
}

#[test]
fn a_plan_that_cannot_be_read_is_unusable() {
    let farm = planned();
    farm.replace("plan/runs.csv", "R0001", "\"R0001");
    let ran = check(&farm, &[]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("runs.csv"), "{}", ran.err);
    fs::remove_file(farm.at("plan/tasks.csv")).unwrap();
    let object = check(&farm, &["--json"]);
    assert_eq!(object.code, 2);
    let faults = object.object()["faults"].as_array().unwrap().clone();
    assert!(faults.iter().any(|f| f["file"] == "tasks.csv"), "{faults:?}");
}
