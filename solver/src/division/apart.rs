//! Printers set apart: their histories are known, and the cells share what they leave.
//!
//! A cell then has its part of the other printers, as many operators in each minute as are free there for every cell, and
//! its part of what is still needed. Needs are cut to whole plates, because a cell that rounds every part up does more than
//! its share of all: what a part loses by that is asked for in the next one, in printer minutes, down to the parts that come
//! fewest to a plate. What is left over, by a plate or so of each part, is made by the printers that are in no cell.

use super::Division;
use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::{Min, Pool, Problem};

impl<'a> Division<'a> {
    /// The same division of what histories of the last printers of the only class leave up to a minute; none where not all of
    /// them can be followed, or nothing is left.
    pub fn beside(&self, whole: &Problem<'a>, histories: Vec<Vec<Leg>>, until: Min) -> Option<Division<'a>> {
        let [class] = whole.classes.as_slice() else { return None };
        let others = class.printers.len().checked_sub(histories.len())?;
        let mut division = Division { cells: self.cells, cell: self.cell.clone(), pools: Vec::new(), apart: histories };
        let mut floor = Floor::new(whole, &vec![whole.horizon; whole.orders.len()]);
        if !division.book_apart(&mut floor) || others < self.cells {
            return None;
        }
        let printers = others / self.cells;
        division.cell.classes[0].printers.truncate(printers);
        let pools = free_pools(&self.cell, whole, &floor, self.cells);
        (division.pools, division.cell.pools) = pools.into_iter().unzip();
        // Who is apart for a while only takes part in what the others do for the rest of the time.
        let rest = |legs: &Vec<Leg>| f64::from(until - legs.last().map_or(0, |leg| leg.harvest_to.min(until)));
        let of_apart: f64 = division.apart.iter().map(rest).sum::<f64>() / f64::from(until.max(1));
        let share = printers as f64 / (others as f64 + of_apart);
        share_needs(&mut division.cell, whole, &floor, share);
        Some(division)
    }

    /// Books what is apart on the last printers of a floor; whether there are operators for all of it.
    pub(super) fn book_apart(&self, floor: &mut Floor<'_>) -> bool {
        let mut all = true;
        for (legs, machine) in self.apart.iter().zip((0..floor.machines.len()).rev()) {
            for &leg in legs {
                let at = floor.machines[machine].runs.len();
                all &= floor.book(machine, at, leg);
            }
        }
        all
    }
}

/// Stretches in which one operator more is free in each cell, with the pool of the whole that they are of.
fn free_pools(cell: &Problem<'_>, whole: &Problem<'_>, floor: &Floor<'_>, cells: usize) -> Vec<(usize, Pool)> {
    let mut busy: Vec<Vec<usize>> = whole.pools.iter().map(|p| vec![0; (p.to - p.from) as usize]).collect();
    for task in floor.tasks() {
        let from = whole.pools[task.pool].from;
        busy[task.pool][(task.from - from) as usize..(task.to - from) as usize].iter_mut().for_each(|n| *n += 1);
    }
    let mut pools = Vec::new();
    for (index, (pool, busy)) in cell.pools.iter().zip(&busy).enumerate() {
        let all = whole.pools[index].operators.len();
        for (before, &operator) in pool.operators.iter().enumerate() {
            let is_free = |minute: Min| (all - busy[(minute - pool.from) as usize]) / cells > before;
            let mut at = pool.from;
            while let Some(from) = (at..pool.to).find(|&m| is_free(m)) {
                at = (from..pool.to).find(|&m| !is_free(m)).unwrap_or(pool.to);
                pools.push((index, Pool { crew: pool.crew, operators: vec![operator], from, to: at }));
            }
        }
    }
    pools.sort_by_key(|(_, pool)| (pool.from, pool.to, pool.operators[0]));
    pools
}

/// Gives a cell its share of what a floor lacks, in whole plates.
fn share_needs(cell: &mut Problem<'_>, whole: &Problem<'_>, floor: &Floor<'_>, share: f64) {
    // The most copies of a part on a plate, and the minutes of that plate.
    let fullest = |part: usize| {
        let of = |&mode: &usize| {
            let m = &whole.modes[mode];
            let copies = m.yields.iter().find(|y| y.0 == part)?.1;
            Some((copies, f64::from(m.load + m.to_ready() + m.harvest)))
        };
        whole.classes[0].modes.iter().filter_map(of).max_by_key(|plate| plate.0)
    };
    let mut parts: Vec<(usize, (i64, f64))> =
        (0..whole.finish.len()).filter_map(|part| Some((part, fullest(part)?))).collect();
    parts.sort_by_key(|(part, plate)| (std::cmp::Reverse(plate.0), *part));
    for (order, of_whole) in cell.orders.iter_mut().zip(&whole.orders) {
        let mut lost = 0.0;
        let mut needs = Vec::new();
        for &(part, (copies, minutes)) in &parts {
            let Some(&(_, wanted)) = of_whole.aims.iter().find(|aim| aim.0 == part) else { continue };
            let missing = floor.demand.missing(part) as f64 / floor.demand.needed(part).max(1) as f64;
            let plates = wanted as f64 * missing * share / copies as f64 + lost / minutes;
            lost = plates.fract() * minutes;
            needs.push((part, plates as i64 * copies));
        }
        needs.retain(|need| need.1 > 0);
        needs.sort_unstable();
        (order.needs, order.aims, order.least) = (needs.clone(), needs.clone(), needs);
    }
}
