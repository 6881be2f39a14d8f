//! `plan`: what it prints, what it writes, and how it ends.

use crate::farm::{Farm, PLAN_FILES, ran};
use serde_json::json;
use std::fs;

#[test]
fn a_plan_is_told_and_written() {
    let farm = Farm::small();
    let ran = farm.run(&["plan"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    for words in ["The plan for Test room", "Mon 2 Mar 11:14", "proven best possible", "Tue  3 Mar 18:00", "Surplus"] {
        assert!(ran.out.contains(words), "{words} in {}", ran.out);
    }
    assert!(ran.err.contains("the plan is in"), "{}", ran.err);
    assert_eq!(farm.names("plan"), PLAN_FILES);
    let runs = fs::read_to_string(farm.at("plan/runs.csv")).unwrap();
    assert!(
        runs.starts_with("run,printer,plate,load_from,print_from,ready,harvest_from,harvest_to,loader,harvester\n")
    );
    assert!(runs.contains("2026-03-02T07:00:00+00:00") && runs.contains("day-1"), "{runs}");
}

#[test]
fn the_object_has_every_field_of_a_plan() {
    let farm = Farm::small();
    let ran = farm.run(&["plan", "--json"]);
    let mut object = ran.object();
    let seconds = object["seconds"].take();
    assert!(seconds.as_f64().is_some_and(|s| s >= 0.0), "{seconds}");
    let engine = object["engine"].take();
    assert!(engine.is_string(), "{engine}");
    assert_eq!(
        object,
        json!({
            "outcome": "optimal", "objective": "soonest", "value_minutes": 254, "bound_minutes": 254, "gap": 0.0,
            "makespan_minutes": 254, "late_minutes": 0, "late_bound_minutes": 0, "idle_printer_minutes": 14,
            "surplus_parts": 0, "runs": 2, "operator_minutes": 14, "engine": null, "seconds": null,
            "shipments": [{
                "shipment": "shop", "ready": "2026-03-02T11:14:00+00:00", "due": "2026-03-03T18:00:00+00:00",
                "late_minutes": 0
            }]
        })
    );
    assert_eq!(farm.names("plan"), PLAN_FILES);
}

#[test]
fn the_same_call_writes_the_same_bytes() {
    let farm = Farm::small();
    for out in ["one", "two"] {
        let ran = farm.run(&["plan", "--seed", "7", "--out", farm.at(out).to_str().unwrap()]);
        assert_eq!(ran.code, 0, "{ran:#?}");
    }
    for name in PLAN_FILES {
        assert!(fs::read(farm.at("one").join(name)).unwrap() == fs::read(farm.at("two").join(name)).unwrap(), "{name}");
    }
}

#[test]
fn every_engine_and_objective_plans() {
    for engine in ["auto", "exact", "quick"] {
        for objective in ["soonest", "least-idle"] {
            let farm = Farm::small();
            let ran = farm.run(&["plan", "--engine", engine, "--objective", objective, "--json"]);
            assert_eq!(ran.code, 0, "{engine} {objective} {ran:#?}");
            assert_eq!(ran.object()["objective"], objective);
            let checked = farm.run(&["check", farm.at("plan").to_str().unwrap()]);
            assert_eq!(checked.code, 0, "{engine} {objective} {checked:#?}");
        }
    }
}

#[test]
fn no_plan_within_the_horizon_is_said_with_its_reasons_and_nothing_is_written() {
    let farm = Farm::small();
    farm.replace("farm.toml", "horizon_days = 14", "horizon_days = 1");
    farm.replace("shipments.csv", "shop,set,1,", "shop,set,50,");
    let told = farm.run(&["plan"]);
    assert_eq!((told.code, told.out.as_str()), (3, ""), "{told:#?}");
    assert!(told.err.contains("error:") && told.err.contains("cup"), "{}", told.err);
    let object = farm.run(&["plan", "--json"]);
    assert_eq!(object.code, 3);
    let object = object.object();
    assert!(["infeasible", "unknown"].contains(&object["outcome"].as_str().unwrap()), "{object}");
    assert!(object["reasons"].as_array().is_some_and(|r| !r.is_empty()), "{object}");
    for field in
        ["value_minutes", "bound_minutes", "gap", "makespan_minutes", "late_minutes", "runs", "shipments", "engine"]
    {
        assert!(object.as_object().unwrap().get(field).is_some_and(|v| v.is_null()), "{field} in {object}");
    }
    assert!(!farm.at("plan").exists());
}

#[test]
fn broken_tables_are_all_listed_and_nothing_is_written() {
    let farm = Farm::small();
    farm.replace("plates.csv", "cup-2,small,cup,2,120", "cup-2,small,cup,-2,120");
    farm.replace("shifts.csv", "07:00,17:00", "07:00,25:00");
    let told = farm.run(&["plan"]);
    assert_eq!((told.code, told.out.as_str()), (2, ""), "{told:#?}");
    assert!(told.err.contains("2 faults"), "{}", told.err);
    assert!(told.err.contains("plates.csv, row 2, column copies") && told.err.contains("-2"), "{}", told.err);
    assert!(told.err.contains("shifts.csv, row 2, column to") && told.err.contains("25:00"), "{}", told.err);

    let ran = farm.run(&["plan", "--json"]);
    assert_eq!(ran.code, 2);
    let object = ran.object();
    assert_eq!(object["outcome"], "unusable");
    let mut faults = object["faults"].as_array().unwrap().clone();
    faults.sort_by_key(|f| f["file"].to_string());
    assert_eq!(faults.len(), 2);
    assert_eq!(
        (&faults[0]["file"], &faults[0]["row"], &faults[0]["column"]),
        (&json!("plates.csv"), &json!(2), &json!("copies"))
    );
    assert!(
        faults.iter().all(|f| ["code", "message", "help"].iter().all(|k| f[k].as_str().is_some_and(|t| !t.is_empty())))
    );
    assert!(!farm.at("plan").exists());
}

#[test]
fn a_folder_that_is_not_there_is_unusable() {
    let farm = Farm::empty();
    let ran = ran(&["plan", farm.at("nowhere").to_str().unwrap()], &[]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("nowhere"), "{}", ran.err);
}

#[test]
fn the_plan_never_goes_over_the_tables() {
    let farm = Farm::small();
    let before = fs::read(farm.at("shipments.csv")).unwrap();
    for out in [".", "plan/.."] {
        let ran = farm.run(&["plan", "--out", farm.at(out).to_str().unwrap()]);
        assert_eq!(ran.code, 2, "{ran:#?}");
        assert!(ran.err.contains("the folder with the tables"), "{}", ran.err);
    }
    let other = Farm::small();
    let ran = farm.run(&["plan", "--out", other.path().to_str().unwrap(), "--json"]);
    assert_eq!(ran.code, 2);
    assert_eq!(ran.object()["outcome"], "unusable");
    assert_eq!(fs::read(farm.at("shipments.csv")).unwrap(), before);
    assert_eq!(fs::read(other.at("shipments.csv")).unwrap(), before);
}

#[test]
fn an_out_folder_that_cannot_be_made_is_unusable() {
    let farm = Farm::small();
    farm.write("note.txt", "a file, no folder");
    let ran = farm.run(&["plan", "--out", farm.at("note.txt/plan").to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("note.txt"), "{}", ran.err);
    assert_eq!(fs::read_to_string(farm.at("note.txt")).unwrap(), "a file, no folder");
}

/// A folder stands where a file should go, so that writing fails even for the superuser.
#[test]
fn a_plan_that_cannot_be_written_leaves_the_earlier_one() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["plan"]).code, 0);
    fs::remove_file(farm.at("plan/tasks.csv")).unwrap();
    fs::create_dir_all(farm.at("plan/tasks.csv/in-the-way")).unwrap();
    let before: Vec<Option<Vec<u8>>> = PLAN_FILES.iter().map(|n| fs::read(farm.at("plan").join(n)).ok()).collect();
    farm.replace("plates.csv", "cup,2,120", "cup,2,90");
    let ran = farm.run(&["plan"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("cannot be written") && ran.err.contains("tasks.csv"), "{}", ran.err);
    let after: Vec<Option<Vec<u8>>> = PLAN_FILES.iter().map(|n| fs::read(farm.at("plan").join(n)).ok()).collect();
    assert!(before == after, "the earlier plan was touched");
    assert_eq!(farm.names("plan"), PLAN_FILES, "nothing half-written lies about");
}

#[test]
fn a_new_plan_takes_the_place_of_the_old() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["plan"]).code, 0);
    farm.replace("plates.csv", "cup,2,120", "cup,2,90");
    assert_eq!(farm.run(&["plan", "--json"]).object()["makespan_minutes"], 194);
    assert_eq!(farm.run(&["check", farm.at("plan").to_str().unwrap()]).code, 0);
}

#[test]
fn a_quiet_plan_is_written_without_a_word() {
    let farm = Farm::small();
    let ran = farm.run(&["plan", "--quiet"]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    assert_eq!(farm.names("plan"), PLAN_FILES);
}
