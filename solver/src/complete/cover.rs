//! What must be covered: for each part and set of shipments, in copies and in whole runs.
//!
//! Copies cannot come in fractions of a run. So for any whole number `k`, the runs to come must bring, each counted as
//! its copies over `k` rounded up, at least the open copies over `k` rounded up. With `k` the copies of the fullest
//! plate this counts runs.

use super::facts::Facts;
use super::goal::Goal;
use super::state::{Holds, State};
use super::timetable::Timetable;
use crate::problem::Min;

/// Pairs of one part.
pub(super) struct Group {
    pub part: usize,
    pub pairs: Vec<usize>,
    /// The last harvest end that serves any of them.
    pub until: Min,
    /// By epoch of the load: whether it serves any of them.
    pub serves: Vec<bool>,
}

/// One thing that must be covered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Row {
    pub group: usize,
    /// What copies are divided by.
    pub unit: i64,
}

/// All that must be covered.
pub(super) struct Cover {
    pub groups: Vec<Group>,
    pub rows: Vec<Row>,
}

impl Cover {
    pub(super) fn new(facts: &Facts<'_>, goal: &Goal) -> Cover {
        let mut groups: Vec<Group> = Vec::new();
        let mut rows = Vec::new();
        for (part, pairs) in facts.pairs_of_part.iter().enumerate().filter(|p| !p.1.is_empty()) {
            let latest = |p: usize| goal.usable_by[p] - facts.problem.finish[part];
            let mut sets = vec![pairs.clone()];
            if pairs.len() > 1 {
                sets.extend(pairs.iter().map(|&p| vec![p]));
            }
            let yields =
                facts.problem.classes.iter().flat_map(|c| &c.modes).flat_map(|&m| &facts.problem.modes[m].yields);
            let mut units: Vec<i64> = yields.filter(|y| y.0 == part && y.1 > 0).map(|y| y.1).chain([1]).collect();
            units.sort_unstable();
            units.dedup();
            for set in sets {
                let until = set.iter().map(|&p| latest(p)).max().unwrap_or(-1);
                let serves = facts.serves.iter().map(|s| set.iter().any(|&p| s[facts.pairs[p].order])).collect();
                rows.extend(units.iter().map(|&unit| Row { group: groups.len(), unit }));
                groups.push(Group { part, pairs: set, until, serves });
            }
        }
        Cover { groups, rows }
    }

    /// What a run of a mode, loaded in an epoch, counts in each row it counts in, if it is harvested in time.
    pub(super) fn counts(&self, facts: &Facts<'_>, mode: usize, epoch: usize) -> Vec<(usize, i64)> {
        let yields = &facts.problem.modes[mode].yields;
        let count = |(r, row): (usize, &Row)| {
            let group = &self.groups[row.group];
            let copies = yields.iter().find(|y| y.0 == group.part)?.1;
            let most: i64 = group.pairs.iter().map(|&p| i64::from(facts.pairs[p].need)).sum();
            let counted = (copies.min(most) + row.unit - 1) / row.unit;
            (group.serves[epoch] && counted > 0).then_some((r, counted))
        };
        self.rows.iter().enumerate().filter_map(count).collect()
    }

    /// What is still to be covered in each row once what is on the printers has been harvested.
    pub(super) fn open(&self, facts: &Facts<'_>, table: &Timetable, state: &State, open: &mut Vec<i64>) {
        open.clear();
        let mut group = usize::MAX;
        let mut copies = 0;
        for row in &self.rows {
            if row.group != group {
                group = row.group;
                copies = self.copies(facts, table, state, group);
            }
            open.push((copies.max(0) + row.unit - 1) / row.unit);
        }
    }

    fn copies(&self, facts: &Facts<'_>, table: &Timetable, state: &State, group: usize) -> i64 {
        let g = &self.groups[group];
        let mut copies: i64 = g.pairs.iter().map(|&p| i64::from(state.rest[p])).sum();
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let Holds::Run { mode, epoch, carrier: false } = Holds::of(spot.code) else { continue };
            if g.serves[epoch] && table.harvested(class, mode, spot.time) <= g.until {
                let yields = &facts.problem.modes[mode].yields;
                copies -= yields.iter().find(|y| y.0 == g.part).map_or(0, |y| y.1);
            }
        }
        copies
    }
}
