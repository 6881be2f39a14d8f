//! What `export` writes, read by an RFC 5545 parser and a workbook reader that are not ours, on plans of random weeks, some
//! of which cross a clock change.

use platewright_solver::EngineChoice::Quick;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};
use platewright_tests::{outside, program};
use std::path::Path;

fn agree(folder: &Path) {
    let Some(python) = outside::python() else { return };
    let [binary, tables] = [program::path(), folder].map(|path| path.to_str().expect("a readable path"));
    let plan = folder.join("plan");
    let arguments = ["--binary", binary, tables, plan.to_str().expect("a readable path")];
    print!("{}", outside::finish(outside::start(&python, "exchanged.py", &arguments)));
}

/// Times, figures and names agree, whatever the zone's clocks do meanwhile.
#[test]
fn plans_of_random_weeks() {
    let mut crossed = 0;
    for seed in 500..512 {
        let trial = Trial::new(format!("Middling week, seed {seed}"), &week(seed, Size::Middling));
        let Some(plan) = trial.plan(Ask::soonest(Quick)).plan() else { continue };
        let clock = trial.instance.farm.clock;
        let offset = |instant| *clock.stamp(instant).offset();
        let last = plan.runs.iter().map(|run| run.harvest_to).max();
        crossed += usize::from(last.is_some_and(|last| offset(last) != offset(trial.instance.farm.start)));
        agree(trial.folder());
    }
    assert!(crossed >= 3, "only {crossed} of the plans cross a clock change");
}

/// The demo as the README shows it.
#[test]
fn the_demo() {
    let folder = tempfile::tempdir().expect("a folder");
    let farm = program::instances().join("harbour-week");
    for entry in std::fs::read_dir(farm).expect("the demo") {
        let path = entry.expect("an entry").path();
        if path.is_file() {
            std::fs::copy(&path, folder.path().join(path.file_name().expect("a name"))).expect("a copy");
        }
    }
    let tables = folder.path().to_str().expect("a readable path");
    let planned = program::run(&["plan", tables, "--engine", "quick"]);
    assert_eq!(planned.code, 0, "{planned:#?}");
    agree(folder.path());
}
