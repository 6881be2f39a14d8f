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
//! * **The needs.** They are the whole plan's. Days of one kind (the first, the last, those between with the same shifts) are
//!   the same problem, so a block found for one of them fits all, in every cell. Blocks are found at what copies are worth to
//!   the whole, and the table takes from all of them what serves the whole best ([`menu`]). What it lacks even then, single
//!   blocks are searched for, each for what all others leave missing: a *sweep*.
//!
//! Where idle minutes count, printed minutes are one more part that no day can have enough of ([`block::counting_minutes`]).
//!
//! The last day ends with the aim, and one that would be short is one with the day before. A block is a problem of its own
//! ([`block`]), searched like any other by [`crate::improve`]; nothing here is believed: the table becomes a floor of the
//! whole room ([`joined`]), on which the search goes on and what does not fit is left out.

mod block;
mod carry;
mod joined;
mod kind;
mod menu;

use crate::columns::master::Column;
use crate::columns::prices::IDLE_UNIT;
use crate::division;
use crate::floor::{Floor, Machine};
use crate::history::Leg;
use crate::improve::{Gait, Search};
use crate::mix;
use crate::problem::{Min, Problem};
use crate::whole::greatest_common_divisor;
use block::Span;
pub use carry::Turn;
use kind::{Block, Kind};
use menu::Menu;

/// A cell has at least so many printers.
const CELL_PRINTERS: usize = 12;
/// There are at least so many days.
const DAYS: usize = 3;
/// The last day has at least so many minutes.
const LAST_DAY: Min = 720;
/// Steps of longest paths for the first block of a kind, for each of the next ones, and for each of a sweep.
const FIRST: u64 = 50_000_000;
const NEXT: u64 = 15_000_000;
const SWEEP: u64 = 10_000_000;
/// A round finds so many blocks for a kind of which the table takes more than this; one for any other.
const OFTEN: usize = 4;
const BLOCKS: usize = 8;
/// The part by which what a copy is worth moves from one block to the next, at most and in the beginning: where it begins at
/// the prices that proved a bound, and where idle minutes count and those prices are of a coarser room; and what becomes of
/// it with each block. Prices that follow the menu at once swing, and no block is ever improved at the same ones.
const STEP: f64 = 0.01;
const STEP_IDLE: f64 = 0.1;
const STEADIER: f64 = 0.99;
/// What the first blocks are asked for beyond their share of the needs, in thousandths: none makes all that it is asked for.
const BEYOND: i128 = 10;

