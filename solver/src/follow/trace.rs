//! What was lived, for those who want to know it all.

use super::supply::{Cause, Gift};
use crate::problem::Min;

/// A task as it was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Done {
    /// Start.
    pub from: Min,
    /// End.
    pub to: Min,
    /// By whom, a position in [`super::Script::people`].
    pub who: usize,
}

/// A run on its printer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The plan's run, or none where it was made again.
    pub job: Option<usize>,
    /// Its printer.
    pub printer: usize,
    /// Index into [`super::Script::modes`].
    pub mode: usize,
    /// Its load, where it was loaded in this life.
    pub load: Option<Done>,
    /// Printed and cooled.
    pub ready: Min,
    /// Its harvest, where it came to that in this life.
    pub harvest: Option<Done>,
}

/// A box packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Packed {
    /// Position in [`super::Script::boxes`].
    pub packing: usize,
    /// When and by whom.
    pub done: Done,
}

/// A life of the plan.
#[derive(Debug, Clone, Default)]
pub struct Lived {
    /// When each shipment was ready; none where it never was.
    pub ready: Vec<Option<Min>>,
    /// Why each was ready as late as it was.
    pub cause: Vec<Cause>,
    /// Minutes that tasks waited for somebody to have time, by hour from the start.
    pub waited: Vec<i64>,
    /// Every run, in order of load, where that was kept: first the plan's, then those made again.
    pub stays: Vec<Stay>,
    /// Every box, where that was kept.
    pub packed: Vec<Packed>,
    /// Who got what, where that was kept.
    pub gifts: Vec<Gift>,
    /// Runs made again.
    pub again: usize,
    /// Plates that failed.
    pub failed: usize,
    /// Copies rejected.
    pub rejected: i64,
    /// Breakdowns.
    pub broken: usize,
}
