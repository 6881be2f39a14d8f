//! A run on its printer, stretch by stretch: load, printing, cooling, blocked, harvest.

use crate::span::Span;
use platewright_model::instance::{Plate, PlateId, PlateOnGroup, PrinterId};
use platewright_model::plan::Run;
use platewright_model::{Instance, Plan};
use std::collections::HashMap;

/// The stretches of one run, in order; each may be empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Phases {
    /// Where.
    pub printer: PrinterId,
    /// What.
    pub plate: PlateId,
    /// Load with its changeover; empty for a run that was on the printer at the start.
    pub load: Span,
    /// Printing.
    pub printing: Span,
    /// From the end of printing to ready.
    pub cooling: Span,
    /// Ready and not yet harvested.
    pub blocked: Span,
    /// Harvest.
    pub harvest: Span,
}

/// Names of the instance, looked up.
#[derive(Debug, Clone)]
pub struct Names<'a> {
    instance: &'a Instance,
    printers: HashMap<&'a str, PrinterId>,
    plates: HashMap<&'a str, PlateId>,
}

impl<'a> Names<'a> {
    /// All names of the instance.
    pub fn of(instance: &'a Instance) -> Names<'a> {
        Names {
            instance,
            printers: (0..).zip(&instance.printers).map(|(i, p)| (p.name.as_str(), PrinterId(i))).collect(),
            plates: (0..).zip(&instance.plates).map(|(i, p)| (p.name.as_str(), PlateId(i))).collect(),
        }
    }

    /// The run's plate as its printer's group has it; none where the plan says what the instance does not know.
    pub fn plate_of(&self, run: &Run) -> Option<(PrinterId, PlateId, &'a PlateOnGroup)> {
        let printer = *self.printers.get(run.printer.as_str())?;
        let plate = *self.plates.get(run.plate.as_str())?;
        let described: &'a Plate = self.instance.plates.get(plate.index())?;
        let on_group = described.on(self.instance.printers.get(printer.index())?.group)?;
        Some((printer, plate, on_group))
    }

    /// The run's stretches; none where the plan says what the instance does not know.
    pub fn phases(&self, run: &Run) -> Option<Phases> {
        let (printer, plate, on_group) = self.plate_of(run)?;
        let printed = run.ready - on_group.cool;
        let print_from = run.load.as_ref().map_or(printed - on_group.minutes, |l| l.print_from);
        Some(Phases {
            printer,
            plate,
            load: Span { from: run.load.as_ref().map_or(print_from, |l| l.from), to: print_from },
            printing: Span { from: print_from, to: printed },
            cooling: Span { from: printed, to: run.ready },
            blocked: Span { from: run.ready, to: run.harvest_from },
            harvest: Span { from: run.harvest_from, to: run.harvest_to },
        })
    }
}

/// Every run's stretches, in the plan's order.
pub fn phases(instance: &Instance, plan: &Plan) -> Vec<Phases> {
    let names = Names::of(instance);
    plan.runs.iter().filter_map(|run| names.phases(run)).collect()
}
