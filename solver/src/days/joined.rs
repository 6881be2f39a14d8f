//! The days of a table joined into what each printer does in the whole time.

use super::{Days, block};
use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::{Min, Problem};

impl Days<'_> {
    /// The table as a floor of the whole room.
    pub fn floor<'p>(&self, problem: &'p Problem<'p>, deadlines: &[Min]) -> Floor<'p> {
        let mut floor = Floor::new(problem, deadlines);
        let places = self.carry.len();
        for cell in 0..self.cells {
            for first in 0..places {
                for leg in self.history(cell, first) {
                    let machine = cell * places + first;
                    let at = floor.machines[machine].runs.len();
                    floor.book(machine, at, leg);
                }
            }
        }
        floor
    }

    /// What the printer does that begins at a place of a cell on the first day.
    fn history(&self, cell: usize, first: usize) -> Vec<Leg> {
        let mut place = first;
        let mut legs: Vec<Leg> = Vec::new();
        // A plate that is on the printer overnight, until the day after harvests it.
        let mut overnight: Option<Leg> = None;
        for day in 0..self.days.len() {
            let from = self.mornings[day];
            let last = day + 1 == self.days.len();
            let until = if last { Min::MAX } else { self.mornings[day + 1] };
            for leg in &self.block(day * self.cells + cell).histories[place] {
                let leg = block::moved(leg, from);
                if leg.load_from.is_none() {
                    legs.extend(overnight.take().map(|plate| {
                        let harvest = self.cell.modes[plate.mode].harvest;
                        Leg { harvest_from: leg.harvest_from, harvest_to: leg.harvest_from + harvest, ..plate }
                    }));
                } else if leg.harvest_from < until {
                    legs.push(leg);
                } else {
                    overnight = Some(leg);
                }
            }
            place = self.turn.next(place, self.carry.len());
        }
        legs
    }
}
