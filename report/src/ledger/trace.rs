//! Lots traced both ways: from a bag to the printers and hours it came from, and from a printer's bad hour to the bags
//! and boxes it went into.
//!
//! The two ways are walked apart, each from its own end, so that they can be held against each other.

use super::{BoxLot, Ledger, Lot};
use crate::span::Span;
use platewright_model::Plan;
use platewright_model::plan::{Run, Source};
use std::collections::HashSet;

/// The bag or tray of that number.
pub fn lot<'l>(ledger: &'l Ledger, id: &str) -> Option<(usize, &'l Lot)> {
    ledger.lots.iter().enumerate().find(|(_, lot)| lot.id.eq_ignore_ascii_case(id))
}

/// The box of that number.
pub fn box_lot<'l>(ledger: &'l Ledger, id: &str) -> Option<&'l BoxLot> {
    ledger.boxes.iter().find(|packed| packed.id.eq_ignore_ascii_case(id))
}

/// The runs that put something into a bag or tray, in the plan's order.
pub fn runs_into<'p>(lot: &Lot, plan: &'p Plan) -> Vec<&'p Run> {
    let names: HashSet<&str> = lot.fills.iter().filter_map(|fill| run_of(&fill.source)).collect();
    plan.runs.iter().filter(|run| names.contains(run.run.as_str())).collect()
}

/// The runs that have something in a box, in the plan's order.
pub fn runs_in_box<'p>(packed: &BoxLot, plan: &'p Plan) -> Vec<&'p Run> {
    let pieces = packed.contents.iter().flat_map(|content| &content.pieces);
    let names: HashSet<&str> = pieces.filter_map(|pieces| run_of(&pieces.source)).collect();
    plan.runs.iter().filter(|run| names.contains(run.run.as_str())).collect()
}

/// The bags and trays that a run puts something into, by position.
pub fn lots_of<'l>(ledger: &'l Ledger, run: &str) -> Vec<(usize, &'l Lot)> {
    let has = |lot: &Lot| lot.fills.iter().any(|fill| run_of(&fill.source) == Some(run));
    ledger.lots.iter().enumerate().filter(|(_, lot)| has(lot)).collect()
}

/// The boxes that have something of a run.
pub fn boxes_of<'l>(ledger: &'l Ledger, run: &str) -> Vec<&'l BoxLot> {
    let has = |packed: &BoxLot| {
        packed.contents.iter().flat_map(|c| &c.pieces).any(|pieces| run_of(&pieces.source) == Some(run))
    };
    ledger.boxes.iter().filter(|packed| has(packed)).collect()
}

/// The boxes that take pieces out of a bag or tray.
pub fn boxes_from(ledger: &Ledger, lot: usize) -> Vec<&BoxLot> {
    let has = |packed: &BoxLot| packed.contents.iter().flat_map(|c| &c.pieces).any(|pieces| pieces.lot == lot);
    ledger.boxes.iter().filter(|packed| has(packed)).collect()
}

/// The runs that a printer had on, loading, printing or cooling, in some minute of a stretch; one that was on at the
/// start counts from then.
pub fn runs_on<'p>(plan: &'p Plan, printer: &str, span: Span) -> Vec<&'p Run> {
    let on = |run: &Run| {
        let from = run.load.as_ref().map(|load| load.from);
        from.is_none_or(|from| from < span.to) && span.from < run.ready
    };
    plan.runs.iter().filter(|run| run.printer == printer && on(run)).collect()
}

fn run_of(source: &Source) -> Option<&str> {
    match source {
        Source::Run(run) => Some(run),
        Source::Stock => None,
    }
}
