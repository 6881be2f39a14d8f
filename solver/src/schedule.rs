//! A complete schedule in the solver's own terms: every engine's result, before it is given names.

use crate::problem::{Min, Problem};

/// A stretch of one operator's work, by pool; which operator of the pool is decided when names are given, and can
/// always be, since no more tasks of a pool overlap than it has operators.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlacedTask {
    /// Index into [`Problem::pools`].
    pub pool: usize,
    /// Start.
    pub from: Min,
    /// End.
    pub to: Min,
}

/// A run on a printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlacedRun {
    /// Index into [`Problem::classes`].
    pub class: usize,
    /// Which printer: a position in the class's `printers`.
    pub slot: usize,
    /// Index into [`Problem::modes`].
    pub mode: usize,
    /// The load with its changeover; none for what was on the printer at the start.
    pub load: Option<PlacedTask>,
    /// Printed and cooled.
    pub ready: Min,
    /// The harvest.
    pub harvest: PlacedTask,
}

/// Parts given to a shipment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Give {
    /// Position in [`Schedule::runs`], or none for stock.
    pub run: Option<usize>,
    /// Part index.
    pub part: usize,
    /// Shipment index.
    pub order: usize,
    /// How many go into the shipment.
    pub count: i64,
    /// How many more are kept for it.
    pub spare: i64,
}

/// A packed box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PackedBox {
    /// Shipment index.
    pub order: usize,
    /// Position in that order's `boxes` (which line it belongs to).
    pub boxes: usize,
    /// The packing.
    pub task: PlacedTask,
}

/// Runs, who gets what, and the boxes. The runs that were on printers at the start are all in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Schedule {
    /// In any order.
    pub runs: Vec<PlacedRun>,
    /// In any order; meets every need exactly.
    pub gives: Vec<Give>,
    /// In any order.
    pub boxes: Vec<PackedBox>,
}

/// What a schedule is judged by, in the order of the objective `soonest`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Merit {
    /// Weighted lateness in thousandths.
    pub late: i64,
    /// Makespan, or idle printer minutes where those are minimised.
    pub value: i64,
    /// Sum of ready times.
    pub ready_sum: i64,
    /// Number of runs.
    pub runs: i64,
}

impl Schedule {
    /// When each shipment is ready.
    pub fn ready_times(&self, problem: &Problem) -> Vec<Min> {
        let mut ready = vec![0; problem.orders.len()];
        for give in &self.gives {
            if let Some(run) = give.run {
                let usable = self.runs[run].harvest.to + problem.finish[give.part];
                ready[give.order] = ready[give.order].max(usable);
            }
        }
        for packed in &self.boxes {
            ready[packed.order] = ready[packed.order].max(packed.task.to);
        }
        ready
    }

    /// By shipment, the boxes that are packed after a deadline.
    pub fn packed_late(&self, deadlines: &[Min]) -> Vec<i64> {
        let mut late = vec![0; deadlines.len()];
        let after = self.boxes.iter().filter(|packed| packed.task.to > deadlines[packed.order]);
        after.for_each(|packed| late[packed.order] += 1);
        late
    }

    /// Idle printer minutes: from the start to each used printer's last harvest end, less printing and downtime.
    pub fn idle_minutes(&self, problem: &Problem) -> i64 {
        let mut last = std::collections::BTreeMap::<(usize, usize), (Min, i64)>::new();
        for run in &self.runs {
            let printed = i64::from(problem.printed(run.class, run.mode, run.load.is_some(), run.ready));
            let entry = last.entry((run.class, run.slot)).or_insert((0, 0));
            entry.0 = entry.0.max(run.harvest.to);
            entry.1 += printed;
        }
        last.iter()
            .map(|(&(class, _), &(end, printed))| {
                let down: i64 =
                    problem.classes[class].downtime.iter().map(|d| i64::from((d.1.min(end) - d.0).max(0))).sum();
                i64::from(end) - printed - down
            })
            .sum()
    }

    /// The merit, with the makespan or the idle minutes as its value.
    pub fn merit(&self, problem: &Problem, least_idle: bool) -> Merit {
        let ready = self.ready_times(problem);
        let late = |(order, &at): (&crate::problem::Order, &Min)| {
            order.due.map_or(0, |due| i64::from((at - due).max(0)) * order.weight)
        };
        Merit {
            late: problem.orders.iter().zip(&ready).map(late).sum(),
            value: if least_idle {
                self.idle_minutes(problem)
            } else {
                i64::from(ready.iter().copied().max().unwrap_or(0))
            },
            ready_sum: ready.iter().map(|&r| i64::from(r)).sum(),
            runs: self.runs.len() as i64,
        }
    }
}
