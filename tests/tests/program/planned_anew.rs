//! Plans made anew in mid-week against the verifier that shares no code with the project, and reads the log by itself.

use platewright_tests::{outside, program};
use std::fs;
use std::path::Path;

/// Plans an instance, lets its first plate fail at its harvest, and plans the rest anew from late in the morning.
fn with_a_failed_plate(name: &str, engine: &str) {
    let Some(python) = outside::python() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    for entry in fs::read_dir(program::instances().join(name)).expect("the instance").flatten() {
        if entry.path().is_file() {
            fs::copy(entry.path(), folder.path().join(entry.file_name())).expect("a copy");
        }
    }
    let path = |path: &Path| path.to_str().expect("a readable path").to_owned();
    let (farm, plan) = (path(folder.path()), path(&folder.path().join("plan")));
    let must = |words: &[&str]| {
        let ran = program::run(words);
        assert_eq!(ran.code, 0, "{words:?}: {ran:#?}");
    };
    must(&["plan", &farm, "-q", "--engine", engine]);
    let runs = fs::read_to_string(folder.path().join("plan/runs.csv")).expect("runs.csv");
    let cells: Vec<&str> = runs
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .find(|r: &Vec<&str>| !r[4].is_empty())
        .expect("a run");
    let (run, printer, loaded, off) = (cells[0], cells[1], &cells[4][..16], &cells[7][..16]);
    must(&["log", &farm, "loaded", "--printer", printer, "--run", run, "--at", loaded]);
    must(&["log", &farm, "failed", "--printer", printer, "--run", run, "--at", off]);
    must(&["replan", &farm, &plan, "--at", "2026-03-02T14:20", "--as-planned", "--keep"]);
    let verify = || outside::start(&python, "verify.py", &[&farm, &plan]);
    outside::finish(verify());
    // The verifier does read the log: without the failed plate's rows, the plan is no longer what happened.
    let log = fs::read_to_string(folder.path().join("log.csv")).expect("the log");
    let rows: Vec<&str> = log.lines().filter(|row| !row.contains(run)).collect();
    fs::write(folder.path().join("log.csv"), rows.join("\n") + "\n").expect("the log");
    let output = verify().wait_with_output().expect("the verifier");
    assert!(String::from_utf8_lossy(&output.stdout).contains("LOG: "), "{output:?}");
}

#[test]
fn a_week() {
    with_a_failed_plate("harbour-week", "quick");
}

#[test]
fn with_spares() {
    with_a_failed_plate("spares-two-of-three", "auto");
}

#[test]
fn with_a_first_lot() {
    with_a_failed_plate("tiny-first-lot", "auto");
}
