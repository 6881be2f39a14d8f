//! The prices that leave the least room: a linear program over printer histories.
//!
//! How great a share of all that is open can a mix of histories cover, with the operator minutes there are? The dual
//! values of that program are the prices under which the earnings of the best histories fall short the most; new
//! histories come in until no better one is found (column generation).

use super::cover::Cover;
use super::facts::Facts;
use super::follow::{Column, best};
use super::goal::Goal;
use super::prices::{Prices, Tags, WORTH};
use super::state::{Holds, Spot, State};
use super::timetable::Timetable;
use crate::growing::growing;
use highs::{ColProblem, HighsModelStatus, Model, Row, Sense};

/// The master has said what it can when the best histories earn no more than this share beyond it.
const CLOSE: f64 = 2e-3;

/// How much of the best prices so far goes into the next: prices from few histories jump about.
const STEADY: f64 = 0.5;

/// Looks for prices under which what is open from a state is out of reach by the most, or nearly within it.
pub(super) fn search(
    facts: &Facts<'_>,
    goal: &Goal,
    cover: &Cover,
    table: &Timetable,
    state: &State,
    known: Option<&Tags>,
    rounds: usize,
) -> Option<Prices> {
    let mut open = Vec::new();
    cover.open(facts, table, state, &mut open);
    let mut first = by_printer_minutes(facts, cover, table);
    if !first.scale(&open) {
        return None;
    }
    let mut starts = vec![first];
    if let Some(known) = known.filter(|k| k.row.len() == open.len()) {
        let mut known = known.clone();
        if goal.idle.is_none() {
            known.idle = 0.0;
        }
        known.slot.resize(table.slots, 0.0);
        if known.scale(&open) {
            starts.push(known);
        }
    }
    let mut master = Master::new(facts, goal, table, state, &open);
    let mut best: Option<(i64, Prices)> = None;
    for round in 0..rounds.max(1) {
        let tags = match starts.pop() {
            Some(tags) => tags,
            None => {
                let Some((share, mut tags)) = master.solve() else { break };
                if !tags.scale(&open) {
                    break;
                }
                if let Some((slack, steady)) = &best {
                    if *slack as f64 <= (share - 1.0 + CLOSE) * WORTH {
                        break;
                    }
                    let mix = |a: &mut Vec<f64>, b: &[f64]| {
                        a.iter_mut().zip(b).for_each(|(a, b)| *a = *a * (1.0 - STEADY) + b * STEADY);
                    };
                    if round % 4 != 3 {
                        mix(&mut tags.row, &steady.tags.row);
                        mix(&mut tags.slot, &steady.tags.slot);
                        tags.idle = tags.idle * (1.0 - STEADY) + steady.tags.idle * STEADY;
                    }
                }
                if !tags.scale(&open) {
                    break;
                }
                tags
            }
        };
        let prices = Prices::new(facts, table, &tags);
        let slack = prices.slack(facts, goal, table, state, &open);
        master.add(facts, table, &prices);
        if best.as_ref().is_none_or(|b| slack < b.0) {
            best = Some((slack, prices));
        }
        if slack < 0 {
            break;
        }
    }
    best.map(|b| b.1)
}

/// Copies at the printer minutes that they take at best; operators for nothing.
pub(super) fn by_printer_minutes(facts: &Facts<'_>, cover: &Cover, table: &Timetable) -> Tags {
    let minutes = |part: usize| {
        let loadable = facts.problem.classes.iter().flat_map(|c| &c.modes).map(|&m| &facts.problem.modes[m]);
        let each = loadable.filter(|m| m.yields.iter().any(|y| y.0 == part)).map(|m| {
            let copies: i64 = m.yields.iter().map(|y| y.1).sum();
            f64::from(m.load + m.to_ready() + m.harvest) / copies.max(1) as f64
        });
        let least = each.fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 1.0 }
    };
    let row = cover
        .rows
        .iter()
        .map(|r| {
            let group = &cover.groups[r.group];
            let whole = group.pairs.len() == facts.pairs_of_part[group.part].len();
            if r.unit == 1 && whole { minutes(group.part) } else { 0.0 }
        })
        .collect();
    Tags { row, slot: vec![0.0; table.slots], idle: 0.0 }
}

