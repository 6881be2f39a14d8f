//! Rounds of columns: prices from the master, histories for the prices, until the two agree.
//!
//! Whatever prices a master proposes bound what it asks for: the share of all needs that can be met, or how few idle
//! minutes there can be. What its own columns reach lies on the other side. Prices that a young master proposes swing
//! wildly. Columns are therefore asked for at a blend of them with the *steady* ones, those that so far bound best (the
//! smoothing of Wentges, 1997), and at the master's own. The climb of the bound, the bound on idle minutes and the dives
//! all go in such rounds.

use super::master::{Aim, Column, Master};
use super::prices::{IDLE_UNIT, Prices, Rows};
use super::pricing::best_histories;
use crate::history::Scratch;
use crate::problem::{Min, Problem};
use crate::room::Room;

/// The weight, in thousandths, of the steady prices.
const STEADY: i64 = 800;

/// What is priced.
#[derive(Clone, Copy)]
pub struct Priced<'a, 'p> {
    /// The instance.
    pub problem: &'a Problem<'p>,
    /// What is left of operators and nights.
    pub room: &'a Room<'p>,
    /// The rows.
    pub rows: &'a Rows,
    /// By shipment.
    pub deadlines: &'a [Min],
    /// The last of them.
    pub until: Min,
    /// What the master asks for.
    pub aim: Aim,
}

/// How long rounds go on.
pub struct Patience<'s> {
    /// Until columns reach what prices allow, as near as this says of what is allowed and what is reached,
    pub near: &'s dyn Fn(f64, f64) -> bool,
    /// or so many rounds are done,
    pub rounds: usize,
    /// or this says so.
    pub stop: &'s dyn Fn() -> bool,
}

/// Whether what is reached lies within a part of itself of what is allowed.
pub fn within(part: f64) -> impl Fn(f64, f64) -> bool {
    move |allowed, reached| allowed - reached < part * reached.abs()
}

/// What rounds came to.
#[derive(Debug, Clone)]
pub struct Agreed {
    /// How many printers follow each column.
    pub weights: Vec<f64>,
    /// The greatest share that prices allow; or the fewest idle minutes, negative, in thousandths.
    pub allowed: f64,
    /// The prices that say so.
    pub steady: Option<Prices>,
    /// How many rounds it took.
    pub rounds: usize,
    /// The solver gave up.
    pub failed: bool,
}

impl Priced<'_, '_> {
    /// Rounds with known columns, to which those found are added, and from known prices where there are some.
    pub fn agree(
        &self,
        columns: &mut Vec<Column>,
        steady: Option<Prices>,
        patience: &Patience<'_>,
        scratch: &mut Scratch,
    ) -> Agreed {
        let Priced { problem, room, rows, deadlines, until, aim } = *self;
        let mut master = Master::new(problem, room, rows, deadlines, until, aim);
        let (idle, hardly) = match aim {
            Aim::Share => (0, 1000),
            Aim::Idle => (IDLE_UNIT, 1),
        };
        columns.iter().for_each(|c| master.add(c));
        let mut agreed = Agreed { weights: Vec::new(), allowed: f64::INFINITY, steady, rounds: 0, failed: false };
        while !(patience.stop)() {
            agreed.rounds += 1;
            let Some(solved) = master.solve() else {
                (agreed.weights, agreed.failed) = (Vec::new(), true);
                break;
            };
            agreed.weights = solved.weights;
            if (patience.near)(agreed.allowed, solved.reached) || agreed.rounds >= patience.rounds {
                break;
            }
            let own = rows.tariff(problem, &solved.prices, deadlines, idle);
            let mut progress = false;
            for weight in [STEADY, 0] {
                let prices = match &agreed.steady {
                    Some(steady) if weight > 0 => steady.blend(&solved.prices, weight),
                    _ if weight > 0 => continue,
                    _ => solved.prices.clone(),
                };
                let tariff = rows.tariff(problem, &prices, deadlines, idle);
                let mut most = rows.worth_of_limits(problem, room, &prices)[until as usize];
                for (class, found) in best_histories(problem, room, &tariff, until, scratch).into_iter().enumerate() {
                    let printers = problem.classes[class].printers.len() as i64;
                    let Some((value, legs)) = found.filter(|_| printers > 0) else { continue };
                    most += value.max(0) * printers;
                    let column = Column { class, legs };
                    let worth = own.of_history(problem, room, &column.legs) - idle * master.idle_of(&column);
                    if worth > solved.printer[class] + hardly {
                        master.add(&column);
                        columns.push(column);
                        progress = true;
                    }
                }
                let needs = rows.worth_of_needs(problem, &prices);
                let allowed = match aim {
                    Aim::Share if needs > 0 => most as f64 / needs as f64,
                    Aim::Share => f64::INFINITY,
                    Aim::Idle => (most - needs) as f64,
                };
                if allowed < agreed.allowed {
                    agreed.allowed = allowed;
                    agreed.steady = Some(prices);
                }
            }
            if !progress {
                break;
            }
        }
        agreed
    }
}
