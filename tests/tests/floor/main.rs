//! What the people on the floor are given, held against the plan it is made of: the ledger's lots, and the rounds of the
//! shift sheets.

mod lots;
mod walks;

use platewright_model::Plan;
use platewright_solver::EngineChoice;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};
use std::ops::Range;

/// The quick engine's checked plans of random weeks; most must have one.
fn plans(seeds: Range<u64>, size: Size) -> Vec<(Trial, Plan)> {
    let asked = seeds.end - seeds.start;
    let planned: Vec<(Trial, Plan)> = seeds
        .filter_map(|seed| {
            let trial = Trial::new(format!("{size:?} week, seed {seed}"), &week(seed, size));
            let plan = trial.plan(Ask { seed, ..Ask::soonest(EngineChoice::Quick) }).plan()?;
            Some((trial, plan))
        })
        .collect();
    assert!(4 * planned.len() as u64 >= 3 * asked, "only {} of {asked} have a plan", planned.len());
    planned
}
