//! Pushing others aside.
//!
//! Where fifty printers wait for two operators, the histories worth most are those that are served at once, all day long:
//! a printer that is loaded in the morning's first minutes, and again the moment each plate is ready, gets one more plate
//! into the day. Nearly every minute of an operator is taken by some printer that could as well be served later, so a
//! path through what is free does not find such a history. Here the path may take what others have, at a price for each
//! task. It is booked as it is found; whatever is in the way is taken out, for the printer in question alone or with the
//! rest of its day, and those printers then plan their gaps again. The whole is judged like any other move.

use super::Search;
use super::moves::Step;
use crate::problem::Min;
use crate::room::Length;
use crate::schedule::PlacedTask;
use rand::Rng;

/// The price of a task that is in the way lies between these, in thousandths of a printer minute; low ones more often.
const PRICE: (i64, i64) = (1_000, 400_000);
/// No more than so many runs are pushed aside for one task, and for one history.
const MOST_FOR_A_TASK: usize = 4;
const MOST: usize = 12;
/// What follows within so many minutes is taken out along with a run.
const ALONG: [Min; 4] = [0, 0, 720, 1440];

impl Search<'_> {
    /// One printer plans a window as if others made way; they do, and plan again.
    pub(super) fn push(&mut self, last: Min, before: i64, tolerance: i64) -> i64 {
        let machine = self.rng.random_range(0..self.floor.machines.len());
        let (from, to) = self.pick_window(last);
        let first = self.take_window(machine, from, to);
        let price = PRICE.0 + ((PRICE.1 - PRICE.0) as f64 * self.rng.random::<f64>().powi(2)) as i64;
        let whole = self.plan_pushing(machine, first, last, price).is_some_and(|mut pushed| {
            pushed.sort_unstable();
            pushed.dedup();
            pushed.into_iter().all(|m| self.close_gaps(m, last))
        });
        self.judge(whole, before, tolerance)
    }

    /// Books a path and takes out what is in its way; says which printers lost runs.
    fn plan_pushing(&mut self, machine: usize, first: usize, last: Min, price: i64) -> Option<Vec<usize>> {
        let legs = self.find(machine, first, first, last, Some(price))?;
        let mut pushed = Vec::new();
        for (at, leg) in legs.into_iter().enumerate() {
            for (length, from, to) in self.floor.tasks_of(&leg).collect::<Vec<_>>() {
                self.make_way(machine, length, (from, to), &mut pushed)?;
            }
            if !self.floor.book(machine, first + at, leg) {
                return None;
            }
            self.log.push(Step::Put(machine, first + at));
        }
        Some(pushed)
    }

    fn make_way(&mut self, machine: usize, length: Length, task: (Min, Min), pushed: &mut Vec<usize>) -> Option<()> {
        for _ in 0..MOST_FOR_A_TASK {
            if self.floor.room.can_start(length, task.0) {
                return Some(());
            }
            if pushed.len() >= MOST {
                return None;
            }
            let in_the_way = self.in_the_way(machine, task);
            if in_the_way.is_empty() {
                return None;
            }
            let (other, at) = in_the_way[self.rng.random_range(0..in_the_way.len())];
            let along = ALONG[self.rng.random_range(0..ALONG.len())];
            let until = self.floor.machines[other].runs[at].leg.harvest_to + along;
            self.take(other, at);
            while self.floor.machines[other].runs.get(at).is_some_and(|r| r.leg.harvest_to <= until) {
                self.take(other, at);
            }
            pushed.push(other);
        }
        self.floor.room.can_start(length, task.0).then_some(())
    }

    /// Runs of other printers, by printer and position, that keep operators who could do a task then.
    fn in_the_way(&self, machine: usize, (from, to): (Min, Min)) -> Vec<(usize, usize)> {
        let problem = self.floor.problem;
        let covers = |pool: usize| problem.pools[pool].from <= from && to <= problem.pools[pool].to;
        let meets = |t: &PlacedTask| t.from < to && from < t.to && covers(t.pool);
        let mut found = Vec::new();
        for (other, m) in self.floor.machines.iter().enumerate().filter(|m| m.0 != machine) {
            let first = m.runs.partition_point(|r| r.leg.harvest_to <= from);
            for (at, run) in m.runs.iter().enumerate().skip(first) {
                let Some(load) = &run.load else { continue };
                if load.from >= to {
                    break;
                }
                if load.from >= self.from && (meets(load) || meets(&run.harvest)) {
                    found.push((other, at));
                }
            }
        }
        found
    }

    /// Plans again every stretch in which a printer lost runs; false where it cannot do without them.
    fn close_gaps(&mut self, machine: usize, last: Min) -> bool {
        let lost_by = |step: &Step| match step {
            Step::Took(m, _, run) if *m == machine => Some(run.leg.harvest_from),
            _ => None,
        };
        let mut lost: Vec<Min> = self.log.iter().filter_map(lost_by).collect();
        lost.sort_unstable();
        lost.into_iter().rev().all(|minute| {
            let at = self.floor.machines[machine].runs.partition_point(|r| r.leg.harvest_from < minute);
            self.replan(machine, at, at, last).is_some()
        })
    }
}
