//! The planner against an independent solver: OR-Tools CP-SAT, minute by minute, on a model written from the rules and not
//! from our code.
//!
//! `tests/outside/crosscheck.py` writes random instances, finds the optimum, runs the program, and compares: equal
//! lateness and makespan where both prove, bounds on the right side, each one's plans accepted by the other's checker, and
//! every optimum that the solver proves proven by the planner as well.

use platewright_tests::{outside, program};

/// Compares on the instances of a kind, in as many processes as seed ranges.
fn crosscheck(kind: &str, seeds: &[&str], optimal: bool) {
    let Some(python) = outside::python() else { return };
    let binary = program::path().to_str().expect("a readable path");
    let start = |seeds: &&str| {
        let mut arguments = vec!["--binary", binary, "--kind", kind, "--seeds", seeds];
        arguments.extend(optimal.then_some("--optimal"));
        outside::start(&python, "crosscheck.py", &arguments)
    };
    let running: Vec<_> = seeds.iter().map(start).collect();
    running.into_iter().for_each(|tool| print!("{}", outside::finish(tool)));
}

/// Two hundred benches of two or three printers and up to nine runs, with a break in the shift.
#[test]
fn split_shifts() {
    crosscheck("split", &["0-99", "100-199"], true);
}

/// Rooms of up to three printers and ten runs, every rule at random.
#[test]
fn every_rule() {
    crosscheck("rules", &["0-49", "50-99"], true);
}

/// The same rooms with a first lot before the rest. What the solver proves the planner need not prove: it bounds the
/// first lot and the rest apart.
#[test]
fn first_lots() {
    crosscheck("waits", &["0-19", "20-39"], false);
}
