//! The best history of one printer: a longest path through the minutes.
//!
//! A printer is *empty* (holding some material) or its plate is *ready*. Arcs are: wait a minute; load and print a
//! plate, which leads from empty at the load's start to ready at its end; harvest, which leads from ready back to
//! empty. Arcs exist only where staff, downtime and nights allow. An arc carries the value of the parts it makes, less
//! the price of the operator minutes and of the place in the night it takes, less a price for minutes without printing.
//! Values depend on when the parts are usable (they must make a shipment's deadline) and on when they were loaded (not
//! before its release), so a ready plate remembers its mode and in which release *epoch* it was loaded.
//!
//! With `E[t][k]` the best value from empty at `t` holding material `k`, and `R[m][t]` from mode `m` ready at `t`:
//!
//! ```text
//! R[m][t] = max( R[m][t+1] - idle,  value(m, t) - operators(t, t+H) - idle*H + E[t+H][material of m] )
//! E[t][k] = max( 0,  E[t+1][k] - idle,  max over m: R[m][t+L+P+C] - operators(t, t+L) - nights - idle*(L+C) )
//! ```
//!
//! Everything is an integer, so the same pass serves the search and, on an empty room, the proof of the bound.
//!
//! # Why it is quick
//!
//! The search asks for some hundred thousand such paths, so three things are done about their cost.
//!
//! * **A potential takes the idle minutes away.** Let `I[t]` be the price of all minutes from the window's start to `t`
//!   that are not down. Count `E - I` and `R - I` instead of `E` and `R`: waiting is then free, a harvest costs no idle
//!   minutes, and a load gains the price of what it prints, a constant of its mode. Only stopping depends on the minute.
//! * **Alike modes share their ready plates.** A plate that is ready only waits for its harvest. Modes with the same
//!   harvest minutes, the same material and the same steps of value but for a constant have the same `R` but for that
//!   constant; it is kept once (a *lane*), and the constant is paid at the load.
//! * **Minutes are done in blocks.** A load leads at least `L+P+C` minutes ahead, so for a block of no more minutes than
//!   the shortest of these, all `R` that the block's loads lead to are known beforehand: the block is one run over
//!   contiguous numbers per mode, which compilers turn into vector instructions. What is closed (no operator, downtime,
//!   a full night) is masked, by minute or as a few ranges per mode. In an unattended stretch nothing can be done, and
//!   both tables are constant there.
//!
//! Where the figures of a window are small enough, they are kept in 32 bits, and in 64 otherwise. A few states more, in
//! which a printer is on its way to the most prints a shift can take, are told in [`chains`].

pub mod chains;
mod fill;
mod pass;
mod walk;

pub(crate) use fill::BLOCK;

use crate::problem::{Class, Min, Problem};
use crate::room::Room;
use chains::Chain;
use pass::{Pass, Tables};

/// What a run of a mode is worth, by when its harvest starts: steps of (latest harvest start, value), latest ascending.
pub type Steps = Vec<(Min, i64)>;

/// Values and prices a history is judged by; the unit is the caller's.
#[derive(Debug, Clone)]
pub struct Tariff {
    /// First minutes of the release epochs, ascending, the first 0 or less.
    pub epochs: Vec<Min>,
    /// Steps by mode and epoch of the load.
    pub value: Vec<Vec<Steps>>,
    /// Price of one operator's minutes, summed up to each minute (empty: free).
    pub operator: Vec<i64>,
    /// Price of a place in each night, summed over nights before each one (empty: free).
    pub night: Vec<i64>,
    /// Price of a load that is over at each minute, and what a printer gets back that stands empty across a minute and
    /// loads again ([`crate::columns::mornings`]); empty: free.
    pub early: Vec<i64>,
    /// By minute, in order.
    pub spared: Vec<(Min, i64)>,
    /// Prices of [`chains`], at most one of a shift.
    pub chains: Vec<(Chain, i64)>,
    /// Price of a task for which operators on shift would have to leave another; none: they do not.
    pub push: Option<i64>,
    /// Price of a minute without printing, up to the last harvest.
    pub idle: i64,
    /// Whether runs that are worth nothing may be used all the same, because they carry a changeover to a time when
    /// there is staff for it, or print through a wait where idle minutes count. A bound must allow them; a search may
    /// leave them out.
    pub carriers: bool,
}

impl Tariff {
    /// The price of an operator from one minute to another.
    pub fn operators(&self, from: Min, to: Min) -> i64 {
        if self.operator.is_empty() { 0 } else { self.operator[to as usize] - self.operator[from as usize] }
    }

    /// The price of a load that is over at a minute because of what mornings can take.
    pub fn early(&self, load_to: Min) -> i64 {
        self.early.get(load_to as usize).copied().unwrap_or(0)
    }

    /// What a printer gets back that stands empty across a minute and loads again.
    pub fn spared_at(&self, minute: Min) -> Option<i64> {
        self.spared.binary_search_by_key(&minute, |s| s.0).ok().map(|at| self.spared[at].1)
    }

    /// The epoch of a load that starts at a minute.
    pub fn epoch(&self, load_from: Min) -> usize {
        self.epochs.partition_point(|&e| e <= load_from).saturating_sub(1)
    }

