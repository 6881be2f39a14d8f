//! A floor from the relaxation: follow its heaviest histories, relax what is left again, and so on to the last printer.
//!
//! The relaxation of the bound ([`crate::columns`]) says how many printers should follow which history, in fractions. A
//! search that starts from an empty floor has to find out by itself which nights and which long plates belong together;
//! here the relaxation tells it. A *dive* books the histories with the greatest weights on real printers, minute by
//! minute and operator by operator. What is left (printers, operators' minutes, places in nights, copies still missing)
//! is an instance like the first, only smaller, and its relaxation knows what the booked histories took: its own
//! histories are longest paths through the room as it is now, so each of them can be booked. The last few printers fit
//! badly, because the fewer they are the more a fraction weighs; mending that is what the search is good at.
//!
//! Most of the choices that decide how well the last printers fit are made late, and relaxing is dearest early. So a dive
//! can be halted half way and gone on with more than once, each time with other luck.
//!
//! Diving by column generation without backtracking is described by Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa in
//! *INFORMS Journal on Computing* 31 (2019) 251-267 (from memory).

mod left;

use crate::columns::master::Column;
use crate::floor::Floor;
use crate::history::Scratch;
use crate::problem::Min;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The part of the free printers that is given histories before what is left is relaxed again.
const PART: usize = 12;
/// By how much luck may raise a weight.
const LUCK: f64 = 1.0;

/// A dive under way.
#[derive(Clone)]
pub struct Dive<'p> {
    /// The floor as far as it has come.
    pub floor: Floor<'p>,
    deadlines: Vec<Min>,
    /// Printers without a history.
    free: Vec<usize>,
    columns: Vec<Column>,
    rounds: u64,
}

impl<'p> Dive<'p> {
    /// From a floor without runs.
    pub fn new(floor: Floor<'p>, deadlines: &[Min]) -> Dive<'p> {
        let free = (0..floor.machines.len()).collect();
        Dive { floor, deadlines: deadlines.to_vec(), free, columns: Vec::new(), rounds: 0 }
    }

    /// How many rounds of columns were priced.
    pub fn rounds(&self) -> u64 {
        self.rounds
    }

    /// Gives histories to printers until so many are without, nothing is missing, or no history is worth following.
    pub fn go_on(&mut self, without: usize, seed: u64, stop: &dyn Fn() -> bool) {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut scratch = Scratch::default();
        while self.free.len() > without && !self.floor.demand.is_met() && !stop() {
            let weights = self.relax_what_is_left(&mut scratch);
            let mut heavy: Vec<(f64, usize)> = weights.iter().copied().zip(0..).filter(|w| w.0 > 1e-6).collect();
            heavy.iter_mut().for_each(|w| w.0 *= 1.0 + LUCK * rng.random::<f64>());
            heavy.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let most = (self.free.len() / PART).max(1);
            let before = self.free.len();
            for (_, at) in heavy {
                self.follow(at, weights[at] as usize, before - most);
                if self.free.len() <= before - most {
                    break;
                }
            }
            if self.free.len() == before {
                break;
            }
        }
    }

    /// Lets as many printers follow a history as its weight says, one at least, while more than so many are free.
    fn follow(&mut self, column: usize, weight: usize, leave: usize) {
        let column = self.columns[column].clone();
        for _ in 0..weight.max(1) {
            let of_class = |m: &usize| self.floor.machines[*m].class == column.class;
            let next = self.free.iter().position(of_class).filter(|_| self.free.len() > leave);
            let Some(next) = next else { return };
            if !self.book(self.free[next], &column) {
                return;
            }
            self.free.remove(next);
        }
    }

    /// Books a history on an empty printer, whole or not at all.
    fn book(&mut self, machine: usize, column: &Column) -> bool {
        for (at, &leg) in column.legs.iter().enumerate() {
            if !left::has_place(&self.floor, &leg) || !self.floor.book(machine, at, leg) {
                for at in (0..at).rev() {
                    self.floor.unbook(machine, at);
                }
                return false;
            }
        }
        true
    }
}
