//! The restricted master: how much of all needs a fractional mix of known histories can meet.
//!
//! ```text
//! maximise   share
//! such that  what pools and stock give a need              >= need[s,p] * share    for every need
//!            what a pool gives                             <= sum over columns: copies in it * x
//!            sum over columns: whole-run counts * x       >= cut need * share         for every whole-run cut
//!            sum over columns of a class: x               <= printers of the class
//!            sum over columns: operator minutes in it * x <= operator minutes of the slot
//!            sum over columns: prints into it * x         <= places of the night
//!            sum over columns: early loads * x            <= loads of the morning
//!            sum over columns that complete it: x         <= printers that can complete the chain
//!            copies ready before a mark, and in late boxes >= copies in all boxes * share
//!            operator minutes after it, and of late boxes <= operator minutes after the mark
//! ```
//!
//! or, with the share held at one, how few idle minutes it takes ([`Aim::Idle`]). [`super::pools`] hold the copies that can
//! serve the same shipments, marks are told in [`super::packing`].

use super::mornings::{across, counting};
use super::pools::{Pool, pool_of, pools};
use super::prices::{IDLE_UNIT, Prices, Rows, TOTAL};
use crate::growing::growing;
use crate::history::Leg;
use crate::mix;
use crate::problem::{BEFORE_START, Min, Problem};
use crate::room::Room;
use highs::{ColProblem, HighsModelStatus, Model, Row, Sense};

/// How many times its printer minutes a copy that is not made costs, where idle minutes are minimised.
const PENALTY: f64 = 10.0;

/// A history as the master counts it.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its class.
    pub class: usize,
    /// Its runs.
    pub legs: Vec<Leg>,
}

/// What the master asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// The greatest share of all needs.
    Share,
    /// All needs with the fewest idle minutes, at a dear penalty for copies not made.
    Idle,
}

/// What a solve says.
#[derive(Debug, Clone)]
pub struct Solved {
    /// The share of all needs met.
    pub share: f64,
    /// What was asked for: the share, or idle minutes with the penalty for copies not made, negative, in thousandths.
    pub reached: f64,
    /// Prices, made whole.
    pub prices: Prices,
    /// The price of a printer of each class, in the same unit.
    pub printer: Vec<i64>,
    /// How many printers follow each column.
    pub weights: Vec<f64>,
}

/// The linear program, growing by columns.
pub struct Master<'a> {
    problem: &'a Problem<'a>,
    rows: &'a Rows,
    aim: Aim,
    model: Option<Model>,
    need_rows: Vec<Row>,
    pools: Vec<Pool>,
    pool_rows: Vec<Row>,
    cut_rows: Vec<Row>,
    cut_usable_by: Vec<Min>,
    class_rows: Vec<Row>,
    /// By tie, with its operator minutes.
    slot_rows: Vec<Row>,
    slot_minutes: Vec<i64>,
    night_rows: Vec<Option<Row>>,
    /// By tie, with the loads that its mornings take.
    morning_rows: Vec<Row>,
    morning_loads: Vec<i64>,
    /// By tie, with the printers that can complete its chains.
    chain_rows: Vec<Row>,
    chain_printers: Vec<i64>,
    /// By mark and part, and by mark, with the operator minutes from there on.
    boxed_rows: Vec<Row>,
    late_rows: Vec<Row>,
    late_minutes: Vec<i64>,
    row_count: usize,
    first_column: usize,
    columns: usize,
}

