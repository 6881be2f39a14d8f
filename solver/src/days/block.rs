//! One cell on one day, as a problem of its own.
//!
//! Every place is a printer. On all days but the first a plate stands on it in the beginning, which gives nothing and is ready
//! at the place's carry. On all days but the last there is somebody for every printer beyond the night, to harvest what was
//! loaded before it, but only until the carry of the place that the printer takes next, and nothing is loaded there.

use crate::history::Leg;
use crate::problem::{Class, Min, Mode, OnPrinter, Order, Pool, Problem};

/// The time of a day, from its morning to the next one or to the end of all.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub(super) from: Min,
    pub(super) to: Min,
    pub(super) first: bool,
    pub(super) last: bool,
}

/// The shifts of a day: from, to and how many operators.
pub(super) fn shifts(cell: &Problem<'_>, span: Span) -> Vec<(Min, Min, usize)> {
    let within = cell.pools.iter().filter(|p| p.from >= span.from && p.from < span.to);
    within.map(|p| (p.from - span.from, p.to.min(span.to) - span.from, p.operators.len())).collect()
}

/// A leg of a day in minutes from the farm's start.
pub(super) fn moved(leg: &Leg, by: Min) -> Leg {
    Leg {
        mode: leg.mode,
        load_from: leg.load_from.map(|from| from + by),
        print_from: leg.print_from + by,
        ready: leg.ready + by,
        harvest_from: leg.harvest_from + by,
        harvest_to: leg.harvest_to + by,
    }
}

/// Copies of a part that are more than any block can make, and too many to ask what whole plates make of it.
const ENDLESS: i64 = 10_000_000;

/// Makes every printed minute a copy of one more part that no block has enough of, so that the search need not know of idle
/// minutes: of a printer's day between two carries, what is not printed is idle.
pub(super) fn counting_minutes(problem: &mut Problem<'_>, part: usize) {
    problem.finish.push(0);
    problem.stock.push(0);
    problem.modes.iter_mut().filter(|mode| !mode.yields.is_empty()).for_each(|mode| {
        mode.yields.push((part, i64::from(mode.print)));
    });
    let mut needs = std::mem::take(&mut problem.orders[0].needs);
    needs.push((part, ENDLESS));
    problem.orders = vec![Order::of(needs)];
}

/// The day's problem, in minutes from its morning: by place what the morning begins with and what it leaves to the next, and
/// the copies wanted of each part.
pub(super) fn problem<'a>(cell: &Problem<'a>, span: Span, carry: &[Min], leaves: &[Min], wants: &[i64]) -> Problem<'a> {
    let mut problem = cell.until(span.to);
    let day = span.to - span.from;
    let harvest = cell.modes.iter().map(|m| m.harvest).max().unwrap_or(0);
    let latest = leaves.iter().copied().max().unwrap_or(0);
    problem.horizon = if span.last { day } else { day + latest + harvest };
    let horizon = problem.horizon;
    if !span.last {
        // What the night's plates make is not asked for by a minute of this day.
        problem.finish.fill(0);
    }
    let held = problem.modes.len();
    let on_printer = cell.classes.first().and_then(|class| class.modes.first()).map(|&m| cell.modes[m].clone());
    problem.modes.extend(on_printer.map(|mode| Mode { yields: Vec::new(), harvest, ..mode }));
    problem.failure_rate.resize(problem.modes.len(), 0.0);
    let place = |class: &Class, at: usize| Class {
        printers: vec![class.printers[at]],
        running: (!span.first).then_some(OnPrinter { mode: held, ready: carry[at] }),
        loads_until: (!span.last).then_some(day),
        downtime: match day + leaves[at] + harvest {
            until if !span.last && until < horizon => vec![(until, horizon)],
            _ => Vec::new(),
        },
        ..class.clone()
    };
    problem.classes =
        cell.classes.iter().flat_map(|class| (0..class.printers.len()).map(|at| place(class, at))).collect();
    problem.pools.retain(|p| p.from >= span.from);
    for pool in &mut problem.pools {
        (pool.from, pool.to) = (pool.from - span.from, pool.to - span.from);
    }
    if let Some(crew) = problem.pools.first().map(|p| p.crew).filter(|_| !span.last) {
        let operators = (0..problem.classes.len() as u32).collect();
        problem.pools.push(Pool { crew, operators, from: day, to: horizon });
    }
    problem.nights.retain(|n| n.0 >= span.from);
    for night in &mut problem.nights {
        *night = (night.0 - span.from, night.1 - span.from);
    }
    let needs = wants.iter().copied().enumerate().filter(|w| w.1 > 0).collect();
    problem.orders = vec![Order::of(needs)];
    problem.stock.fill(0);
    problem
}
