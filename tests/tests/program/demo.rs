//! The demo and the kit run, planned by the program.

use crate::written::Written;
use platewright_tests::program::instances;
use std::path::Path;

fn rows(folder: &Path, table: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(folder.join(table)).expect("a table");
    reader.records().map(|row| row.expect("a row")).collect()
}

/// The quick engine's plan of the demo passes `check`, and twice the same question gives the same bytes.
#[test]
fn the_demo_planned_quickly() {
    let one = Written::plan("harbour-week", &["--engine", "quick"]);
    let two = Written::plan("harbour-week", &["--engine", "quick"]);
    one.believe().same_bytes_as(two.believe());
}

/// The quick engine's plan of the kit run, some two thousand runs, passes `check`, in the same bytes twice.
#[test]
fn the_kit_run_planned_quickly() {
    let one = Written::plan("kit-run", &["--engine", "quick"]);
    let two = Written::plan("kit-run", &["--engine", "quick"]);
    one.believe().same_bytes_as(two.believe());
    assert!(rows(one.folder(), "runs.csv").len() >= 1950, "the kit run needs 1,950 plates");
}

/// The demo's plan for the least idle printer minutes passes `check`.
#[test]
fn the_demo_with_the_least_idle_minutes() {
    let written = Written::plan("harbour-week", &["--engine", "quick", "--objective", "least-idle"]);
    let object = written.believe().ran.object();
    assert_eq!(object["value_minutes"], object["idle_printer_minutes"]);
}

/// Every run of the demo is loaded and harvested once by somebody, and every need of its shipments is met.
#[test]
fn the_demo_in_its_files() {
    let written = Written::plan("harbour-week", &["--engine", "quick"]);
    let folder = written.believe().folder();
    let (runs, tasks) = (rows(folder, "runs.csv"), rows(folder, "tasks.csv"));
    let running = rows(&instances().join("harbour-week"), "running.csv").len();
    let of = |kind: &str| tasks.iter().filter(|task| &task[1] == kind).count();
    assert_eq!((of("harvest"), of("load")), (runs.len(), runs.len() - running));
    // Boxes of 18 in sixes, 24 in fours, 88 in sixes and 12 in fours.
    assert_eq!(of("pack"), 3 + 6 + 15 + 3);
    let given = |shipment: &str, part: &str| -> u64 {
        let rows = rows(folder, "allocation.csv");
        rows.iter()
            .filter(|row| &row[1] == part && &row[2] == shipment)
            .map(|row| row[3].parse::<u64>().expect("a count"))
            .sum()
    };
    assert_eq!(given("schools", "louvre"), 18 * 6);
    assert_eq!(given("coast", "cable-clip"), 88 * 4);
    assert_eq!(given("coast", "lamp-arm"), 12 * 2);
    assert_eq!(given("lamp-shop", "knob"), 24 * 2);
}
