//! Changes laid over a folder: they do what they say, and what is wrong with them is told by file, row and key.

use platewright_model::instance::Instance;
use platewright_model::overlay::{Overlay, Table, Which};
use platewright_model::units::{Count, Minutes};
use platewright_model::{FaultCode, Faults, scenario, tables};
use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};

fn sound() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sound")
}

/// The sound folder with one scenario.
fn with_scenario(text: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(sound()).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    fs::create_dir(folder.path().join(scenario::FOLDER)).unwrap();
    fs::write(folder.path().join("scenarios/other.toml"), text).unwrap();
    folder
}

fn read(text: &str) -> Result<Instance, Faults> {
    let folder = with_scenario(text);
    let scenario = scenario::read(folder.path(), "other")?;
    tables::read_with(folder.path(), &[scenario.overlay])
}

fn sound_with(overlay: Overlay) -> Instance {
    tables::read_with(&sound(), &[overlay]).unwrap_or_else(|faults| panic!("{faults}"))
}

/// What is told, one line each: where, code, message, help.
fn told(text: &str) -> Vec<String> {
    let faults = read(text).expect_err("nothing is wrong");
    faults.0.iter().map(|fault| fault.to_string().replace("\n    ", " | ")).collect()
}

#[test]
fn a_scenario_changes_the_farm_and_rows_of_tables() {
    let instance = read(
        r#"
about = "Another farm"

[farm]
handling.load = 2
unattended.max_printers = 5
horizon_days = 9

[printers]
more.small = 2

[shifts]
rows = [
  { crew = "day", days = "daily", from = "06:00", to = "14:00", operators = 3 },
  { crew = "late", days = "Mon-Fri", from = "14:00", to = "22:00", operators = 1 },
]

[[shipments.change]]
where = { shipment = "shop" }
set = { due = "", quantity = 4 }

[closures]
add = [{ date = 2026-03-31, note = "inventory" }]
"#,
    )
    .unwrap_or_else(|faults| panic!("{faults}"));
    let base = tables::read(&sound()).unwrap();
    assert_eq!((instance.farm.handling.load, instance.farm.handling.harvest), (Minutes(2), base.farm.handling.harvest));
    assert_eq!(instance.farm.unattended.max_printers, Some(Count(5)));
    assert_eq!((instance.farm.horizon_days, &instance.farm.name), (9, &base.farm.name));
    let names: Vec<&str> = instance.printers.iter().map(|printer| printer.name.as_str()).collect();
    assert_eq!(names, ["P1", "P2", "L1", "small+1", "small+2"]);
    assert_eq!(instance.shifts.iter().map(|row| row.operators.0).collect::<Vec<_>>(), [3, 1]);
    assert_eq!(instance.crews, ["day", "late"]);
    let shop = &instance.shipments[1];
    assert_eq!((shop.due, shop.lines[0].quantity), (None, Count(4)));
    assert_eq!(instance.closures.len(), base.closures.len() + 1);
    assert_ne!(instance.digest(), base.digest());
}

#[test]
fn nothing_changed_is_the_farm_itself() {
    let base = tables::read(&sound()).unwrap();
    assert_eq!(read("about = \"as it is\"").unwrap().digest(), base.digest());
    assert!(Overlay::new("nothing").is_empty());
}

#[test]
fn a_program_makes_the_same_changes() {
    let base = tables::read(&sound()).unwrap();
    let mut overlay = Overlay::new("the order asked for");
    overlay
        .add(Table::Shipments, [("shipment", "rush"), ("kit", &base.kits[0].name), ("quantity", "3")])
        .change(Table::Shifts, Which::nth(0), [("operators", "7")])
        .add(
            Table::Shifts,
            [("crew", "night"), ("days", "Sat"), ("from", "22:00"), ("to", "06:00"), ("operators", "1")],
        )
        .more_printers("small", 1)
        .set("handling.load", base.farm.handling.load.0 - 1)
        .change(Table::Shipments, Which::cells([("shipment", "shop")]), [("due", "")]);
    let instance = sound_with(overlay);
    assert_eq!(instance.shipments.last().map(|shipment| shipment.name.as_str()), Some("rush"));
    assert_eq!((instance.shifts[0].operators, instance.shifts.len()), (Count(7), base.shifts.len() + 1));
    assert_eq!(instance.printers.len(), base.printers.len() + 1);
    assert_eq!(instance.farm.handling.load, base.farm.handling.load - Minutes(1));
    assert_eq!(instance.shipments[1].due, None);
}