    /// The value of a whole history, idle minutes left out.
    pub fn of_history(&self, problem: &Problem<'_>, room: &Room<'_>, legs: &[Leg]) -> i64 {
        let of_leg = |leg: &Leg| {
            let load = leg.load_from.map_or(0, |from| {
                let print_to = leg.print_from + problem.modes[leg.mode].print;
                let nights = if self.night.is_empty() {
                    0
                } else {
                    self.night[room.night_after(print_to)] - self.night[room.night_after(leg.print_from)]
                };
                self.operators(from, leg.print_from) + nights + self.early(leg.print_from)
            });
            let epoch = leg.load_from.map_or(0, |from| self.epoch(from));
            self.value_of(leg.mode, epoch, leg.harvest_from) - load - self.operators(leg.harvest_from, leg.harvest_to)
        };
        let mut empty_from = 0;
        let mut back = 0;
        for leg in legs {
            if let Some(from) = leg.load_from {
                back += self.spared.iter().filter(|s| empty_from <= s.0 && s.0 <= from).map(|s| s.1).sum::<i64>();
            }
            empty_from = leg.harvest_to;
        }
        let chained: i64 = self.chains.iter().filter(|c| c.0.is_in(legs)).map(|c| c.1).sum();
        back - chained + legs.iter().map(of_leg).sum::<i64>()
    }

    /// The value of a run of a mode.
    pub fn value_of(&self, mode: usize, epoch: usize, harvest_from: Min) -> i64 {
        let steps = &self.value[mode][epoch];
        steps.get(steps.partition_point(|s| s.0 < harvest_from)).map_or(0, |s| s.1)
    }
}

/// One run of a history.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leg {
    /// Its mode.
    pub mode: usize,
    /// Load start, changeover included; none for the run that was there at the start.
    pub load_from: Option<Min>,
    /// Load end and print start (print end less its minutes for the run that was there).
    pub print_from: Min,
    /// Printed and cooled.
    pub ready: Min,
    /// Harvest start.
    pub harvest_from: Min,
    /// Harvest end.
    pub harvest_to: Min,
}

/// What a printer must hold when a window closes, because the load that follows stays as long as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leave {
    /// Anything; a history may also stop early.
    Anything,
    /// This material: the load that follows has no changeover in it.
    Holding(usize),
    /// Another material: the load that follows has one.
    NotHolding(usize),
}

/// The part of a printer's time that is open to planning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// Open from here.
    pub from: Min,
    /// Must be empty again by here.
    pub to: Min,
    /// What must be held at `to`.
    pub leave: Leave,
}

/// How a printer stands when a window opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// The material it holds; none: the first load needs no changeover.
    pub material: Option<usize>,
    /// The run that is on it, with its mode and ready minute.
    pub holding: Option<(usize, Min)>,
}

impl Standing {
    /// How the printers of a class stand at the start.
    pub fn at_start(class: &Class) -> Standing {
        Standing { material: class.material, holding: class.running.as_ref().map(|r| (r.mode, r.ready)) }
    }
}

/// Working memory of [`best`], kept between calls.
#[derive(Debug, Default)]
pub struct Scratch {
    narrow: Tables<i32>,
    wide: Tables<i64>,
}

/// The best history of a printer of the class within a window, and its value.
///
/// Returns `None` where the window cannot be left as demanded (a held plate that can never be harvested).
pub fn best(
    room: &Room<'_>,
    class: &Class,
    tariff: &Tariff,
    window: Window,
    standing: Standing,
    scratch: &mut Scratch,
) -> Option<(i64, Vec<Leg>)> {
    if window.to < window.from {
        return None;
    }
    let held: Vec<usize> = standing.holding.iter().map(|h| h.0).collect();
    let pass = Pass::new(room, class, tariff, window, &held);
    if pass.is_narrow() {
        pass.fill(&mut scratch.narrow);
        pass.walk(standing, &scratch.narrow)
    } else {
        pass.fill(&mut scratch.wide);
        pass.walk(standing, &scratch.wide)
    }
}

/// The value of every state within a window, for asking what to load when: the longest path left standing.
pub struct Outlook<'a> {
    pass: Pass<'a>,
    scratch: Scratch,
}

impl<'a> Outlook<'a> {
    /// Fills the tables for a class and a window, and all other classes that differ from it only in how they stand;
    /// `held` are the modes they hold then.
    pub fn new(
        room: &'a Room<'a>,
        class: &'a Class,
        tariff: &'a Tariff,
        window: Window,
        held: &[usize],
        mut scratch: Scratch,
    ) -> Outlook<'a> {
        let pass = Pass::new(room, class, tariff, window, held);
        if pass.is_narrow() {
            pass.fill(&mut scratch.narrow)
        } else {
            pass.fill(&mut scratch.wide)
        }
        Outlook { pass, scratch }
    }

    /// The best history of a printer that stands so, as [`best`] finds it.
    pub fn best_history(&self, standing: Standing) -> Option<(i64, Vec<Leg>)> {
        if self.pass.is_narrow() {
            self.pass.walk(standing, &self.scratch.narrow)
        } else {
            self.pass.walk(standing, &self.scratch.wide)
        }
    }

    /// The mode whose load at this minute is worth most, with its gain; among equals the first in table order.
    pub fn best_load(&self, at: Min, material: Option<usize>) -> Option<(usize, i64)> {
        if self.pass.is_narrow() {
            self.pass.best_load(at, material, &self.scratch.narrow)
        } else {
            self.pass.best_load(at, material, &self.scratch.wide)
        }
    }

    /// The value of being empty at a minute.
    pub fn empty(&self, at: Min, material: Option<usize>) -> i64 {
        if self.pass.is_narrow() {
            self.pass.empty_value(at, material, &self.scratch.narrow)
        } else {
            self.pass.empty_value(at, material, &self.scratch.wide)
        }
    }

    /// Gives the working memory back.
    pub fn into_scratch(self) -> Scratch {
        self.scratch
    }
}
