//! A plan as a table of days, each of them searched by itself.
//!
//! In a room of alike printers a week is a day that recurs: at the end of a shift every printer is loaded for the night, and
//! in the morning every printer is ready or soon will be. A search of the whole time pays for whole histories and finds the
//! same day a dozen times, each time a little worse than it could be; one day of one operator's share of the printers is
//! searched far better for a hundredth of the work. So the room is divided twice: by operators into alike cells, and by nights
//! into days. What is left is a table with a *block* for each cell and day, and two things tie blocks together:
//!
//! * **The morning.** A printer has a *place* in its cell for a day, and each place a minute, its *carry*: a plate loaded before
//!   the night is ready so long after the next morning's beginning at the latest, and the next day harvests it no sooner. With
//!   that, any day follows any other. How many printers print into the morning, and how long, is taken from the relaxation's
//!   columns ([`carry`]). Printers change places overnight ([`Turn`]): who began late in the morning ends early in the evening.
//! * **The needs.** They are the whole plan's. Blocks are searched one after the other, each beginning as the block before it
//!   ended, and each asked for what its share of the time still lacks, so that what one day makes too little of the next makes
//!   up for. Once all blocks are there, each is searched again, in turn, for what all others leave missing: a sweep never raises
//!   the shortage.
//!
//! The last day ends with the aim, and one that would be short is one with the day before. A block is a problem of its own
//! ([`block`]), searched like any other by [`crate::improve`]; nothing here is believed: the table becomes a floor of the
//! whole room, on which the search goes on and what does not fit is left out.

mod block;
mod carry;

use crate::columns::master::Column;
use crate::division;
use crate::floor::{Floor, Machine};
use crate::history::Leg;
use crate::improve::{Gait, Search};
use crate::mix;
use crate::problem::{Min, Problem};
use crate::whole::greatest_common_divisor;
use block::Span;
pub use carry::Turn;

/// A cell has at least so many printers.
const CELL_PRINTERS: usize = 12;
/// There are at least so many days.
const DAYS: usize = 3;
/// The last day has at least so many minutes.
const LAST_DAY: Min = 720;
/// Steps of longest paths for a block that begins empty, for one that begins as another, and for each in a sweep.
const FIRST: u64 = 50_000_000;
const NEXT: u64 = 20_000_000;
const SWEEP: u64 = 5_000_000;
/// What the first blocks are asked for beyond their share of the needs, in thousandths: none makes all that it is asked for.
const BEYOND: i128 = 10;
/// How much dearer, in thousandths, a copy is for each day by which its part has fallen behind, and up to how many days.
const BEHIND: f64 = 10.0;
const BEHIND_DAYS: f64 = 3.0;

/// How a block begins that is searched again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Begin {
    /// As it is.
    AsItIs,
    /// As another block of a day with the same shifts.
    AsAnother,
}

impl Begin {
    /// The other way.
    pub fn other(self) -> Begin {
        match self {
            Begin::AsItIs => Begin::AsAnother,
            Begin::AsAnother => Begin::AsItIs,
        }
    }
}

/// The runs of a block by place, in minutes of its day, and the copies they make.
#[derive(Debug, Clone)]
struct Block {
    histories: Vec<Vec<Leg>>,
    made: Vec<i64>,
    /// Whether it was searched for another end.
    stale: bool,
}

/// The table.
pub struct Days<'a> {
    /// One cell for the whole time.
    cell: Problem<'a>,
    cells: usize,
    turn: Turn,
    /// By place.
    carry: Vec<Min>,
    price: Vec<i64>,
    /// Copies of each part beyond stock.
    needs: Vec<i64>,
    /// When each day begins, whether the table reaches to it or not.
    mornings: Vec<Min>,
    /// What all has to be there by.
    end: Min,
    /// Day by day, a block of each cell.
    blocks: Vec<Option<Block>>,
    seed: u64,
    searches: u64,
    work: u64,
}

