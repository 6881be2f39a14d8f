//! Moves: runs taken out of a window, and longest paths put in their place.

use super::Search;
use crate::floor::Booked;
use crate::problem::Min;
use rand::Rng;

/// A change of the floor.
#[derive(Debug, Clone, Copy)]
pub(super) enum Step {
    /// A run was taken from a printer's position.
    Took(usize, usize, Booked),
    /// One was put there.
    Put(usize, usize),
}

impl Search<'_> {
    /// One to three printers plan a window again; says what stands against the floor afterwards.
    pub(super) fn plan_again(&mut self, last: Min, before: i64, tolerance: i64) -> i64 {
        let (whole, log) = self.move_some(last);
        self.log = log;
        self.judge(whole, before, tolerance)
    }

    /// One to three printers plan a window again; says whether that is whole, and what was done.
    pub(super) fn move_some(&mut self, last: Min) -> (bool, Vec<Step>) {
        let machines = self.floor.machines.len();
        let count = [1, 1, 2, 2, 3][self.rng.random_range(0..5)].min(machines);
        let (from, to) = self.pick_window(last);
        let mut taken: Vec<(usize, usize)> = Vec::with_capacity(count);
        for _ in 0..count {
            let machine = self.rng.random_range(0..machines);
            if taken.iter().any(|t| t.0 == machine) {
                continue;
            }
            taken.push((machine, self.take_window(machine, from, to)));
        }
        let whole = taken.iter().all(|&(machine, first)| self.replan(machine, first, first, last).is_some());
        (whole, std::mem::take(&mut self.log))
    }

    /// Takes a printer's runs of a window out, and says from which position on.
    pub(super) fn take_window(&mut self, machine: usize, from: Min, to: Min) -> usize {
        let runs = &self.floor.machines[machine].runs;
        let first = runs
            .partition_point(|r| r.leg.load_from.is_some_and(|l| l < from) || r.leg.load_from.is_none() && from > 0);
        // What has stood on the printer since the start can be harvested at another time, but not taken away. A window
        // from the start on takes it along, however late it is harvested: the path that follows harvests it again.
        let held = usize::from(first == 0 && runs.first().is_some_and(|r| r.leg.load_from.is_none()));
        let end = runs.partition_point(|r| r.leg.harvest_to <= to).max(first + held);
        for _ in first..end {
            self.take(machine, first);
        }
        first
    }

    /// Takes one run out.
    pub(super) fn take(&mut self, machine: usize, at: usize) {
        let run = self.floor.unbook(machine, at);
        self.log.push(Step::Took(machine, at, run));
    }

    /// Keeps what was done since the last judgement where it is whole and good enough, else undoes it.
    pub(super) fn judge(&mut self, whole: bool, before: i64, tolerance: i64) -> i64 {
        let log = std::mem::take(&mut self.log);
        self.recount(&log);
        let after = self.cost();
        if whole && after <= before + tolerance {
            return after;
        }
        self.undo(&log);
        before
    }

    /// Takes steps back.
    pub(super) fn undo(&mut self, log: &[Step]) {
        for step in log.iter().rev() {
            match *step {
                Step::Took(machine, at, run) => self.floor.rebook(machine, at, run),
                Step::Put(machine, at) => {
                    self.floor.unbook(machine, at);
                }
            }
        }
        self.recount(log);
    }

    fn recount(&mut self, log: &[Step]) {
        for step in log {
            let (Step::Took(machine, ..) | Step::Put(machine, ..)) = *step;
            self.recount_idle(machine);
        }
    }

    pub(super) fn pick_window(&mut self, last: Min) -> (Min, Min) {
        let first = self.from;
        match self.rng.random_range(0..self.windows) {
            0 => (first, last),
            1 | 2 => (self.rng.random_range(first..last.max(first + 1)), last),
            _ => {
                let length = self.rng.random_range(720..4 * 1440);
                let from = self.rng.random_range(first - length / 2..last.max(first + 1)).max(first);
                (from, (from + length).min(last))
            }
        }
    }
}
