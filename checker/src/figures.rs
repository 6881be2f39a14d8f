//! Every figure that a plan states of itself, worked out again.

use crate::book::{Book, Execution};
use crate::past::Past;
use crate::span::{Span, touched, union};
use platewright_model::instance::Shipment;
use platewright_model::plan::{Objective, Work};
use platewright_model::{Count, Instance, Instant, Minutes, Plan, WeightedMinutes};
use std::collections::HashMap;

/// The figures that follow from a plan's runs, tasks and allocation. Where the plan is damaged beyond counting they stop
/// at the ends of their types.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figures {
    /// One per shipment of the instance, in its order.
    pub shipments: Vec<ShipmentFigures>,
    /// From the farm's start to the last shipment's ready time.
    pub makespan: Minutes,
    /// Lateness times weight, over all shipments.
    pub late: WeightedMinutes,
    /// Minutes from the start to its last harvest's end in which a printer neither prints nor is down, over all printers
    /// with a run. Cooling is not printing.
    pub idle: Minutes,
    /// Parts made or in stock that no shipment takes.
    pub surplus_parts: Count,
    /// Runs, those from `running.csv` included.
    pub runs: Count,
    /// Minutes of all tasks.
    pub operator_minutes: Minutes,
    /// What the plan's objective minimises after lateness: the makespan or the idle minutes.
    pub value: Minutes,
}

/// The figures of one shipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShipmentFigures {
    /// The shipment's name.
    pub shipment: String,
    /// When the last of its parts is usable and the last of its boxes packed; at the soonest, the farm's start.
    pub ready: Instant,
    /// When it should be ready.
    pub due: Option<Instant>,
    /// How long after the due date it is ready; 0 where it is in time or has no due date.
    pub late: Minutes,
}

impl Figures {
    pub(crate) fn of(instance: &Instance, plan: &Plan, book: &Book, past: &Past) -> Figures {
        let start = instance.farm.start;
        let shipments = shipments(instance, book);
        let makespan = shipments.iter().map(|s| s.ready).max().unwrap_or(start) - start;
        let idle = idle(instance, book, past);
        Figures {
            makespan,
            late: late(&instance.shipments, &shipments),
            idle,
            surplus_parts: surplus(instance, book),
            runs: Count(plan.runs.len() as u64),
            operator_minutes: Minutes(narrow(book.duties.iter().map(|duty| i128::from(duty.minutes.0)).sum())),
            value: match plan.objective {
                Objective::Soonest => makespan,
                Objective::LeastIdle => idle,
            },
            shipments,
        }
    }
}

fn shipments(instance: &Instance, book: &Book) -> Vec<ShipmentFigures> {
    let mut ready = vec![instance.farm.start; instance.shipments.len()];
    for grant in &book.grants {
        if let (Some(shipment), Some(usable)) = (grant.shipment, book.usable(instance, grant)) {
            ready[shipment.index()] = ready[shipment.index()].max(usable);
        }
    }
    let packed = book.duties.iter().filter_map(|duty| match &duty.row.work {
        Work::Pack { shipment, .. } => Some((shipment.as_str(), duty.span.to)),
        _ => None,
    });
    let mut last_box: HashMap<&str, Instant> = HashMap::new();
    for (shipment, end) in packed {
        let last = last_box.entry(shipment).or_insert(end);
        *last = end.max(*last);
    }
    let figures = instance.shipments.iter().zip(ready).map(|(shipment, parts)| {
        let ready = last_box.get(shipment.name.as_str()).map_or(parts, |&end| parts.max(end));
        let late = shipment.due.map_or(Minutes::ZERO, |due| (ready - due).max(Minutes::ZERO));
        ShipmentFigures { shipment: shipment.name.clone(), ready, due: shipment.due, late }
    });
    figures.collect()
}

fn late(shipments: &[Shipment], figures: &[ShipmentFigures]) -> WeightedMinutes {
    let weighted = shipments.iter().zip(figures).map(|(s, f)| i128::from(f.late.0) * i128::from(s.weight.0));
    WeightedMinutes(narrow(weighted.sum()))
}

/// Idle minutes of all printers with a run.
fn idle(instance: &Instance, book: &Book, past: &Past) -> Minutes {
    let mut busy: Vec<Vec<Span>> = instance.printers.iter().map(|_| Vec::new()).collect();
    for down in &instance.downtime {
        busy[down.printer.index()].push(Span::new(down.from, down.to));
    }
    for (printer, span) in &past.down {
        busy[printer.index()].push(*span);
    }
    let idle = book.on_printer.iter().zip(busy).map(|(positions, mut busy)| {
        let runs = || positions.iter().filter_map(|&position| book.runs.get(position));
        let last = runs().map(|run| run.harvest.to).max().unwrap_or(instance.farm.start);
        busy.extend(runs().filter_map(|run: &Execution| run.print));
        let whole = Span::new(instance.farm.start, last);
        let used: Minutes = touched(&union(busy), whole).map(Span::minutes).sum();
        i128::from((whole.minutes() - used).0)
    });
    Minutes(narrow(idle.sum()))
}

fn surplus(instance: &Instance, book: &Book) -> Count {
    let stock = instance.stock.iter().map(|stock| i128::from(stock.quantity.0));
    let made = book.runs.iter().flat_map(|run| run.yields()).map(|(_, copies)| i128::from(copies.0));
    let taken = book.grants.iter().map(|grant| i128::from(grant.row.count.0));
    let left = stock.chain(made).sum::<i128>() - taken.sum::<i128>();
    Count(u64::try_from(left.max(0)).unwrap_or(u64::MAX))
}

/// The nearest figure that fits.
fn narrow(figure: i128) -> i64 {
    i64::try_from(figure).unwrap_or(if figure < 0 { i64::MIN } else { i64::MAX })
}
