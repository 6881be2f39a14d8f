//! `regress`: saved instances planned again; a worse value is told and ends with 1.

use crate::farm::Farm;
use std::fs;

fn expected(farm: &Farm) -> String {
    fs::read_to_string(farm.at("expected.toml")).unwrap()
}

fn verdict(farm: &Farm) -> String {
    farm.run(&["regress", "--json"]).object()["instances"][0]["verdict"].as_str().unwrap().to_owned()
}

#[test]
fn what_was_recorded_is_reached_again() {
    let farm = Farm::small();
    let ran = farm.run(&["regress"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert!(ran.out.contains("not recorded") && !farm.at("expected.toml").exists(), "{}", ran.out);
    assert_eq!(farm.run(&["regress", "--record"]).code, 0);
    for line in ["value_minutes = 254", "bound_minutes = 254", "late_minutes = 0.0"] {
        assert!(expected(&farm).contains(line), "{}", expected(&farm));
    }
    let ran = farm.run(&["regress"]);
    assert!(ran.code == 0 && ran.out.contains("  same\n"), "{ran:#?}");
    // The file is no table, and the instance is planned as before.
    assert_eq!(farm.run(&["plan"]).code, 0);
}

#[test]
fn a_worse_value_fails_until_it_is_recorded() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["regress", "--record"]).code, 0);
    for (was, verdict, code) in [("253", "worse", 1), ("255", "better", 0)] {
        farm.write("expected.toml", &expected(&farm).replace("value_minutes = 254", &format!("value_minutes = {was}")));
        let ran = farm.run(&["regress", "--json"]);
        assert_eq!(ran.code, code, "{ran:#?}");
        assert_eq!(ran.object()["instances"][0]["verdict"], verdict);
        assert_eq!(farm.run(&["regress", "--record"]).code, 0);
        assert!(expected(&farm).contains("value_minutes = 254"));
    }
}

#[test]
fn that_no_plan_exists_can_be_expected_too() {
    let farm = Farm::small();
    farm.replace("shifts.csv", "07:00,17:00", "07:00,07:02");
    assert_eq!(farm.run(&["regress", "--record"]).code, 0);
    assert!(expected(&farm).contains("infeasible = true"), "{}", expected(&farm));
    assert_eq!(verdict(&farm), "same");
    farm.replace("shifts.csv", "07:00,07:02", "07:00,17:00");
    assert_eq!(verdict(&farm), "better");
}

#[test]
fn what_cannot_be_used_is_told() {
    let empty = Farm::empty();
    assert_eq!(empty.run(&["regress"]).code, 2);
    let farm = Farm::small();
    farm.write("expected.toml", "value = 3\n");
    let ran = farm.run(&["regress"]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("expected.toml") && ran.err.contains("--record"), "{}", ran.err);
    farm.write("expected.toml", "infeasible = true\n");
    farm.replace("shifts.csv", "daily", "dayly");
    let ran = farm.run(&["regress"]);
    assert!(ran.code == 2 && ran.err.contains("T212"), "{ran:#?}");
    // Never recorded and broken: kept for being broken.
    fs::remove_file(farm.at("expected.toml")).unwrap();
    assert_eq!(farm.run(&["regress"]).code, 2, "nothing is left to plan");
}
