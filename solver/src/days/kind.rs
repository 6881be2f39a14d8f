//! Blocks, and the kinds of days that they are for.

use super::block::Span;
use crate::columns::prices::IDLE_UNIT;
use crate::history::Leg;
use crate::problem::{Min, Problem};

/// The runs of a block by place, in minutes of its day, and what comes of them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block {
    pub histories: Vec<Vec<Leg>>,
    /// Copies of each part.
    pub made: Vec<i64>,
    /// Printer minutes in which nothing is printed.
    pub idle: i64,
}

impl Block {
    /// A block of histories. A place's time begins with what was carried into it, and ends with what it leaves to the next day
    /// or, where that is none, with its last harvest.
    pub fn of(
        cell: &Problem<'_>,
        histories: Vec<Vec<Leg>>,
        parts: usize,
        carried: &dyn Fn(usize) -> Min,
        until: &dyn Fn(usize) -> Option<Min>,
    ) -> Block {
        let mut made = vec![0; parts];
        let mut idle = 0;
        for (place, legs) in histories.iter().enumerate() {
            let end = until(place).or(legs.last().map(|leg| leg.harvest_to));
            idle += i64::from(end.map_or(0, |end| end - carried(place)));
            for leg in legs.iter().filter(|leg| leg.load_from.is_some()) {
                let mode = &cell.modes[leg.mode];
                idle -= i64::from(mode.print);
                mode.yields.iter().for_each(|&(part, copies)| made[part] += copies);
            }
        }
        Block { histories, made, idle }
    }

    /// What idle minutes cost, in thousandths of one; nothing where they do not count.
    pub fn idle_cost(&self, counts: bool) -> i64 {
        if counts { IDLE_UNIT * self.idle } else { 0 }
    }
}

/// Days that are the same problem.
pub(super) struct Kind {
    pub span: Span,
    pub shifts: Vec<(Min, Min, usize)>,
    /// Every block found for them.
    pub blocks: Vec<Block>,
}

impl Kind {
    /// The block that is worth most at a price for each part, in thousandths of a minute; `idle`: where idle minutes count.
    pub fn dearest(&self, price: &[i64], idle: bool) -> Option<&Block> {
        let worth = |block: &&Block| {
            let made: i64 = block.made.iter().zip(price).map(|(made, price)| made * price).sum();
            made - block.idle_cost(idle)
        };
        self.blocks.iter().max_by_key(worth)
    }
}
