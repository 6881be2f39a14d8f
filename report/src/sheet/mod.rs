//! A crew's sheet for one shift: what to do, where, in what order, and what to leave for the next crew.
//!
//! A sheet is made of a checked plan and its [ledger](crate::ledger). [`shift`] finds the shift, [`work`] puts the plan's
//! tasks together into stops at printers, [`window`] says how much earlier or later a stop may be without moving the rest
//! of the plan, [`round`] puts stops into the order of walking within those windows, and [`leaving`] looks at the room as
//! the crew leaves it. [`text`] and [`html`] show a sheet on a terminal and on paper.
//!
//! What is to be written down has the names of the log's columns, so that a sheet is copied into the log as it stands.

pub mod html;
pub mod leaving;
pub mod round;
pub mod shift;
pub mod text;
mod window;
mod work;

#[cfg(test)]
mod tests;

use crate::ledger::Ledger;
use crate::span::Span;
use chrono::NaiveDate;
use leaving::{Handover, Left};
use platewright_model::instance::CrewId;
use platewright_model::{Count, Instance, Instant, Plan};
use shift::CrewShift;

/// A crew's sheet for one date.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Whose.
    pub crew: CrewId,
    /// On which date the shift begins.
    pub date: NaiveDate,
    /// On shift; more than one stretch where the shift has a break.
    pub spans: Vec<Span>,
    /// The operators' names.
    pub operators: Vec<String>,
    /// Rounds through the room, in order of time.
    pub rounds: Vec<Round>,
    /// Boxes to pack, in order of time.
    pub boxes: Vec<BoxStop>,
    /// What the loads of the shift take, by material, in the order of the tables.
    pub materials: Vec<MaterialNeed>,
    /// The room as the crew leaves it.
    pub left: Left,
    /// What waits for the next crew; none where no shift follows.
    pub handover: Option<Handover>,
}

/// A walk of one operator through the room.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// Who.
    pub operator: String,
    /// Where the first stop begins and the last ends.
    pub span: Span,
    /// Whether the stops are in the order of the bays throughout; else times leave no room for it.
    pub in_walking_order: bool,
    /// The stops, in order.
    pub stops: Vec<Stop>,
}

/// A stop at a printer: something comes off, something goes on, or both.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The printer's name.
    pub printer: String,
    /// Where it stands.
    pub bay: Option<String>,
    /// When, walking the round as it is listed.
    pub at: Instant,
    /// Not before.
    pub earliest: Instant,
    /// Begun later than this, it moves other things in the plan.
    pub latest: Instant,
    /// What comes off.
    pub off: Option<Off>,
    /// What goes on.
    pub on: Option<On>,
}

/// A run to harvest.
#[derive(Debug, Clone, PartialEq)]
pub struct Off {
    /// The run's name.
    pub run: String,
    /// The plate's name.
    pub plate: String,
    /// When it is ready.
    pub ready: Instant,
    /// What is on it, and where to put it.
    pub parts: Vec<OffPart>,
}

/// One part that comes off.
#[derive(Debug, Clone, PartialEq)]
pub struct OffPart {
    /// The part's name.
    pub part: String,
    /// Copies.
    pub count: Count,
    /// Into which bags or trays, in order.
    pub into: Vec<Into>,
}

/// Some copies into a bag or tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Into {
    /// Position in [`Ledger::lots`].
    pub lot: usize,
    /// How many.
    pub count: Count,
    /// They are its first: take a new one and label it.
    pub begins: bool,
    /// They are its last: close it.
    pub closes: bool,
}

/// A run to load.
#[derive(Debug, Clone, PartialEq)]
pub struct On {
    /// The run's name.
    pub run: String,
    /// The plate's name.
    pub plate: String,
    /// The plate's material.
    pub material: String,
    /// Whether the material is swapped first.
    pub changeover: bool,
    /// When it will be ready, by the plan.
    pub ready: Instant,
}

/// A box to pack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxStop {
    /// Who.
    pub operator: String,
    /// When.
    pub span: Span,
    /// Position in [`Ledger::boxes`].
    pub packed: usize,
}

/// What the shift's loads take of a material.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialNeed {
    /// The material's name.
    pub material: String,
    /// How many loads.
    pub loads: usize,
    /// Of them with a changeover to it.
    pub changeovers: usize,
    /// Grams in all parts of those loads; none where the grams of some part are not known.
    pub grams: Option<f64>,
}

/// The sheet of a shift.
pub fn sheet(instance: &Instance, plan: &Plan, ledger: &Ledger, shift: &CrewShift) -> Sheet {
    let work = work::work(instance, plan, ledger, shift);
    let mut rounds = round::rounds(&work.stops, &work.busy);
    in_walked_order(&mut rounds);
    Sheet {
        crew: shift.crew,
        date: shift.date,
        spans: shift.spans.clone(),
        operators: shift.operators.clone(),
        rounds,
        boxes: work.boxes,
        materials: work.materials,
        left: leaving::left(instance, plan, shift),
        handover: leaving::handover(instance, plan, shift),
    }
}

/// What is a bag's first and last goes by the order in which the rounds are walked, not by the plan's.
fn in_walked_order(rounds: &mut [Round]) {
    let mut fills: Vec<(Instant, usize, &mut Into)> = Vec::new();
    for stop in rounds.iter_mut().flat_map(|round| &mut round.stops) {
        let parts = stop.off.iter_mut().flat_map(|off| &mut off.parts);
        for into in parts.flat_map(|part| &mut part.into) {
            fills.push((stop.at, into.lot, into));
        }
    }
    fills.sort_by_key(|(at, lot, _)| (*lot, *at));
    for of_lot in fills.chunk_by_mut(|a, b| a.1 == b.1) {
        let begins = of_lot.iter().any(|(_, _, into)| into.begins);
        let closes = of_lot.iter().any(|(_, _, into)| into.closes);
        let last = of_lot.len() - 1;
        for (place, (_, _, into)) in of_lot.iter_mut().enumerate() {
            into.begins = begins && place == 0;
            into.closes = closes && place == last;
        }
    }
}

impl Sheet {
    /// The shift's first minute.
    pub fn from(&self) -> Instant {
        self.spans.first().map_or(Instant(0), |span| span.from)
    }

    /// How many stops its rounds have.
    pub fn stops(&self) -> usize {
        self.rounds.iter().map(|round| round.stops.len()).sum()
    }

    /// Whether the crew has nothing to do.
    pub fn is_idle(&self) -> bool {
        self.rounds.is_empty() && self.boxes.is_empty()
    }
}
