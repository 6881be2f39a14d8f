//! Shifts laid out on the calendar: who can work when.
//!
//! Each row of `shifts.csv` occurs on each of its dates that is not closed. The occurrences of one crew, in order of
//! start and then of row, each take the smallest operator numbers that no overlapping occurrence of that crew holds;
//! where two occurrences adjoin under one number they are one stretch, so that a task may straddle midnight.

use crate::instance::{CrewId, Instance};
use crate::units::Instant;

/// One operator's unbroken stretch on shift, half-open, clipped to the plan's reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stretch {
    /// Whose crew.
    pub crew: CrewId,
    /// Number within the crew, from 1.
    pub operator: u32,
    /// On shift from.
    pub from: Instant,
    /// Off shift from.
    pub to: Instant,
}

/// Every stretch between the start and the horizon's end, ordered by crew, operator and start.
pub fn stretches(instance: &Instance) -> Vec<Stretch> {
    let _ = instance;
    Vec::new()
}

/// The operator's name in plans: `CREW-n`.
pub fn operator_name(instance: &Instance, crew: CrewId, operator: u32) -> String {
    format!("{}-{operator}", instance.crews[crew.index()])
}

/// The stretches in which nobody of any crew is on shift, between the start and the horizon's end, in order.
pub fn unattended(instance: &Instance) -> Vec<(Instant, Instant)> {
    let _ = instance;
    Vec::new()
}