impl<'a> Master<'a> {
    /// A master for one makespan: operator minutes beyond it do not exist.
    pub fn new(
        problem: &'a Problem<'a>,
        room: &Room<'_>,
        rows: &'a Rows,
        deadlines: &[Min],
        until: Min,
        aim: Aim,
    ) -> Master<'a> {
        let mut p = ColProblem::new();
        let need_rows: Vec<Row> = rows.needs.iter().map(|_| p.add_row(0.0..)).collect();
        let cut_rows: Vec<Row> = rows.cuts.iter().map(|_| p.add_row(0.0..)).collect();
        let class_rows: Vec<Row> = problem.classes.iter().map(|c| p.add_row(..=c.printers.len() as f64)).collect();
        let staffed = |from: Min, to: Min| (from..to.min(until)).map(|m| rows.staff[m as usize]).sum::<i64>();
        let slots = rows.slots.iter().zip(&rows.ties).take_while(|s| s.0.0 < until);
        let slot_minutes = by_tie(slots.map(|(&(from, to), &tie)| (tie, staffed(from, to))));
        let slot_rows: Vec<Row> = slot_minutes.iter().map(|&minutes| p.add_row(..=minutes as f64)).collect();
        let night_rows: Vec<Option<Row>> = (0..problem.nights.len())
            .take_while(|&k| problem.nights[k].0 < until)
            .map(|k| room.night_room(k).map(|places| p.add_row(..=places.max(0) as f64)))
            .collect();
        let mornings = rows.mornings.iter().zip(&rows.morning_ties).filter(|m| m.0.from < until);
        let morning_loads = by_tie(mornings.map(|(morning, &tie)| (tie, morning.most)));
        let morning_rows: Vec<Row> = morning_loads.iter().map(|&loads| p.add_row(..=loads as f64)).collect();
        let chains = rows.chains.iter().zip(&rows.chain_ties).filter(|c| c.0.chain.complete_from() <= until);
        let chain_printers = by_tie(chains.map(|(chained, &tie)| (tie, chained.most)));
        let chain_rows: Vec<Row> = chain_printers.iter().map(|&most| p.add_row(..=most as f64)).collect();
        let packing = &rows.packing;
        let mut boxed_rows: Vec<Row> = Vec::new();
        for _ in &packing.marks {
            boxed_rows.extend(packing.parts.iter().map(|&(part, _)| p.add_row(-(problem.stock[part] as f64)..)));
        }
        let late_minutes: Vec<i64> = packing.marks.iter().map(|m| staffed(m.from, until)).collect();
        let late_rows: Vec<Row> = late_minutes.iter().map(|&minutes| p.add_row(..=minutes as f64)).collect();
        let mut most_rows: Vec<Row> = Vec::new();
        for _ in &packing.marks {
            most_rows.extend(packing.kinds.iter().map(|_| p.add_row(..=0.0)));
        }
        // The share is capped so that the program stays bounded once everything can be met.
        let (gain, bounds, sense) = match aim {
            Aim::Share => (1.0, 0.0..=4.0, Sense::Maximise),
            Aim::Idle => (0.0, 1.0..=1.0, Sense::Minimise),
        };
        let of_needs = need_rows.iter().zip(&rows.needs).map(|(&row, n)| (row, -(n.copies as f64)));
        let of_cuts = cut_rows.iter().zip(&rows.cuts).map(|(&row, c)| (row, -(c.need as f64)));
        let in_boxes = packing.marks.iter().flat_map(|_| &packing.parts);
        let of_boxes = boxed_rows.iter().zip(in_boxes).map(|(&row, part)| (row, -(part.1 as f64)));
        let most_kinds = packing.marks.iter().flat_map(|_| &packing.kinds);
        let of_most = most_rows.iter().zip(most_kinds).map(|(&row, k)| (row, -(k.kits as f64 / k.per_box as f64)));
        p.add_column(gain, bounds, of_needs.chain(of_cuts).chain(of_boxes).chain(of_most));
        let mut first_column = 1;
        let mut most = most_rows.iter();
        for (&late_row, of_mark) in late_rows.iter().zip(boxed_rows.chunks(packing.parts.len().max(1))) {
            for (kind, &most) in packing.kinds.iter().zip(most.by_ref()) {
                let contents = of_mark.iter().zip(&kind.kit).filter(|c| *c.1 > 0);
                let contents = contents.map(|(&row, &n)| (row, (n * kind.per_box) as f64));
                p.add_column(0.0, 0.0.., contents.chain([(late_row, packing.minutes as f64), (most, 1.0)]));
                first_column += 1;
            }
        }
        if aim == Aim::Idle {
            let price = mix::prices(problem);
            for (&row, need) in need_rows.iter().zip(&rows.needs) {
                p.add_column(PENALTY * price[need.part] as f64 / mix::PRICE_UNIT, 0.0.., [(row, 1.0)]);
                first_column += 1;
            }
            for (&row, cut) in cut_rows.iter().zip(&rows.cuts) {
                let most = cut.counts.iter().copied().max().unwrap_or(1).max(1);
                let run = (0..problem.modes.len()).filter(|&m| cut.counts[m] == most).map(|m| problem.modes[m].print);
                p.add_column(PENALTY * f64::from(run.max().unwrap_or(1)), 0.0.., [(row, 1.0)]);
                first_column += 1;
            }
        }
        let mut stock_rows = Vec::new();
        for (part, &stock) in problem.stock.iter().enumerate().filter(|s| *s.1 > 0) {
            stock_rows.push((part, p.add_row(..=stock as f64)));
        }
        for (part, stock_row) in &stock_rows {
            for (&row, _) in need_rows.iter().zip(&rows.needs).filter(|(_, n)| n.part == *part) {
                p.add_column(0.0, 0.0.., [(row, 1.0), (*stock_row, 1.0)]);
                first_column += 1;
            }
        }
        let pools = pools(problem, &rows.needs, deadlines);
        let pool_rows: Vec<Row> = pools.iter().map(|_| p.add_row(0.0..)).collect();
        for (pool, &row) in pools.iter().zip(&pool_rows) {
            for &need in &pool.serves {
                p.add_column(0.0, 0.0.., [(row, -1.0), (need_rows[need], 1.0)]);
                first_column += 1;
            }
        }
        let row_count = need_rows.len()
            + cut_rows.len()
            + class_rows.len()
            + slot_rows.len()
            + night_rows.iter().flatten().count()
            + morning_rows.len()
            + chain_rows.len()
            + boxed_rows.len()
            + late_rows.len()
            + most_rows.len()
            + stock_rows.len()
            + pools.len();
        let model = growing(p, sense);
        Master {
            problem,
            rows,
            aim,
            model,
            need_rows,
            pools,
            pool_rows,
            cut_usable_by: rows.cuts.iter().map(|c| c.usable_by(problem, deadlines)).collect(),
            cut_rows,
            class_rows,
            slot_rows,
            slot_minutes,
            night_rows,
            morning_rows,
            morning_loads,
            chain_rows,
            chain_printers,
            boxed_rows,
            late_rows,
            late_minutes,
            row_count,
            first_column,
            columns: 0,
        }
    }

    /// Adds a column.
    pub fn add(&mut self, column: &Column) {
        let mut factors: Vec<(Row, f64)> = Vec::new();
        let mut gives = vec![0i64; self.pools.len()];
        let mut cuts = vec![0i64; self.rows.cuts.len()];
        let mut slots = vec![0i64; self.slot_rows.len()];
        let mut nights = vec![0i64; self.night_rows.len()];
        let mornings = self.mornings_of(column);
        for leg in &column.legs {
            let mode = &self.problem.modes[leg.mode];
            for &(part, copies) in &mode.yields {
                let (loaded, usable) =
                    (leg.load_from.unwrap_or(BEFORE_START), leg.harvest_to + self.problem.finish[part]);
                if let Some(pool) = pool_of(&self.pools, part, loaded, usable) {
                    gives[pool] += copies.min(self.pools[pool].most);
                }
            }
            for (sum, (cut, &usable_by)) in cuts.iter_mut().zip(self.rows.cuts.iter().zip(&self.cut_usable_by)) {
                if leg.harvest_to + self.problem.finish[cut.part] <= usable_by {
                    *sum += cut.counts[leg.mode];
                }
            }
            if let Some(from) = leg.load_from {
                self.occupy(from, leg.print_from, &mut slots);
                for (k, places) in nights.iter_mut().enumerate() {
                    let at = self.problem.nights[k].0;
                    *places += i64::from(leg.print_from <= at && at < leg.print_from + mode.print);
                }
            }
            self.occupy(leg.harvest_from, leg.harvest_to, &mut slots);
        }
        factors.extend(self.pool_rows.iter().zip(&gives).filter(|g| *g.1 > 0).map(|(&row, &n)| (row, n as f64)));
        factors.extend(self.cut_rows.iter().zip(&cuts).filter(|c| *c.1 > 0).map(|(&row, &n)| (row, n as f64)));
        factors.extend(self.slot_rows.iter().zip(&slots).filter(|s| *s.1 > 0).map(|(&row, &n)| (row, n as f64)));
        factors.extend(
            self.night_rows
                .iter()
                .zip(&nights)
                .filter_map(|(row, &n)| row.filter(|_| n > 0).map(|row| (row, n as f64))),
        );
        factors.extend(self.morning_rows.iter().zip(&mornings).filter(|m| *m.1 != 0).map(|(&row, &n)| (row, n as f64)));
        let mut chains = vec![0i64; self.chain_rows.len()];
        for (chained, &tie) in self.rows.chains.iter().zip(&self.rows.chain_ties) {
            if let Some(count) = chains.get_mut(tie) {
                *count += i64::from(chained.chain.is_in(&column.legs));
            }
        }
        factors.extend(self.chain_rows.iter().zip(&chains).filter(|c| *c.1 > 0).map(|(&row, &n)| (row, n as f64)));
        self.factors_of_marks(column, &mut factors);
        factors.push((self.class_rows[column.class], 1.0));
        let cost = if self.aim == Aim::Idle { self.idle_of(column) as f64 } else { 0.0 };
        if let Some(model) = &mut self.model {
            model.add_col(cost, 0.0.., factors);
            self.columns += 1;
        }
    }

    /// What a history has ready before marks, and its operator minutes from them on.
    fn factors_of_marks(&self, column: &Column, factors: &mut Vec<(Row, f64)>) {
        let packing = &self.rows.packing;
        let of_marks = self.boxed_rows.chunks(packing.parts.len().max(1)).zip(&self.late_rows);
        for (mark, (boxed, &late)) in packing.marks.iter().zip(of_marks) {
            for (&(part, _), &row) in packing.parts.iter().zip(boxed) {
                let ready = column.legs.iter().filter(|l| l.harvest_to + self.problem.finish[part] <= mark.usable_by);
                let copies = ready.flat_map(|l| &self.problem.modes[l.mode].yields).filter(|y| y.0 == part);
                let copies: i64 = copies.map(|y| y.1).sum();
                factors.extend((copies > 0).then_some((row, copies as f64)));
            }
            let after = |from: Min, to: Min| i64::from((to - from.max(mark.from)).max(0));
            let of_leg =
                |l: &Leg| l.load_from.map_or(0, |from| after(from, l.print_from)) + after(l.harvest_from, l.harvest_to);
            let minutes: i64 = column.legs.iter().map(of_leg).sum();
            factors.extend((minutes > 0).then_some((late, minutes as f64)));
        }
    }

    /// By tie, the loads that count against mornings.
    fn mornings_of(&self, column: &Column) -> Vec<i64> {
        let mut loads = vec![0i64; self.morning_rows.len()];
        let mut count = |morning: usize, n: i64| {
            if let Some(loads) = loads.get_mut(self.rows.morning_ties[morning]) {
                *loads += n;
            }
        };
        let mut empty_from = 0;
        for leg in &column.legs {
            if let Some(from) = leg.load_from {
                counting(&self.rows.mornings, from, leg.print_from).for_each(|m| count(m, 1));
                across(&self.rows.mornings, empty_from, from).for_each(|m| count(m, -1));
            }
            empty_from = leg.harvest_to;
        }
        loads
    }

    /// A history's idle minutes.
    pub fn idle_of(&self, column: &Column) -> i64 {
        let Some(end) = column.legs.last().map(|l| l.harvest_to) else { return 0 };
        let printed: Min = column
            .legs
            .iter()
            .map(|l| self.problem.printed(column.class, l.mode, l.load_from.is_some(), l.ready))
            .sum();
        let down: Min = self.problem.classes[column.class].downtime.iter().map(|d| (d.1.min(end) - d.0).max(0)).sum();
        i64::from(end - printed - down)
    }

    fn occupy(&self, from: Min, to: Min, slots: &mut [i64]) {
        let first = self.rows.slots.partition_point(|s| s.1 <= from);
        for (&(a, b), &tie) in self.rows.slots.iter().zip(&self.rows.ties).skip(first).take_while(|s| s.0.0 < to) {
            if let Some(minutes) = slots.get_mut(tie) {
                *minutes += i64::from(b.min(to) - a.max(from));
            }
        }
    }

    /// Solves; `None` where the solver fails or the program has no prices yet.
    pub fn solve(&mut self) -> Option<Solved> {
        let solved = self.model.take()?.try_solve().ok()?;
        if solved.status() != HighsModelStatus::Optimal {
            return None;
        }
        let least = solved.objective_value();
        let solution = solved.get_solution();
        let duals = solution.dual_rows();
        if duals.len() != self.row_count {
            return None;
        }
        let at = |from: usize, n: usize| &duals[from..from + n];
        let needs = at(0, self.need_rows.len());
        let cuts = at(needs.len(), self.cut_rows.len());
        let classes = at(needs.len() + cuts.len(), self.class_rows.len());
        let slots = at(needs.len() + cuts.len() + classes.len(), self.slot_rows.len());
        let nights = &duals[needs.len() + cuts.len() + classes.len() + slots.len()..];
        // A need that grows makes the share smaller and the idle minutes more; a limit that grows the other way round.
        let sign = if self.aim == Aim::Share { 1.0 } else { -1.0 };
        let of_needs: f64 =
            needs.iter().zip(&self.rows.needs).map(|(d, n)| (-sign * d).max(0.0) * n.copies as f64).sum();
        let of_cuts: f64 = cuts.iter().zip(&self.rows.cuts).map(|(d, c)| (-sign * d).max(0.0) * c.need as f64).sum();
        let after_chains = needs.len()
            + cuts.len()
            + classes.len()
            + slots.len()
            + self.night_rows.iter().flatten().count()
            + self.morning_rows.len()
            + self.chain_rows.len();
        let boxed = at(after_chains, self.boxed_rows.len());
        let late = at(after_chains + boxed.len(), self.late_rows.len());
        let in_boxes = self.rows.packing.marks.iter().flat_map(|_| &self.rows.packing.parts);
        let of_boxes: f64 = boxed.iter().zip(in_boxes).map(|(d, p)| (-sign * d).max(0.0) * p.1 as f64).sum();
        let worth = of_needs + of_cuts + of_boxes;
        let share = solution.columns().first().copied().unwrap_or(0.0);
        let reached = if self.aim == Aim::Idle { -least * IDLE_UNIT as f64 } else { share };
        let weights = solution.columns()[self.first_column..].to_vec();
        let scale = match self.aim {
            Aim::Share if worth > 0.0 => TOTAL / worth,
            Aim::Share => 0.0,
            Aim::Idle => IDLE_UNIT as f64,
        };
        // A limit's price times the limit is part of the optimum, so a larger one is the solver's noise; cut off, it
        // still proves whatever it proves.
        let whole = |dual: f64| ((sign * dual).max(0.0) * scale).round().min(4.0 * TOTAL) as i64;
        let capped = |price: i64, limit: i64| price.min(4 * TOTAL as i64 / limit.max(1));
        let tied = |duals: &[f64], limits: &[i64], ties: &[usize]| -> Vec<i64> {
            let of_tie: Vec<i64> = duals.iter().zip(limits).map(|(&d, &limit)| capped(whole(d), limit)).collect();
            ties.iter().map(|&tie| of_tie.get(tie).copied().unwrap_or(0)).collect()
        };
        let mut night_prices = vec![0; self.problem.nights.len()];
        let mut row = 0;
        for (k, night) in self.night_rows.iter().enumerate() {
            if night.is_some() {
                night_prices[k] = capped(whole(nights[row]), self.problem.night_printers.unwrap_or(1));
                row += 1;
            }
        }
        let after_nights =
            needs.len() + cuts.len() + classes.len() + slots.len() + self.night_rows.iter().flatten().count();
        let of_mornings = at(after_nights, self.morning_rows.len());
        let of_chains = at(after_nights + of_mornings.len(), self.chain_rows.len());
        let prices = Prices {
            slot: tied(slots, &self.slot_minutes, &self.rows.ties),
            morning: tied(of_mornings, &self.morning_loads, &self.rows.morning_ties),
            chain: tied(of_chains, &self.chain_printers, &self.rows.chain_ties),
            need: needs.iter().map(|&d| whole(-d)).collect(),
            cut: cuts.iter().map(|&d| whole(-d)).collect(),
            night: night_prices,
            boxed: boxed.iter().map(|&d| whole(-d)).collect(),
            late: late.iter().zip(&self.late_minutes).map(|(&d, &minutes)| capped(whole(d), minutes)).collect(),
        };
        let printer = classes.iter().map(|&d| whole(d)).collect();
        self.model = Some(Model::from(solved));
        Some(Solved { share, reached, prices, printer, weights })
    }
}

/// The sum of all amounts with the same tie.
fn by_tie(amounts: impl Iterator<Item = (usize, i64)>) -> Vec<i64> {
    let mut sums: Vec<i64> = Vec::new();
    for (tie, amount) in amounts {
        sums.resize(sums.len().max(tie + 1), 0);
        sums[tie] += amount;
    }
    sums
}
