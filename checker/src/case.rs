//! Everything a rule may look at: the tables, the plan, and what the checker worked out of each.

use crate::book::{Book, Names};
use crate::demand::Demand;
use crate::figures::Figures;
use crate::past::Past;
use crate::roster::Roster;
use crate::span::Span;
use crate::wall;
use platewright_model::instance::{PartId, PrinterId, ShipmentLine};
use platewright_model::{Instance, Instant, Plan};

/// The instance and the plan, ready to be judged.
#[derive(Debug)]
pub(crate) struct Case<'a> {
    pub instance: &'a Instance,
    pub plan: &'a Plan,
    /// From the farm's start to the horizon's end.
    pub reach: Span,
    /// What the log says of the time before the plan's own.
    pub past: Past<'a>,
    pub names: Names<'a>,
    pub roster: Roster,
    pub demand: Demand,
    pub book: Book<'a>,
    pub figures: Figures,
}

impl<'a> Case<'a> {
    pub fn open(instance: &'a Instance, plan: &'a Plan) -> Case<'a> {
        let reach = Span::new(instance.farm.start, instance.farm.horizon_end());
        let names = Names::of(instance);
        let past = Past::of(instance, plan);
        let roster = Roster::lay_out(instance, reach, &past.absent);
        let demand = Demand::of(instance);
        let book = Book::of(instance, plan, &names, &roster, &past);
        let figures = Figures::of(instance, plan, &book, &past);
        Case { instance, plan, reach, past, names, roster, demand, book, figures }
    }

    /// A moment, in words.
    pub fn at(&self, moment: Instant) -> String {
        wall::show(self.instance.farm.clock.zone(), moment)
    }

    /// A stretch, in words.
    pub fn during(&self, span: Span) -> String {
        wall::show_span(self.instance.farm.clock.zone(), span.from, span.to)
    }

    pub fn part(&self, part: PartId) -> &'a str {
        &self.instance.parts[part.index()].name
    }

    pub fn printer(&self, printer: PrinterId) -> &'a str {
        &self.instance.printers[printer.index()].name
    }

    /// Whether the boxes of a shipment's row take an operator.
    pub fn packs(&self, line: &ShipmentLine) -> bool {
        self.instance.farm.handling.pack_box.0 > 0 && line.per_box.is_some()
    }
}
