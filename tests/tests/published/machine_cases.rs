//! Alike machines: all published rows.
//!
//! Sources: A. Frangioni, E. Necciari, M. G. Scutellà, "A multi-exchange neighborhood for minimum makespan parallel
//! machine scheduling problems", J. Comb. Optim. 8 (2004) 195–220, instances after P. França et al. 1994; A. Lawrinenko
//! 2017; S. Berndt et al. 2022; optima as collected with them.

use crate::solved::{Solved, solve};
use platewright_tests::published::{Case, machine_cases};
use std::collections::BTreeMap;

/// A family of cases: how many there are, how many plans reach the optimum, how many are proven to.
#[derive(Default)]
struct Family {
    rows: usize,
    reached: usize,
    proven: usize,
}

/// Every optimum is reached, no bound is above one, and nine in ten or more are proven.
fn all_rows(file: &str, family: fn(&Case) -> String) {
    let Some(cases) = machine_cases(file) else { return };
    assert!(cases.len() >= 75, "{file}: {} cases", cases.len());
    let mut families: BTreeMap<String, Family> = BTreeMap::new();
    let mut missed = Vec::new();
    for case in &cases {
        let solved = solve(&case.name, case.machines, case.machines, &case.jobs);
        let of = families.entry(family(case)).or_default();
        of.rows += 1;
        of.reached += usize::from(solved.value == case.optimum);
        of.proven += usize::from(solved == Solved::optimum(case.optimum));
        if solved.value != case.optimum || solved.bound > case.optimum {
            missed.push(format!("{}: optimum {}, {solved:?}", case.name, case.optimum));
        }
    }
    println!("{file}\n  family        rows  reached  proven");
    for (name, of) in &families {
        println!("  {name:<12}  {:4}  {:7}  {:6}", of.rows, of.reached, of.proven);
    }
    assert!(missed.is_empty(), "{file}: {missed:#?}");
    let proven: usize = families.values().map(|of| of.proven).sum();
    assert!(proven * 10 >= cases.len() * 9, "{file}: {proven} of {} proven", cases.len());
}

/// The words of a name at these places.
fn words(case: &Case, many: usize, skip: usize) -> String {
    case.name.split(['_', '-']).skip(skip).take(many).collect::<Vec<_>>().join("-")
}

#[test]
fn uniform_and_less_uniform_lengths() {
    all_rows("frangioni_n_le_100.csv", |case| words(case, 3, 0));
}

#[test]
fn seven_classes_with_few_jobs_a_machine() {
    all_rows("lawrinenko_nontrivial_sample.csv", |case| words(case, 1, 2));
}

#[test]
fn four_experiments() {
    all_rows("berndt_nontrivial_sample.csv", |case| words(case, 1, 2));
}
