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
//! plus a dear penalty for what is not made; only this inequality, in whole numbers, is trusted. Slots that recur are
//! tied, and halved where they have a price once master and prices agree, as for the makespan
//! ([`Relaxation::recurring`], [`Relaxation::refine`]).

use super::bound::Relaxation;
use super::master::{Aim, Column};
use super::prices::{IDLE_UNIT, Prices};
use super::pricing::best_histories;
use super::rounds::{Patience, Priced};
use crate::history::Scratch;

/// What proves how few idle minutes there must be.
#[derive(Debug, Clone)]
pub struct IdleBound {
    /// No plan that keeps the deadlines has fewer.
    pub minutes: i64,
    /// The prices that prove it, in thousandths of an idle minute.
    pub prices: Option<Prices>,
    /// The columns known, and by how many printers each is followed.
    pub columns: Vec<(Column, f64)>,
    /// How many rounds it took.
    pub rounds: usize,
}

impl IdleBound {
    /// Nothing proven yet, with known histories to begin from.
    pub fn none(known: Vec<Column>) -> IdleBound {
        let columns = known.into_iter().map(|column| (column, 0.0)).collect();
        IdleBound { minutes: 0, prices: None, columns, rounds: 0 }
    }
}

impl Relaxation<'_> {
    /// A lower bound on the idle printer minutes of any plan that keeps the deadlines, no lower than the one known.
    pub fn least_idle(&self, known: IdleBound, patience: &Patience<'_>) -> IdleBound {
        let (deadlines, until) = (self.deadlines(), self.last_deadline());
        let (room, rows, problem) = (self.room(), self.rows(), self.problem());
        let priced = Priced { problem, room, rows, deadlines, until, aim: Aim::Idle };
        let mut columns: Vec<Column> = known.columns.into_iter().map(|c| c.0).collect();
        let agreed = priced.agree(&mut columns, known.prices, patience, &mut Scratch::default());
        // Only columns that somebody follows are worth keeping for other slots.
        let columns = columns.into_iter().zip(agreed.weights.iter().copied()).filter(|c| c.1 > 1e-9).collect();
        let proven = agreed.steady.as_ref().map_or(0, |prices| self.idle_proven_by(prices));
        IdleBound {
            minutes: known.minutes.max(proven),
            prices: agreed.steady,
            columns,
            rounds: known.rounds + agreed.rounds,
        }
    }

    /// The idle minutes that any plan has that keeps the deadlines, as these prices prove it, whatever they are.
    pub fn idle_proven_by(&self, prices: &Prices) -> i64 {
        let (problem, until) = (self.problem(), self.last_deadline());
        let tariff = self.rows().tariff(problem, prices, self.deadlines(), IDLE_UNIT);
        let found = best_histories(problem, self.room(), &tariff, until, &mut Scratch::default());
        let printers = problem.classes.iter().map(|class| class.printers.len() as i64);
        let most: i64 = found.iter().zip(printers).map(|(f, n)| n * f.as_ref().map_or(0, |f| f.0.max(0))).sum();
        let limits = self.rows().worth_of_limits(problem, self.room(), prices)[until as usize];
        let least = self.rows().worth_of_needs(problem, prices) - limits - most;
        // Idle minutes are whole.
        (least.max(0) + IDLE_UNIT - 1) / IDLE_UNIT
    }
}
