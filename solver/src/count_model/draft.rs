//! The model while it is put together: the program, and which variables stand for what.

use super::names;
use super::places::Slots;
use super::program::Program;
use crate::demand;
use crate::problem::{Min, Problem};

/// A variable that counts tasks of one length, begun by one pool in one slot.
#[derive(Debug, Clone, Copy)]
pub(super) struct Begun {
    pub(super) variable: usize,
    pub(super) pool: usize,
    pub(super) slot: usize,
    pub(super) minutes: Min,
}

/// A variable that counts harvests.
#[derive(Debug, Clone, Copy)]
pub(super) struct Harvested {
    pub(super) variable: usize,
    pub(super) mode: usize,
    /// When the plates were loaded, as a release epoch.
    pub(super) epoch: usize,
    /// The first minute at which a harvest of these can end.
    pub(super) ended: Min,
}

/// What is written down so far.
pub(super) struct Draft<'p> {
    pub(super) problem: &'p Problem<'p>,
    pub(super) slots: Slots,
    pub(super) program: Program,
    /// First minutes of the release epochs.
    pub(super) epochs: Vec<Min>,
    pub(super) begun: Vec<Begun>,
    pub(super) harvested: Vec<Harvested>,
    pub(super) plates: Vec<String>,
    pub(super) parts: Vec<String>,
    pub(super) shipments: Vec<String>,
    pub(super) materials: Vec<String>,
    pub(super) groups: Vec<String>,
}

impl<'p> Draft<'p> {
    pub(super) fn new(problem: &'p Problem<'p>, slots: Slots) -> Draft<'p> {
        let tables = problem.instance;
        Draft {
            problem,
            slots,
            program: Program::default(),
            epochs: demand::epochs(problem),
            begun: Vec::new(),
            harvested: Vec::new(),
            plates: names::plain(tables.plates.iter().map(|plate| plate.name.as_str())),
            parts: names::plain(tables.parts.iter().map(|part| part.name.as_str())),
            shipments: names::plain(tables.shipments.iter().map(|shipment| shipment.name.as_str())),
            materials: names::plain(tables.materials.iter().map(String::as_str)),
            groups: names::plain(tables.groups.iter().map(String::as_str)),
        }
    }

    /// The last slot in which a shipment can get ready: parts may have to be finished after the last harvest.
    pub(super) fn last_ready(&self) -> usize {
        let finish = self.problem.finish.iter().copied().max().unwrap_or(0);
        self.slots.at(self.problem.horizon + finish)
    }

    /// The release epoch of a load at a minute.
    pub(super) fn epoch(&self, minute: Min) -> usize {
        self.epochs.partition_point(|epoch| *epoch <= minute).saturating_sub(1)
    }

    /// A part of a name that is needed only where there are several epochs.
    pub(super) fn epoch_name(&self, epoch: usize) -> String {
        if self.epochs.len() > 1 { format!("/e{epoch}") } else { String::new() }
    }
}