#[test]
fn later_changes_come_on_top_of_earlier_ones() {
    let (mut first, mut second) = (Overlay::new("first"), Overlay::new("second"));
    first.more_printers("small", 1).set("handling.load", 9);
    second.more_printers("small", 2).set("handling.load", 5).fewer_printers("small", 1);
    let instance = tables::read_with(&sound(), &[first, second]).unwrap();
    assert_eq!(instance.farm.handling.load, Minutes(5));
    let names: Vec<&str> = instance.printers.iter().map(|printer| printer.name.as_str()).collect();
    assert_eq!(names, ["P1", "P2", "L1", "small+1", "small+2"]);
}

#[test]
fn printers_that_leave_take_their_downtimes_along_and_those_with_a_run_stay() {
    let base = tables::read(&sound()).unwrap();
    let busy = base.printers[base.running[0].printer.index()].name.clone();
    let mut overlay = Overlay::new("fewer");
    overlay.fewer_printers("small", 1);
    let instance = sound_with(overlay);
    assert!(instance.printers.iter().any(|printer| printer.name == busy));
    assert_eq!(instance.printers.len(), base.printers.len() - 1);
    assert!(instance.downtime.iter().all(|down| down.printer.index() < instance.printers.len()));
}

#[test]
fn what_is_wrong_with_a_change_is_told_where_it_stands() {
    let text = r#"
[farm]
handling.lod = 2
handling.harvest = "four"
colour = 3

[printers]
more.smal = 2
fewer.small = 9

[shifts]
drop = [{ crew = "erly" }]
change = [{ where = { crew = "day" }, set = { operator = 2 } }]
add = [
  { crew = "late", days = "Mon-Fri", from = "14:30", to = "22:00" },
  { crew = "late", days = "Mon-Fri", from = "25:30", to = "22:00", operators = 1 },
]
"#;
    insta::assert_snapshot!(told(text).join("\n"));
}

#[test]
fn what_is_wrong_with_the_file_is_told() {
    let text = "abuot = \"x\"\nshifts = 3\n[shift]\n[\"plates.csv\"]\n[stock]\nadd = [3, {}]\nchange = [{ set = {} }]\n[kits]\nmore = { a = 1 }\n";
    insta::assert_snapshot!(told(text).join("\n"));
    assert_eq!(read("about = ").unwrap_err().0[0].code, FaultCode::TomlSyntax);
}

#[test]
fn a_table_is_not_left_without_rows() {
    let faults = told("[shipments]\ndrop = [{}]\n");
    assert_eq!(faults.len(), 1, "{faults:?}");
    let faults = told("[shipments]\nrows = []\n");
    assert!(faults[0].starts_with("scenarios/other.toml, key shipments   [T102]"), "{faults:?}");
}

#[test]
fn a_scenario_that_is_not_there_is_told_with_those_that_are() {
    let folder = with_scenario("about = \"x\"");
    let faults = scenario::read(folder.path(), "othr").unwrap_err();
    assert_eq!(faults.0[0].code, FaultCode::UnknownScenario);
    assert_eq!(faults.0[0].help, "Did you mean \"other\"? The folder has other.");
    assert_eq!(scenario::names(folder.path()), ["other"]);
    assert_eq!(scenario::names(&sound()), [] as [&str; 0]);
}

const SOUND: &str = r#"
about = "Another farm"
[farm]
handling.load = 2
unattended.max_printers = 5
[printers]
more.small = 2
[shifts]
change = [{ where = { crew = "day", days = "Mon-Fri" }, set = { operators = 3 } }]
add = [{ crew = "late", days = "Mon-Fri", from = "14:00", to = "22:00", operators = 1 }]
[shipments]
drop = [{ shipment = "shop" }]
[closures]
rows = [{ date = 2026-03-31 }]
"#;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// A scenario damaged at random: nobody panics, and every fault names a file and says what to do.
    #[test]
    fn a_damaged_scenario_is_told_of(at in 0..SOUND.len(), length in 0..30_usize, text in "[\"=\\[\\]{},.#0-9a-z\n ]{0,6}|.{0,3}|99999999999") {
        let mut bytes = SOUND.as_bytes().to_vec();
        bytes.splice(at..(at + length).min(SOUND.len()), text.bytes());
        let damaged = String::from_utf8_lossy(&bytes).into_owned();
        if let Err(faults) = read(&damaged) {
            prop_assert!(!faults.0.is_empty());
            for fault in faults.0 {
                prop_assert!(!fault.file.is_empty() && fault.message.ends_with('.'), "{fault}");
                prop_assert!(fault.help.ends_with(['.', '?']), "{fault}");
            }
        }
    }
}

#[test]
fn the_scenario_that_is_damaged_is_sound() {
    assert!(read(SOUND).is_ok(), "{:?}", read(SOUND).err());
}