struct Master {
    model: Option<Model>,
    /// Class, what the printer is doing.
    spots: Vec<(usize, Spot)>,
    columns: Vec<(usize, Column)>,
    rows: Vec<Row>,
    printers: Vec<Row>,
    slots: Vec<Row>,
    idle: Option<Row>,
}

impl Master {
    fn new(facts: &Facts<'_>, goal: &Goal, table: &Timetable, state: &State, open: &[i64]) -> Master {
        let mut spots: Vec<(usize, Spot, usize)> = Vec::new();
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            match spots.iter_mut().find(|s| (s.0, s.1) == (class, *spot)) {
                Some(same) => same.2 += 1,
                None => spots.push((class, *spot, 1)),
            }
        }
        let mut minutes = vec![0i64; table.slots];
        for t in state.now.max(0)..=table.last {
            minutes[table.slot[t as usize]] += table.crew[t as usize];
        }
        let mut problem = ColProblem::new();
        let rows: Vec<Row> = open.iter().map(|_| problem.add_row(0.0..)).collect();
        // A printer has idle minutes whether it goes on or not, so none may be left out where they count.
        let least = |n: usize| if goal.idle.is_some() { n as f64 } else { 0.0 };
        let printers: Vec<Row> = spots.iter().map(|s| problem.add_row(least(s.2)..=s.2 as f64)).collect();
        let slots: Vec<Row> = minutes.iter().map(|&m| problem.add_row(..=m as f64)).collect();
        let idle = goal.idle.map(|most| problem.add_row(..=most as f64));
        let needs = rows.iter().zip(open).filter(|o| *o.1 > 0).map(|(&row, &n)| (row, -(n as f64)));
        problem.add_column(1.0, 0.0..=8.0, needs);
        let model = growing(problem, Sense::Maximise);
        let spots = spots.into_iter().map(|s| (s.0, s.1)).collect();
        let mut master = Master { model, spots, columns: Vec::new(), rows, printers, slots, idle };
        if idle.is_some() {
            for s in 0..master.spots.len() {
                let (class, spot) = master.spots[s];
                let idle = match Holds::of(spot.code) {
                    Holds::Run { mode, .. } => {
                        let end = table.harvested(class, mode, spot.time).min(table.last);
                        facts.up(class, end) - spot.printed
                    }
                    Holds::Nothing { .. } => spot.idle,
                };
                master.put(s, Column { idle: i64::from(idle), ..Column::default() });
            }
        }
        master
    }

    /// Adds the best histories under prices.
    fn add(&mut self, facts: &Facts<'_>, table: &Timetable, prices: &Prices) {
        for s in 0..self.spots.len() {
            let (class, spot) = &self.spots[s];
            let column = best(facts, table, prices, *class, spot);
            self.put(s, column);
        }
    }

    fn put(&mut self, s: usize, column: Column) {
        let known = self.columns.iter().any(|(of, c)| *of == s && *c == column);
        let (Some(model), false) = (&mut self.model, known) else { return };
        let rows = column.rows.iter().map(|&(r, n)| (self.rows[r], n as f64));
        let slots = column.slots.iter().map(|&(k, n)| (self.slots[k], n as f64));
        let idle = self.idle.map(|row| (row, column.idle as f64));
        model.add_col(0.0, 0.0.., rows.chain(slots).chain([(self.printers[s], 1.0)]).chain(idle));
        self.columns.push((s, column));
    }

    /// The share, and its prices.
    fn solve(&mut self) -> Option<(f64, Tags)> {
        let solved = self.model.take()?.try_solve().ok()?;
        if solved.status() != HighsModelStatus::Optimal {
            return None;
        }
        let solution = solved.get_solution();
        let share = solution.columns().first().copied()?;
        let duals = solution.dual_rows();
        let (first, second) = (self.rows.len(), self.rows.len() + self.printers.len());
        let third = second + self.slots.len();
        if duals.len() != third + usize::from(self.idle.is_some()) {
            return None;
        }
        let row = duals[..first].iter().map(|d| (-d).max(0.0)).collect();
        let slot = duals[second..third].iter().map(|d| d.max(0.0)).collect();
        let idle = duals.get(third).map_or(0.0, |d| d.max(0.0));
        self.model = Some(Model::from(solved));
        Some((share, Tags { row, slot, idle }))
    }
}
