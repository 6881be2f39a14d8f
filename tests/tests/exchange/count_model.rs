//! The model of `export --mps`, solved by SCIP: never above a plan, and with slots of one minute our optimum.

use platewright_tests::benches::bench;
use platewright_tests::trial::Trial;
use platewright_tests::{outside, program};
use std::path::PathBuf;

fn compare(options: &[&str], folders: &[PathBuf]) {
    let Some(python) = outside::python() else { return };
    let binary = program::path().to_str().expect("a readable path");
    let folders: Vec<&str> = folders.iter().map(|folder| folder.to_str().expect("a readable path")).collect();
    let arguments = [&["--binary", binary], options, &folders].concat();
    print!("{}", outside::finish(outside::start(&python, "countmodel.py", &arguments)));
}

/// Every instance whose optimum was reasoned by hand.
#[test]
fn tiny_instances_are_solved_to_our_optimum() {
    let names = program::instances_named("tiny-");
    let folders: Vec<PathBuf> = names.iter().map(|name| program::instances().join(name)).collect();
    assert!(folders.len() >= 15, "{names:?}");
    compare(&["--slots", "1,10,30"], &folders);
}

/// Random benches of two or three printers, and random rooms in which every rule may be in force.
#[test]
fn random_instances_are_bounded() {
    let trials: Vec<Trial> = (0..6).map(|seed| Trial::new(format!("bench, seed {seed}"), &bench(seed))).collect();
    let folders: Vec<PathBuf> = trials.iter().map(|trial| trial.folder().to_owned()).collect();
    compare(&["--slots", "15,30"], &folders);
    // Those that fit a day are soon solved to the minute, too.
    compare(&["--slots", "1"], &[1, 3, 5].map(|place: usize| folders[place].clone()));
    compare(&["--slots", "30", "--kind", "rules", "--seeds", "0-7"], &[]);
}
