//! Boxes sooner: moves on a floor that makes all parts, judged by when its boxes are packed.
//!
//! A floor that has every part ready by its aim may still pack past it, because the last parts of many boxes come in the
//! same hour. Which printer brings what first is free as long as nothing is missing, and only the boxes tell the difference:
//! here a move is kept where nothing is missing after it and no more minutes of packing lie past the deadlines, summed over
//! boxes, than before. That sum falls box by box where the last box alone would stand still for a long time.
//!
//! Packing a floor is dear. In which order shipments are served changes seldom, so one order is asked at a time: the one
//! that was best, and now and then another.

use super::Search;
use crate::finish::{finish_in, turns};
use crate::problem::Min;
use crate::schedule::{Merit, Schedule};
use rand::Rng;

/// What packing a floor in one order counts, in steps of longest paths.
const PACKING: u64 = 10_000;
/// How often another order of serving shipments is asked.
const OTHER_ORDER: f64 = 0.2;

impl Search<'_> {
    /// The best plan found from a floor that has nothing missing and is packed late; `None` where none is packed sooner.
    pub fn pack_sooner(&mut self, deadlines: &[Min], work: u64, stop: &dyn Fn() -> bool) -> Option<(Merit, Schedule)> {
        let last = deadlines.iter().copied().max().unwrap_or(0);
        let past =
            |s: &Schedule| -> i64 { s.boxes.iter().map(|b| i64::from((b.task.to - deadlines[b.order]).max(0))).sum() };
        let turns = turns(self.floor.problem);
        let merit =
            |turn: &Vec<usize>, search: &Search<'_>| finish_in(&search.floor, false, std::slice::from_ref(turn));
        let by_turn = turns.iter().enumerate().filter_map(|(at, turn)| Some((past(&merit(turn, self)?.1), at)));
        let (mut over, mut turn) = by_turn.min()?;
        let mut best: Option<(Merit, Schedule)> = None;
        let (begun, mut moves) = (self.work, 0u64);
        while over > 0 && self.work - begun < work {
            moves += 1;
            if moves.is_multiple_of(16) && stop() {
                break;
            }
            self.work += 100;
            let (whole, log) = self.move_some(last);
            if log.is_empty() {
                continue;
            }
            let asked = if self.rng.random_bool(OTHER_ORDER) { self.rng.random_range(0..turns.len()) } else { turn };
            let met = whole && self.shortage() == 0;
            self.work += if met { PACKING } else { 0 };
            match met.then(|| merit(&turns[asked], self)).flatten() {
                Some((merit, plan)) if past(&plan) <= over => {
                    (over, turn) = (past(&plan), asked);
                    if best.as_ref().is_none_or(|b| merit < b.0) {
                        best = Some((merit, plan));
                    }
                }
                _ => self.undo(&log),
            }
        }
        best
    }
}
