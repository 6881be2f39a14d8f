//! The bound on idle printer minutes, by the same columns.
//!
//! A plan's idle minutes are the sum over its printers' histories. With prices `a`, `b`, `c` as for the makespan and
//! `W` the greatest value of a history whose idle minutes cost one each (0 for a printer left alone), any plan that keeps
//! the deadlines has
//!
//! ```text
//! idle >= sum a * need - stock at its dearest - sum over printers: W - sum b(t) * operators - sum c[k] * places
//! ```
//!
//! since a history's value less its idle minutes is at most `W`. Prices come from a master that minimises idle minutes
//! plus a dear penalty for what is not made; only this inequality, in whole numbers, is trusted.

use super::bound::Relaxation;
use super::master::{Aim, Column, Master};
use super::prices::{IDLE_UNIT, Prices};
use super::pricing::best_histories;
use crate::history::Scratch;
use crate::problem::{Min, Problem};

/// A lower bound on the idle printer minutes of any plan that keeps the deadlines.
pub fn idle_bound(
    problem: &Problem<'_>,
    deadlines: &[Min],
    known: &[Column],
    slot: Min,
    rounds: usize,
    stop: &dyn Fn() -> bool,
) -> i64 {
    let relaxation = Relaxation::new(problem, deadlines, slot);
    let (rows, room) = (relaxation.rows(), relaxation.room());
    let until = relaxation.last_deadline();
    let mut master = Master::new(problem, room, rows, relaxation.deadlines(), until, Aim::Idle);
    let mut columns: Vec<Column> = known.to_vec();
    let flat = Prices::flat(problem, rows);
    for column in &columns {
        master.add(column, &flat);
    }
    let mut scratch = Scratch::default();
    let mut most = 0i64;
    let mut centre: Option<Prices> = None;
    for _ in 0..rounds {
        if stop() {
            break;
        }
        let Some(solved) = master.solve() else { break };
        let mut progress = false;
        let own = rows.tariff(problem, &solved.prices, relaxation.deadlines(), IDLE_UNIT);
        for weight in [800, 0] {
            let prices = match &centre {
                Some(centre) if weight > 0 => centre.blend(&solved.prices, weight),
                _ if weight > 0 => continue,
                _ => solved.prices.clone(),
            };
            let tariff = rows.tariff(problem, &prices, relaxation.deadlines(), IDLE_UNIT);
            let mut bound =
                rows.worth_of_needs(problem, &prices) - rows.worth_of_limits(problem, room, &prices)[until as usize];
            let found = best_histories(problem, room, &tariff, until, &mut scratch);
            for (c, found) in found.into_iter().enumerate() {
                let Some((value, legs)) = found else { continue };
                bound -= value.max(0) * problem.classes[c].printers.len() as i64;
                let column = Column { class: c, legs };
                let at_own = own.of_history(problem, room, &column.legs) - IDLE_UNIT * master.idle_of(&column);
                if at_own > solved.printer[c] + 1 {
                    master.add(&column, &prices);
                    columns.push(column);
                    progress = true;
                }
            }
            if bound > most || centre.is_none() {
                most = most.max(bound);
                centre = Some(prices);
            }
        }
        if !progress {
            break;
        }
    }
    // Idle minutes are whole.
    (most + IDLE_UNIT - 1) / IDLE_UNIT
}