impl<'a> Days<'a> {
    /// A table for an instance, with the columns of its relaxation, still without days; `None` where too few days lie before
    /// the earliest end that it will be asked for, or more ties the days together than it knows of: printers that differ,
    /// changeovers, downtime, boxes, releases, limits on nights.
    pub fn new(
        problem: &Problem<'a>,
        earliest: Min,
        columns: &[(Column, f64)],
        price: &[i64],
        turn: Turn,
        seed: u64,
    ) -> Option<Days<'a>> {
        let [class] = problem.classes.as_slice() else { return None };
        let unlimited = problem.night_printers.is_none() && problem.night_minutes.is_none();
        let alike = class.running.is_none() && class.downtime.is_empty();
        let one_material = problem.materials <= 1 || problem.changeover == 0;
        let open = problem.orders.iter().all(|o| o.boxes.is_empty() && o.release <= 0 && o.after.is_none());
        let mornings = mornings(problem);
        if !(unlimited && alike && one_material && open) || days_until(&mornings, earliest) < DAYS {
            return None;
        }
        let printers = class.printers.len();
        let staff = problem.pools.iter().map(|p| p.operators.len() as i64).fold(0, greatest_common_divisor) as usize;
        let cells = (1..=staff).rev().find(|&c| staff.is_multiple_of(c) && printers / c >= CELL_PRINTERS)?;
        let needs = mix::total_needs(problem).iter().zip(&problem.stock).map(|(n, s)| (n - s).max(0)).collect();
        let carry = carry::from_columns(columns, &mornings, printers, printers / cells);
        Some(Days {
            cell: division::cell(problem, cells),
            cells,
            turn,
            carry,
            price: price.to_vec(),
            needs,
            mornings,
            end: 0,
            blocks: Vec::new(),
            seed,
            searches: 0,
            work: 0,
        })
    }

    /// Steps of longest paths done so far.
    pub fn work(&self) -> u64 {
        self.work
    }

    /// The copies missing, at the table's prices.
    pub fn shortage(&self) -> i64 {
        self.lacks(&self.needs, &self.made())
    }

    /// The share of all needs that is missing.
    pub fn missing(&self) -> f64 {
        let worth = self.lacks(&self.needs, &vec![0; self.needs.len()]);
        self.shortage() as f64 / worth.max(1) as f64
    }

    fn lacks(&self, wants: &[i64], made: &[i64]) -> i64 {
        wants.iter().zip(made).zip(&self.price).map(|((want, made), price)| (want - made).max(0) * price).sum()
    }

    /// Has everything ready by a minute: the last day is searched for it, and days that are not there yet are made. False
    /// where there are too few days, or `stop` says so; the table is then of no use.
    pub fn aim(&mut self, end: Min, stop: &dyn Fn() -> bool) -> bool {
        let before = self.days();
        self.end = end;
        let days = days_until(&self.mornings, end);
        if days < DAYS {
            return false;
        }
        if days != before {
            // The last day of before is none of those now, and the last of now was none before.
            self.blocks.truncate(self.cells * (days.min(before).max(1) - 1));
        } else {
            self.blocks[self.cells * (days - 1)..].iter_mut().flatten().for_each(|block| block.stale = true);
        }
        self.blocks.resize(self.cells * days, None);
        // The first and the last day are like no other: those in between settle what these have to make.
        for day in (1..days - 1).chain([0, days - 1]) {
            for cell in 0..self.cells {
                let at = day * self.cells + cell;
                if self.blocks[at].as_ref().is_none_or(|b| b.stale) {
                    if stop() {
                        return false;
                    }
                    self.make(at);
                }
            }
        }
        true
    }

    /// Searches every block again for what the others leave missing, beginning as it is or as another of its kind.
    pub fn sweep(&mut self, begin: Begin, stop: &dyn Fn() -> bool) {
        for at in 0..self.blocks.len() {
            if self.shortage() == 0 || stop() {
                return;
            }
            let Some(block) = self.blocks[at].take() else { continue };
            let made = self.made();
            let wants: Vec<i64> = self.needs.iter().zip(&made).map(|(n, m)| (n - m).max(0)).collect();
            let from = match begin {
                Begin::AsItIs => Some(&block),
                Begin::AsAnother => {
                    let of_kind: Vec<usize> = (0..self.blocks.len()).filter(|&b| self.same_kind(at, b)).collect();
                    let any = self.seed.wrapping_add(self.searches) as usize % of_kind.len().max(1);
                    of_kind.get(any).and_then(|&b| self.blocks[b].as_ref())
                }
            };
            let found = from.map(|from| from.histories.clone());
            let found = found.map(|from| self.searched(at, &from, &wants, self.price.clone(), SWEEP));
            let better = found.filter(|found| self.lacks(&wants, &found.made) <= self.lacks(&wants, &block.made));
            self.blocks[at] = Some(better.unwrap_or(block));
        }
    }

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
        for (day, blocks) in self.blocks.chunks(self.cells).enumerate() {
            let span = self.span(day);
            for leg in blocks[cell].iter().flat_map(|block| &block.histories[place]) {
                let leg = block::moved(leg, span.from);
                if leg.load_from.is_none() {
                    legs.extend(overnight.take().map(|plate| {
                        let harvest = self.cell.modes[plate.mode].harvest;
                        Leg { harvest_from: leg.harvest_from, harvest_to: leg.harvest_from + harvest, ..plate }
                    }));
                } else if leg.harvest_from < span.to || span.last {
                    legs.push(leg);
                } else {
                    overnight = Some(leg);
                }
            }
            place = self.turn.next(place, self.carry.len());
        }
        legs
    }

    fn days(&self) -> usize {
        self.blocks.len() / self.cells
    }

    fn span(&self, day: usize) -> Span {
        let days = self.days();
        let last = day + 1 == days;
        Span {
            from: self.mornings[day],
            to: if last { self.end } else { self.mornings[day + 1] },
            first: day == 0,
            last,
        }
    }

    /// Do two blocks of the table lie in days with the same shifts?
    fn same_kind(&self, one: usize, other: usize) -> bool {
        let kind = |at: usize| {
            let span = self.span(at / self.cells);
            (span.first, span.last, span.to - span.from, block::shifts(&self.cell, span))
        };
        one != other && kind(one) == kind(other)
    }

    fn made(&self) -> Vec<i64> {
        let mut made = vec![0; self.needs.len()];
        for block in self.blocks.iter().flatten() {
            made.iter_mut().zip(&block.made).for_each(|(sum, made)| *sum += made);
        }
        made
    }

    /// Searches a block that is not there, or is of another end, for its share of the needs and what others lack of theirs.
    fn make(&mut self, at: usize) {
        let day = at / self.cells;
        let like = self.blocks[at].take();
        let made = self.made();
        let minutes = |day: usize| {
            let span = self.span(day);
            i128::from(span.to - span.from)
        };
        let there: i128 =
            (0..self.blocks.len()).filter(|&b| self.blocks[b].is_some()).map(|b| minutes(b / self.cells)).sum();
        let all = i128::from(self.end - self.mornings[0]) * self.cells as i128;
        let (here, after) = (minutes(day), (self.cells - at % self.cells) as i64);
        let last = day + 1 == self.days();
        let wants = self.needs.iter().zip(&made).map(|(&need, &made)| {
            // Rounded up: what the first blocks make too much of, the later ones are not asked for.
            let share = i128::from(need) * (there + here) * (1000 + BEYOND) / (all * 1000) + 1;
            let wanted = if last { (need - made + after - 1) / after } else { need.min(share as i64) - made };
            wanted.max(0)
        });
        let wants: Vec<i64> = wants.collect();
        let price = self.needs.iter().zip(&made).zip(&self.price).map(|((&need, &made), &price)| {
            let a_day = need as f64 * here as f64 / all as f64;
            let behind = (need as f64 * there as f64 / all as f64 - made as f64) / a_day.max(1.0);
            (price as f64 * (1.0 + behind.clamp(-BEHIND_DAYS, BEHIND_DAYS) * BEHIND / 1000.0)) as i64
        });
        let price: Vec<i64> = price.collect();
        let nearest = (0..self.blocks.len()).rev().filter(|&b| self.blocks[b].is_some() && self.same_kind(at, b));
        let like = like.or_else(|| nearest.min_by_key(|&b| b.abs_diff(at)).and_then(|b| self.blocks[b].clone()));
        let (histories, work) = like.map_or((Vec::new(), FIRST), |block| (block.histories, NEXT));
        self.blocks[at] = Some(self.searched(at, &histories, &wants, price, work));
    }

    /// A block searched from some histories on for what is wanted of it.
    fn searched(&mut self, at: usize, from: &[Vec<Leg>], wants: &[i64], price: Vec<i64>, work: u64) -> Block {
        let leaves: Vec<Min> =
            (0..self.carry.len()).map(|place| self.carry[self.turn.next(place, self.carry.len())]).collect();
        let problem = block::problem(&self.cell, self.span(at / self.cells), &self.carry, &leaves, wants);
        let deadlines = [problem.horizon];
        let mut floor = Floor::new(&problem, &deadlines);
        for (machine, legs) in from.iter().enumerate() {
            for &leg in legs.iter().filter(|leg| leg.harvest_to <= problem.horizon) {
                let end = floor.machines[machine].runs.len();
                if !floor.book(machine, end, leg) && leg.load_from.is_none() {
                    break;
                }
            }
        }
        self.searches += 1;
        let seed = self.seed.wrapping_add(self.searches);
        let mut search = Search::new(floor, price, seed).in_gait(Gait::Downhill);
        search.aim(&deadlines);
        search.settle(problem.horizon, work, &|| false);
        self.work += search.work();
        let mut made = vec![0; self.needs.len()];
        let legs = |m: &Machine| m.runs.iter().map(|r| r.leg).collect::<Vec<Leg>>();
        let histories: Vec<Vec<Leg>> = search.floor.machines.iter().map(legs).collect();
        for leg in histories.iter().flatten().filter(|leg| leg.load_from.is_some()) {
            problem.modes[leg.mode].yields.iter().for_each(|&(part, copies)| made[part] += copies);
        }
        Block { histories, made, stale: false }
    }
}

/// How many days there are until an end, the last of them not too short.
fn days_until(mornings: &[Min], end: Min) -> usize {
    mornings.iter().filter(|&&morning| morning + LAST_DAY <= end).count()
}

/// The first minute, where somebody is on shift then, and the end of each night.
fn mornings(problem: &Problem<'_>) -> Vec<Min> {
    let first = (problem.nights.first().is_none_or(|n| n.0 > 0)).then_some(0);
    first.into_iter().chain(problem.nights.iter().map(|n| n.1).filter(|&m| m < problem.horizon)).collect()
}
