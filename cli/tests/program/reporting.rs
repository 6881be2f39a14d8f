//! `report`: the page of a plan that holds, and none of one that does not.

use crate::farm::{Farm, Ran};
use std::fs;

fn planned() -> Farm {
    let farm = Farm::small();
    let ran = farm.run(&["plan", "--engine", "quick"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    farm
}

fn report(farm: &Farm, more: &[&str]) -> Ran {
    let plan = farm.at("plan");
    farm.run(&[&["report", plan.to_str().unwrap()], more].concat())
}

#[test]
fn the_page_is_written_beside_the_plan_and_says_the_same_each_time() {
    let farm = planned();
    let page = fs::read_to_string(farm.at("plan/report.html")).unwrap();
    assert!(page.contains("Test room") && page.contains("Mon 2 Mar 11:14"), "{page}");
    fs::remove_file(farm.at("plan/report.html")).unwrap();
    let ran = report(&farm, &[]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert!(ran.out.trim_end().ends_with("report.html"), "{ran:#?}");
    assert_eq!(fs::read_to_string(farm.at("plan/report.html")).unwrap(), page);
}

#[test]
fn the_page_goes_where_it_is_asked_for_but_over_no_table() {
    let farm = planned();
    let elsewhere = farm.at("week.html");
    assert_eq!(report(&farm, &["--out", elsewhere.to_str().unwrap()]).code, 0);
    assert!(fs::read_to_string(&elsewhere).unwrap().starts_with("<!doctype html>"));
    let table = farm.at("parts.csv");
    let before = fs::read(&table).unwrap();
    let ran = report(&farm, &["--out", table.to_str().unwrap()]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert_eq!(fs::read(&table).unwrap(), before);
}

#[test]
fn a_plan_that_breaks_rules_has_no_page() {
    let farm = planned();
    fs::remove_file(farm.at("plan/report.html")).unwrap();
    farm.replace("plan/runs.csv", ",P1,cup-2,", ",P2,cup-2,");
    let ran = report(&farm, &[]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{ran:#?}");
    assert!(ran.err.contains("breaks rules"), "{}", ran.err);
    assert!(!farm.at("plan/report.html").exists());
}

#[test]
fn tables_without_plan_json_have_a_page_that_claims_no_bound() {
    let farm = planned();
    fs::remove_file(farm.at("plan/plan.json")).unwrap();
    assert_eq!(report(&farm, &[]).code, 0);
    let page = fs::read_to_string(farm.at("plan/report.html")).unwrap();
    assert!(page.contains("How much sooner a plan could ship is not known."), "{page}");
    assert!(page.contains("<data value=\"14\" data-key=\"idle_printer_minutes\">0:14</data>"), "{page}");
}

#[test]
fn what_cannot_be_read_is_unusable() {
    let farm = Farm::small();
    let ran = report(&farm, &[]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("plan"), "{}", ran.err);
}
