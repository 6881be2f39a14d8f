//! The climb: from one makespan that prices exclude to the next, until none do.

use super::master::{Column, Master};
use super::prices::{Prices, Rows};
use super::reach::{best_by_minute, least_tail};
use crate::history::{Leave, Scratch, Window, best};
use crate::problem::{Min, Problem};
use crate::room::{Room, next_down};

/// What the climb found.
#[derive(Debug, Clone)]
pub struct Bound {
    /// No plan that keeps the deadlines is ready before this minute.
    pub makespan: Min,
    /// The prices that prove it.
    pub prices: Option<Prices>,
    /// The columns known, with how many printers follow each in the last fractional plan.
    pub columns: Vec<(Column, f64)>,
    /// Whether the climb ended because no prices exclude the bound.
    pub closed: bool,
}

/// How long the climb may go on.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Most columns priced.
    pub rounds: usize,
    /// Minutes of a slot of operator time.
    pub slot: Min,
}

/// The relaxation of an instance under deadlines for its shipments.
pub struct Relaxation<'p> {
    problem: &'p Problem<'p>,
    room: Room<'p>,
    down: Vec<Vec<Min>>,
    deadlines: Vec<Min>,
    rows: Rows,
}

impl<'p> Relaxation<'p> {
    /// The relaxation with slots of so many minutes.
    pub fn new(problem: &'p Problem<'p>, deadlines: &[Min], slot: Min) -> Relaxation<'p> {
        Relaxation {
            problem,
            room: Room::new(problem),
            down: problem.classes.iter().map(|c| next_down(c, problem.horizon)).collect(),
            deadlines: deadlines.iter().map(|&d| d.min(problem.horizon)).collect(),
            rows: Rows::new(problem, slot),
        }
    }

    /// The rows that are priced.
    pub fn rows(&self) -> &Rows {
        &self.rows
    }

    /// The first makespan up to `until` that the prices do not exclude; `until + 1` where they exclude all.
    pub fn first_not_excluded(&self, prices: &Prices, until: Min) -> Min {
        let problem = self.problem;
        let tariff = self.rows.tariff(problem, prices, &self.deadlines, 0);
        let worth = self.rows.worth_of_needs(problem, prices);
        let limits = self.rows.worth_of_limits(problem, &self.room, prices);
        let tail = least_tail(problem);
        let reach: Vec<(i64, Vec<i64>)> = problem
            .classes
            .iter()
            .zip(&self.down)
            .map(|(class, down)| {
                (class.printers.len() as i64, best_by_minute(&self.room, class, down, &tariff, until))
            })
            .collect();
        let possible = |t: Min| {
            let ended = t - tail;
            let printers: i64 =
                if ended < 0 { 0 } else { reach.iter().map(|(n, best)| n * best[ended as usize]).sum() };
            worth <= printers + limits[t as usize]
        };
        // Both sides of the test only grow with the makespan.
        let (mut low, mut high) = (0, until + 1);
        while low < high {
            let middle = (low + high) / 2;
            if possible(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        low
    }

    /// Climbs from `from` (a makespan known to be no more than the best) up to at most `until`, starting from known
    /// histories.
    pub fn climb(
        &self,
        from: Min,
        until: Min,
        known: &[Column],
        effort: Effort,
        stop: &dyn Fn(Min) -> bool,
    ) -> Bound {
        let mut columns: Vec<Column> = known.to_vec();
        let mut found = Bound { makespan: from, prices: None, columns: Vec::new(), closed: false };
        let mut target = until;
        let mut rounds = 0;
        let mut scratch = Scratch::default();
        'climb: while rounds < effort.rounds && !stop(found.makespan) {
            let deadlines: Vec<Min> = self.deadlines.iter().map(|&d| d.min(target)).collect();
            let mut master = Master::new(self.problem, &self.room, &self.rows, &deadlines, target);
            let neutral = Prices {
                need: vec![1; self.rows.needs.len()],
                slot: vec![0; self.rows.slots.len()],
                night: vec![0; self.problem.nights.len()],
            };
            columns = columns.iter().map(|c| cut(c, target)).collect();
            for column in &columns {
                master.add(column, &neutral);
            }
            loop {
                rounds += 1;
                let Some(solved) = master.solve() else { break 'climb };
                found.columns = columns.iter().cloned().zip(solved.weights.iter().copied()).collect();
                if solved.share >= 1.0 - 1e-9 {
                    if target <= found.makespan {
                        found.closed = true;
                        break 'climb;
                    }
                    // This makespan cannot be excluded: look lower, where the bound may still climb.
                    let first = self.first_not_excluded(&solved.prices, target);
                    if first > found.makespan {
                        found.makespan = first;
                        found.prices = Some(solved.prices.clone());
                    }
                    target = if target - found.makespan > 4 { (found.makespan + target) / 2 } else { found.makespan };
                    continue 'climb;
                }
                if rounds >= effort.rounds || stop(found.makespan) {
                    break 'climb;
                }
                let tariff = self.rows.tariff(self.problem, &solved.prices, &deadlines, 0);
                let mut progress = false;
                for (c, class) in self.problem.classes.iter().enumerate() {
                    let window = Window {
                        from: 0,
                        to: target,
                        material: class.material,
                        leave: Leave::Anything,
                        holding: class.running.as_ref().map(|r| (r.mode, r.ready)),
                    };
                    let Some((value, legs)) = best(&self.room, class, &self.down[c], &tariff, window, &mut scratch)
                    else {
                        continue;
                    };
                    if value > solved.printer[c] + 1000 {
                        let column = Column { class: c, legs };
                        master.add(&column, &solved.prices);
                        columns.push(column);
                        progress = true;
                    }
                }
                let first = self.first_not_excluded(&solved.prices, until);
                if first > found.makespan {
                    found.makespan = first;
                    found.prices = Some(solved.prices.clone());
                }
                if found.makespan > target || !progress {
                    if found.makespan > until {
                        break 'climb;
                    }
                    if !progress && found.makespan <= target {
                        found.closed = true;
                        break 'climb;
                    }
                    target = found.makespan;
                    continue 'climb;
                }
            }
        }
        found
    }
}

/// The history with only the runs that are over by a minute.
fn cut(column: &Column, until: Min) -> Column {
    Column { class: column.class, legs: column.legs.iter().copied().filter(|l| l.harvest_to <= until).collect() }
}
