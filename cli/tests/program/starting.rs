//! `new`, and the way from there to a checked plan.

use crate::farm::{Farm, ran};
use std::fs;

#[test]
fn a_new_farm_plans_and_checks_as_it_stands() {
    let farm = Farm::empty();
    let made = farm.run(&["new"]);
    assert_eq!((made.code, made.err.as_str()), (0, ""), "{made:#?}");
    assert!(made.out.contains("platewright plan"), "{}", made.out);
    let planned = farm.run(&["plan", "--engine", "quick", "--json"]);
    assert_eq!(planned.code, 0, "{planned:#?}");
    assert_eq!(planned.object()["late_minutes"], 0);
    let checked = farm.run(&["check", farm.at("plan").to_str().unwrap()]);
    assert_eq!(checked.code, 0, "{checked:#?}");
}

#[test]
fn every_table_is_there_with_comments() {
    let farm = Farm::empty();
    let inner = farm.at("a/b");
    assert_eq!(ran(&["new", inner.to_str().unwrap()], &[]).code, 0);
    let names = farm.names("a/b");
    assert_eq!(
        names,
        [
            "closures.csv",
            "downtime.csv",
            "farm.toml",
            "kits.csv",
            "parts.csv",
            "plates.csv",
            "printers.csv",
            "running.csv",
            "shifts.csv",
            "shipments.csv",
            "stock.csv"
        ]
    );
    for name in names {
        assert!(fs::read_to_string(inner.join(&name)).unwrap().starts_with("# "), "{name}");
    }
}

#[test]
fn a_folder_with_something_in_it_is_left_alone() {
    let farm = Farm::empty();
    farm.write("precious.txt", "mine");
    let ran = farm.run(&["new"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("holds something already"), "{}", ran.err);
    assert_eq!(farm.names("."), ["precious.txt"]);
}

#[test]
fn a_folder_below_a_file_cannot_be_made() {
    let farm = Farm::empty();
    farm.write("file", "");
    for name in ["file", "file/farm"] {
        let ran = ran(&["new", farm.at(name).to_str().unwrap()], &[]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
        assert!(ran.err.contains("cannot be made"), "{}", ran.err);
    }
    assert_eq!(farm.names("."), ["file"]);
}
