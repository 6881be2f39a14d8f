//! What is written to be read again: the changes a plan was made under, and a `plates.csv`.

use platewright_model::overlay::{Overlay, Table, Which};
use platewright_model::{scenario, tables};
use std::fs;
use std::path::{Path, PathBuf};

fn sound() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sound")
}

fn copied() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(sound()).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    folder
}

#[test]
fn kept_changes_lead_to_the_same_instance() {
    let mut order = Overlay::new("the order asked for");
    order
        .set("handling.load", 2)
        .set("unattended.max_printers", 5)
        .more_printers("small", 2)
        .change(Table::Shipments, Which::cells([("shipment", "shop")]), [("due", ""), ("quantity", "4")])
        .add(Table::Shifts, [("crew", "day"), ("days", "Sat"), ("from", "08:00"), ("to", "13:00"), ("operators", "1")]);
    let mut more = Overlay::new("one more");
    more.set("handling.harvest", 3).more_printers("small", 1);
    let overlays = [order, more];
    let laid = tables::read_with(&sound(), &overlays).unwrap_or_else(|faults| panic!("{faults}"));

    let plan = tempfile::tempdir().unwrap();
    fs::write(plan.path().join(scenario::KEPT), scenario::text("\"two\" changes\\", &overlays)).unwrap();
    let kept = scenario::kept(plan.path()).unwrap_or_else(|faults| panic!("{faults}")).expect("a scenario");
    assert_eq!(kept.about.as_deref(), Some("\"two\" changes\\"));
    let again = tables::read_with(&sound(), &[kept.overlay]).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(again.digest(), laid.digest());
    assert_ne!(again.digest(), tables::read(&sound()).unwrap().digest());
}

#[test]
fn a_plan_for_the_tables_as_they_stand_keeps_no_scenario() {
    assert_eq!(scenario::kept(&sound()).unwrap(), None);
}

#[test]
fn a_broken_scenario_is_told() {
    let plan = tempfile::tempdir().unwrap();
    fs::write(plan.path().join(scenario::KEPT), "[farm\n").unwrap();
    let faults = scenario::kept(plan.path()).unwrap_err();
    assert_eq!(faults.0[0].file, scenario::KEPT);
}

#[test]
fn plates_written_are_plates_read() {
    let folder = copied();
    let before = tables::read(folder.path()).unwrap();
    fs::write(folder.path().join("plates.csv"), tables::plates_csv(&before)).unwrap();
    let after = tables::read(folder.path()).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(after.digest(), before.digest());
}
