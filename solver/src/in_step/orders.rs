//! Whether one printer more can be kept in step, by looking at all orders in which tasks can start in each round.
//!
//! Alike printers are harvested in the order in which they are ready and loaded in the order in which they were
//! harvested, operators are alike too, and each task starts as early as it can: an order of harvests and loads is all
//! there is to choose. Orders that leave printers ready no sooner than orders that failed before are not followed.

use super::InStep;
use crate::problem::Min;
use std::collections::BTreeSet;

/// Tasks looked at before the question is given up.
const MOST_TASKS: u64 = 200_000;

/// A round under way.
#[derive(Clone)]
struct Round<'r> {
    /// When each printer is ready, ascending, and how many have been harvested.
    ready: &'r [Min],
    harvested: usize,
    /// When each harvest was over, and how many of those printers have been loaded.
    empty: Vec<Min>,
    /// When each load was over.
    loaded: Vec<Min>,
    /// When operators are free.
    free: Vec<Min>,
    /// The last start.
    at: Min,
}

/// Orders looked at.
struct Search {
    /// By round, when printers were ready where it failed.
    failed: Vec<BTreeSet<Vec<Min>>>,
    tasks: u64,
}

impl InStep {
    /// Whether so many printers can be kept in step; none where that takes too long to find out.
    pub fn is_possible(&self, printers: usize) -> Option<bool> {
        let mut search = Search { failed: vec![BTreeSet::new(); self.rounds + 1], tasks: 0 };
        let possible = self.rounds_from(0, &vec![0; printers], &mut search);
        (possible || search.tasks <= MOST_TASKS).then_some(possible)
    }

    fn rounds_from(&self, round: usize, ready: &[Min], search: &mut Search) -> bool {
        if round == self.rounds {
            return self.harvests_in_time(ready);
        }
        search.tasks += search.failed[round].len() as u64;
        let no_sooner = |failed: &Vec<Min>| ready.iter().zip(failed).all(|(now, then)| now >= then);
        if search.failed[round].iter().any(no_sooner) {
            return false;
        }
        let begun =
            Round { ready, harvested: 0, empty: Vec::new(), loaded: Vec::new(), free: vec![0; self.operators], at: 0 };
        let possible = self.tasks_from(round, begun, search);
        if !possible {
            search.failed[round].insert(ready.to_vec());
        }
        possible
    }

    fn tasks_from(&self, round: usize, so_far: Round<'_>, search: &mut Search) -> bool {
        search.tasks += 1;
        if search.tasks > MOST_TASKS {
            return false;
        }
        if so_far.loaded.len() == so_far.ready.len() {
            let mut ready: Vec<Min> = so_far.loaded.iter().map(|x| x - self.harvest - self.load).collect();
            ready.sort_unstable();
            return self.rounds_from(round + 1, &ready, search);
        }
        let end = self.slack + self.harvest + self.load;
        let left = |done: usize, minutes: Min| (so_far.ready.len() - done) as Min * minutes;
        let work = left(so_far.harvested, self.harvest) + left(so_far.loaded.len(), self.load);
        if work > so_far.free.iter().map(|&free| (end - free.max(so_far.at)).max(0)).sum() {
            return false;
        }
        if let Some(&ready) = so_far.ready.get(so_far.harvested) {
            let mut next = so_far.clone();
            if let Some(over) = next.start(ready, self.harvest, self.slack) {
                next.harvested += 1;
                next.empty.push(over);
                if self.tasks_from(round, next, search) {
                    return true;
                }
            }
        }
        let Some(&empty) = so_far.empty.get(so_far.loaded.len()) else { return false };
        let mut next = so_far;
        match next.start(empty, self.load, self.slack + self.harvest) {
            Some(over) => {
                next.loaded.push(over);
                self.tasks_from(round, next, search)
            }
            None => false,
        }
    }

    /// Harvests of equal length, in the order in which plates are ready, are over as soon as they can be.
    fn harvests_in_time(&self, ready: &[Min]) -> bool {
        let mut free = vec![0; self.operators];
        ready.iter().all(|&ready| {
            let Some(next) = free.iter_mut().min() else { return false };
            let start = ready.max(*next);
            *next = start + self.harvest;
            start <= self.slack
        })
    }
}

impl Round<'_> {
    /// Starts a task as early as it can, no earlier than the one before and no later than `latest`; says when it is over.
    fn start(&mut self, from: Min, minutes: Min, latest: Min) -> Option<Min> {
        let start = from.max(self.at).max(*self.free.iter().min()?);
        // Who has been free for the shortest time: later tasks start no sooner, so it makes no difference to them.
        let who = self.free.iter_mut().filter(|free| **free <= start).max()?;
        *who = start + minutes;
        self.at = start;
        (start <= latest).then_some(start + minutes)
    }
}
