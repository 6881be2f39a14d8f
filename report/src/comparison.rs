//! Scenarios side by side: what each promises, takes and costs, what it buys against the first, and which of them none
//! should choose.
//!
//! One scenario is *beaten* by another that ships the same, is no later past due, has its last shipment ready no later
//! and costs no more, and is better in one of the three. Where the farm states no costs, crew hours on shift stand in
//! for them.

mod page;
mod table;
mod trade;

pub(crate) use page::late;
pub use page::page;
pub use table::csv;
pub use trade::trade;

use crate::costs::{CostSheet, cost_sheet};
use crate::hours::{Split, printer_hours};
use crate::shipments::{Standing, standings};
use crate::watch::{CrewTime, crew_time};
use platewright_model::{Instance, Instant, Minutes, Plan, WeightedMinutes};

/// A scenario with what came of planning it.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// What it is about, in the planner's words.
    pub about: Option<String>,
    /// The farm as it would be.
    pub instance: Instance,
    /// The plan, or why there is none.
    pub outcome: Result<Plan, Vec<String>>,
}

/// The figures of a planned scenario.
#[derive(Debug, Clone)]
pub struct Figures {
    /// Every shipment's promise.
    pub standings: Vec<Standing>,
    /// When the last of them is ready.
    pub ready: Instant,
    /// From the start to then.
    pub makespan: Minutes,
    /// Weighted lateness over all shipments.
    pub late: WeightedMinutes,
    /// Printer minutes by what they were spent on.
    pub hours: Split,
    /// Operator minutes.
    pub crew: CrewTime,
    /// What it costs, where the farm says.
    pub costs: Option<CostSheet>,
}

impl Entry {
    /// The figures, where there is a plan.
    pub fn figures(&self) -> Option<Figures> {
        let plan = self.outcome.as_ref().ok()?;
        let ready = plan.shipments.iter().map(|s| s.ready).max().unwrap_or(self.instance.farm.start);
        Some(Figures {
            standings: standings(plan),
            ready,
            makespan: ready - self.instance.farm.start,
            late: plan.claims.late,
            hours: printer_hours(&self.instance, plan).total,
            crew: crew_time(&self.instance, plan),
            costs: cost_sheet(&self.instance, plan),
        })
    }
}

/// Scenarios with their figures, the first of which the others are held against.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The scenarios, at least one.
    pub entries: Vec<Entry>,
    /// The figures of each.
    pub figures: Vec<Option<Figures>>,
}

impl Comparison {
    /// Reckons the figures of all.
    pub fn new(entries: Vec<Entry>) -> Comparison {
        let figures = entries.iter().map(Entry::figures).collect();
        Comparison { entries, figures }
    }

    /// The scenarios with their figures.
    fn planned(&self) -> impl Iterator<Item = (&Entry, &Figures)> {
        self.entries.iter().zip(&self.figures).filter_map(|(entry, figures)| Some((entry, figures.as_ref()?)))
    }

    /// The first scenario that beats this one and is itself beaten by none, where one beats this.
    pub fn beaten_by(&self, at: usize) -> Option<&Entry> {
        // Being better in one of three and worse in none is a partial order, so some rival is beaten by none.
        let unbeaten = |&rival: &usize| !(0..self.entries.len()).any(|other| self.beats(other, rival));
        let rival = (0..self.entries.len()).filter(|&rival| self.beats(rival, at)).find(unbeaten)?;
        self.entries.get(rival)
    }

    fn beats(&self, one: usize, other: usize) -> bool {
        let of = |at: usize| self.entries.get(at).zip(self.figures.get(at)?.as_ref());
        let (Some((rival, its)), Some((entry, figures))) = (of(one), of(other)) else { return false };
        its.beats(figures) && same_orders(&rival.instance, &entry.instance)
    }
}

impl Figures {
    fn beats(&self, other: &Figures) -> bool {
        let Some(dearer) = self.dearer(other) else { return false };
        let worse = [self.late.cmp(&other.late), self.ready.cmp(&other.ready), dearer];
        worse.iter().all(|c| c.is_le()) && worse.iter().any(|c| c.is_lt())
    }

    /// How the cost compares; nothing where it cannot be compared.
    fn dearer(&self, other: &Figures) -> Option<std::cmp::Ordering> {
        match (&self.costs, &other.costs) {
            (Some(mine), Some(its)) => (mine.currency == its.currency).then(|| mine.total().cmp(&its.total())),
            (None, None) => Some(self.crew.paid.all.cmp(&other.crew.paid.all)),
            _ => None,
        }
    }
}

/// Whether two farms ship the same.
fn same_orders(one: &Instance, other: &Instance) -> bool {
    let orders = |instance: &Instance| -> Vec<(String, Vec<(String, u64)>)> {
        let kit = |line: &platewright_model::instance::ShipmentLine| {
            let name = instance.kits.get(line.kit.index()).map(|kit| kit.name.clone());
            (name.unwrap_or_default(), line.quantity.0)
        };
        let mut orders: Vec<_> =
            instance.shipments.iter().map(|s| (s.name.clone(), s.lines.iter().map(kit).collect())).collect();
        orders.sort();
        orders
    };
    orders(one) == orders(other)
}

#[cfg(test)]
mod tests;