/// The table.
pub struct Days<'a> {
    /// One cell for the whole time.
    cell: Problem<'a>,
    cells: usize,
    turn: Turn,
    /// By place.
    carry: Vec<Min>,
    /// What a missing copy costs.
    price: Vec<i64>,
    /// What a copy is worth to a block that is still to be found, and the part by which that moves at most.
    worth: Vec<i64>,
    step: f64,
    /// Copies of each part beyond stock.
    needs: Vec<i64>,
    /// Whether idle minutes count.
    idle: bool,
    /// When each day begins, whether the table reaches to it or not.
    mornings: Vec<Min>,
    /// What all has to be there by.
    end: Min,
    /// Kinds of days, those of ends that were aimed at before too.
    kinds: Vec<Kind>,
    /// By day, which kind it is of.
    days: Vec<usize>,
    /// By day and cell, which block of its kind it takes.
    table: Vec<usize>,
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
            worth: price.to_vec(),
            step: STEP,
            needs,
            idle: false,
            mornings,
            end: 0,
            kinds: Vec::new(),
            days: Vec::new(),
            table: Vec::new(),
            seed,
            searches: 0,
            work: 0,
        })
    }

    /// The same table where idle minutes count, too. Prices are in thousandths of one, and here is what copies are worth as long
    /// as nothing better is known.
    pub fn counting_idle(mut self, worth: &[i64]) -> Days<'a> {
        self.idle = true;
        self.worth = worth.to_vec();
        self.step = STEP_IDLE;
        self
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

    /// Printer minutes of the table in which nothing is printed.
    pub fn idle_minutes(&self) -> i64 {
        (0..self.table.len()).map(|at| self.block(at).idle).sum()
    }

    /// How many times the needs are made where days take fractions of blocks: what a table of whole ones may come near to.
    pub fn share(&self) -> Option<f64> {
        Some(self.menu().share()?.0)
    }

    fn lacks(&self, wants: &[i64], made: &[i64]) -> i64 {
        wants.iter().zip(made).zip(&self.price).map(|((want, made), price)| (want - made).max(0) * price).sum()
    }

    /// Has everything ready by a minute: the last day is searched for it, and kinds of days that are not there yet get a first
    /// block. False where there are too few days, or `stop` says so; the table is then of no use.
    pub fn aim(&mut self, end: Min, stop: &dyn Fn() -> bool) -> bool {
        let days = days_until(&self.mornings, end);
        if days < DAYS {
            return false;
        }
        self.end = end;
        self.table.clear();
        self.days = (0..days).map(|day| self.kind(day, days)).collect();
        for kind in self.taken_kinds() {
            if self.kinds[kind].blocks.is_empty() {
                if stop() {
                    return false;
                }
                self.begin(kind);
            }
        }
        self.take();
        true
    }

    /// Which kind a day is of.
    fn kind(&mut self, day: usize, days: usize) -> usize {
        let last = day + 1 == days;
        let from = self.mornings[day];
        let span = Span { from, to: if last { self.end } else { self.mornings[day + 1] }, first: day == 0, last };
        let shifts = block::shifts(&self.cell, span);
        let same = |kind: &Kind| {
            let of = |span: Span| (span.to - span.from, span.first, span.last);
            of(kind.span) == of(span) && kind.shifts == shifts
        };
        self.kinds.iter().position(same).unwrap_or_else(|| {
            self.kinds.push(Kind { span, shifts, blocks: Vec::new() });
            self.kinds.len() - 1
        })
    }

    /// The kinds of days of the table.
    fn taken_kinds(&self) -> Vec<usize> {
        let mut kinds = self.days.clone();
        kinds.sort_unstable();
        kinds.dedup();
        kinds
    }

    /// The first block of a kind, searched for its share of the needs, from one of a kind that is much like it where there is
    /// one.
    fn begin(&mut self, kind: usize) {
        let span = self.kinds[kind].span;
        let all = i128::from(self.end - self.mornings[0]) * self.cells as i128;
        let here = i128::from(span.to - span.from);
        let share = |&need: &i64| need.min((i128::from(need) * here * (1000 + BEYOND) / (all * 1000)) as i64 + 1);
        let wants: Vec<i64> = self.needs.iter().map(share).collect();
        let like = self.kinds.iter().filter(|k| (k.span.first, k.span.last) == (span.first, span.last));
        let like = like.filter(|k| !k.blocks.is_empty()).min_by_key(|k| k.span.to.abs_diff(span.to));
        let from = like.and_then(|k| k.dearest(&self.price, self.idle)).map(|b| b.histories.clone());
        let block = self.searched(kind, &from.unwrap_or_default(), &wants, &self.worth.clone(), FIRST);
        self.kinds[kind].blocks.push(block);
    }

    /// More blocks of each kind, at what copies are worth to the whole; then the table takes its blocks anew.
    pub fn round(&mut self, stop: &dyn Fn() -> bool) {
        for kind in self.taken_kinds() {
            for _ in 0..if self.takes(kind) > OFTEN { BLOCKS } else { 1 } {
                if stop() {
                    return;
                }
                self.reprice();
                let from = self.kinds[kind].dearest(&self.worth, self.idle).map(|b| b.histories.clone());
                let (wants, worth) = (self.needs.clone(), self.worth.clone());
                let block = self.searched(kind, &from.unwrap_or_default(), &wants, &worth, NEXT);
                let blocks = &mut self.kinds[kind].blocks;
                if blocks.iter().all(|b| (&b.made, b.idle) != (&block.made, block.idle)) {
                    blocks.push(block);
                }
            }
        }
        self.take();
    }

    /// Moves what copies are worth towards what the menu says.
    fn reprice(&mut self) {
        let menu = self.menu();
        let worth = match self.idle {
            true => menu.worth(),
            false => menu.share().map(|(_, mut worth)| {
                let all = self.lacks(&self.needs, &vec![0; self.needs.len()]) as f64;
                worth.iter_mut().for_each(|w| *w *= all);
                worth
            }),
        };
        let Some(worth) = worth else { return };
        let step = self.step;
        self.step *= STEADIER;
        for (own, worth) in self.worth.iter_mut().zip(worth) {
            let before = *own as f64;
            *own = worth.clamp(before * (1.0 - step), before * (1.0 + step)).max(1.0) as i64;
        }
    }

    /// How many blocks of a kind the table takes.
    fn takes(&self, kind: usize) -> usize {
        self.days.iter().filter(|&&k| k == kind).count() * self.cells
    }

    fn menu(&self) -> Menu<'_> {
        let kinds = self.taken_kinds().into_iter().map(|k| (self.takes(k), self.kinds[k].blocks.as_slice())).collect();
        Menu { needs: &self.needs, price: &self.price, kinds, idle: self.idle }
    }

    /// Takes blocks from the menu, unless it has none better than those taken.
    fn take(&mut self) {
        let kinds = self.taken_kinds();
        let counts = self.menu().table();
        let mut table = Vec::with_capacity(self.days.len() * self.cells);
        let mut left: Vec<Vec<usize>> = match counts {
            // Blocks of one kind in the order they were found, cell by cell and day by day.
            Some(counts) => counts
                .iter()
                .map(|of_kind| {
                    let all = of_kind.iter().enumerate().flat_map(|(block, &n)| std::iter::repeat_n(block, n));
                    all.rev().collect()
                })
                .collect(),
            None => vec![Vec::new(); kinds.len()],
        };
        for &kind in &self.days {
            let at = kinds.binary_search(&kind).unwrap_or(0);
            table.extend((0..self.cells).map(|_| left[at].pop().unwrap_or(0)));
        }
        let before = std::mem::replace(&mut self.table, table);
        if before.len() == self.table.len() {
            let after = self.cost();
            let taken = std::mem::replace(&mut self.table, before);
            if after < self.cost() {
                self.table = taken;
            }
        }
    }

    /// What stands against the table: what is missing, and idle minutes where they count.
    fn cost(&self) -> i64 {
        self.shortage() + (0..self.table.len()).map(|at| self.block(at).idle_cost(self.idle)).sum::<i64>()
    }

    /// Searches every block again for what the others leave missing.
    pub fn sweep(&mut self, stop: &dyn Fn() -> bool) {
        for at in 0..self.table.len() {
            if self.shortage() == 0 || stop() {
                return;
            }
            let kind = self.days[at / self.cells];
            let block = self.block(at).clone();
            let made = self.made();
            let wants: Vec<i64> =
                self.needs.iter().zip(&made).zip(&block.made).map(|((n, m), own)| (n - m + own).max(0)).collect();
            let found = self.searched(kind, &block.histories, &wants, &self.price.clone(), SWEEP);
            let cost = |b: &Block| self.lacks(&wants, &b.made) + b.idle_cost(self.idle);
            if cost(&found) < cost(&block) {
                self.kinds[kind].blocks.push(found);
                self.table[at] = self.kinds[kind].blocks.len() - 1;
            }
        }
    }

    fn block(&self, at: usize) -> &Block {
        &self.kinds[self.days[at / self.cells]].blocks[self.table[at]]
    }

    fn made(&self) -> Vec<i64> {
        let mut made = vec![0; self.needs.len()];
        for at in 0..self.table.len() {
            made.iter_mut().zip(&self.block(at).made).for_each(|(sum, made)| *sum += made);
        }
        made
    }

    /// A block searched from some histories on for what is wanted of it.
    fn searched(&mut self, kind: usize, from: &[Vec<Leg>], wants: &[i64], price: &[i64], work: u64) -> Block {
        let leaves: Vec<Min> =
            (0..self.carry.len()).map(|place| self.carry[self.turn.next(place, self.carry.len())]).collect();
        let span = self.kinds[kind].span;
        let mut problem = block::problem(&self.cell, span, &self.carry, &leaves, wants);
        let mut price = price.to_vec();
        // A last harvest ends a printer's idle minutes only on the last day; before, printed minutes are what counts.
        let minutes = self.idle && !span.last;
        if minutes {
            price.push(IDLE_UNIT);
            block::counting_minutes(&mut problem, wants.len());
        }
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
        let mut search = Search::new(floor, price, seed);
        if self.idle && span.last {
            search = search.counting_idle();
        }
        let mut search = search.in_gait(Gait::Downhill).patient();
        search.aim(&deadlines);
        search.settle(problem.horizon, work, &|| false);
        self.work += search.work();
        let legs = |m: &Machine| m.runs.iter().map(|r| r.leg).collect::<Vec<Leg>>();
        let histories: Vec<Vec<Leg>> = search.floor.machines.iter().map(legs).collect();
        let carried = |place: usize| if span.first { 0 } else { self.carry[place] };
        let until = |place: usize| (!span.last).then(|| span.to - span.from + leaves[place]);
        Block::of(&self.cell, histories, self.needs.len(), &carried, &until)
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
