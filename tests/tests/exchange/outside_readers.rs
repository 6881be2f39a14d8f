//! What `export` writes, read by an RFC 5545 parser and a workbook reader that are not ours, on plans of random weeks, some
//! of which cross a clock change.

use platewright_solver::EngineChoice::Quick;
use platewright_tests::tables::Tables;
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
    let (mut crossed, mut within) = (0, 0);
    for seed in 500..600 {
        let trial = Trial::new(format!("Middling week, seed {seed}"), &week(seed, Size::Middling));
        let Some(plan) = trial.plan(Ask::soonest(Quick)).plan() else { continue };
        let clock = trial.instance.farm.clock;
        let offset = |instant| *clock.stamp(instant).offset();
        let last = plan.runs.iter().map(|run| run.harvest_to).max();
        let kind = if last.is_some_and(|last| offset(last) != offset(trial.instance.farm.start)) {
            &mut crossed
        } else {
            &mut within
        };
        *kind += 1;
        if *kind <= 4 {
            agree(trial.folder());
        }
    }
    assert!(crossed >= 4 && within >= 4, "{crossed} plans cross a clock change and {within} do not");
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

/// Names that a spreadsheet might take for formulas, and letters of every kind, in the night the clocks go forward.
#[test]
fn hostile_names() {
    let long = "é".repeat(200);
    let names = [
        "=HYPERLINK(\"http://x\";\"y\")",
        "+1+1",
        "-2;3,4",
        "@SUM(A1)",
        "<script>alert('1')</script>",
        "🦊🏽 👨‍👩‍👧 \\n \\, \"q\"",
        "\u{202e}שלום עולם",
        long.as_str(),
    ];
    let mut tables = Tables::new("=Room; a, b \\\\ 🦊", "Europe/Lisbon", "2026-03-28T20:00", 7);
    tables.section("handling", &[("load", &3), ("harvest", &4), ("pack_box", &2)]);
    for name in names {
        tables.row("printers", &[("printer", &name), ("group", &name), ("bay", &name)]);
        tables.row("parts", &[("part", &name), ("material", &name), ("per_bag", &2)]);
        tables.row("plates", &[("plate", &name), ("group", &name), ("part", &name), ("copies", &1), ("minutes", &200)]);
        let kit = format!("{}!", name.chars().take(199).collect::<String>());
        tables.row("kits", &[("kit", &kit), ("item", &name), ("quantity", &1)]);
        tables.row("shipments", &[("shipment", &name), ("kit", &kit), ("quantity", &2), ("per_box", &2)]);
    }
    tables.row(
        "shifts",
        &[("crew", &names[0]), ("days", &"daily"), ("from", &"00:00"), ("to", &"24:00"), ("operators", &2)],
    );
    let trial = Trial::new("hostile names", &tables);
    trial.must_plan(Ask::soonest(Quick));
    agree(trial.folder());
}
