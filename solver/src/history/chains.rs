//! Chains: as many long prints in one shift as it can take, each loaded as soon as the one before is harvested.
//!
//! A printer that has a plate to be harvested when a shift begins can do `k` prints of `P` minutes or more within the
//! shift only if every harvest follows its print nearly at once: with `c = H + L + P`, the harvest after `j` prints starts
//! by `to - H - (k - j) c`. All of a chain's choices are thus made in narrow stretches of time, and being *on track* after
//! `j` prints is a state of its own only within the `j`th of them: before it there is no such state, and after it the
//! printer is like any other.
//!
//! A history that completes a chain pays its price ([`crate::columns::chains`] tells why there is one). The states on
//! track are few, so they are computed minute by minute, beside the tables that the pass fills in blocks: whoever
//! harvests in the first of the narrow stretches *is* on track, and leaves the track by loading something else or by
//! letting a stretch go by.

use super::Leg;
use super::pass::{Pass, Tables, Worth};
use crate::problem::Min;

/// A chain that a printer may complete in a shift.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// The shift's first minute.
    pub from: Min,
    /// Its end.
    pub to: Min,
    /// Prints.
    pub prints: usize,
    /// The least minutes from one harvest's start to the next.
    pub cycle: Min,
    /// Minutes of a harvest.
    pub harvest: Min,
    /// The modes that count.
    pub modes: Vec<usize>,
}

impl Chain {
    /// The latest start of the harvest after so many prints, if the rest are to be done.
    pub fn latest(&self, prints: usize) -> Min {
        self.to - self.harvest - (self.prints - prints) as Min * self.cycle
    }

    /// No chain is complete sooner.
    pub fn complete_from(&self) -> Min {
        self.from + self.prints as Min * self.cycle + self.harvest
    }

    /// Whether a harvest that starts at a minute begins a chain, if what follows is to be one.
    pub fn begins(&self, harvest_from: Min) -> bool {
        (self.from..=self.latest(0)).contains(&harvest_from)
    }

    /// Whether a history completes it.
    pub fn is_in(&self, legs: &[Leg]) -> bool {
        legs.windows(self.prints + 1).any(|w| {
            self.begins(w[0].harvest_from)
                && w[1..].iter().all(|leg| self.modes.contains(&leg.mode))
                && w[self.prints].harvest_to <= self.to
        })
    }
}

/// Being on a chain's track: the chain, and the prints done or being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct On {
    chain: usize,
    prints: usize,
}

/// The values of the states on one chain's track, in the same measure as the pass's tables.
#[derive(Debug)]
pub(super) struct Track<T> {
    /// By prints done, by minute from the first at which the next harvest may start: being empty.
    empty: Vec<Vec<T>>,
    /// By prints, the last being the one that is ready, from one on; by mode of the chain; by minute.
    ready: Vec<Vec<Vec<T>>>,
}

impl Pass<'_> {
    /// The chain that a harvest at a minute begins.
    pub(super) fn begun(&self, harvest_from: Min) -> Option<On> {
        let chain = self.tariff.chains.iter().position(|c| c.0.begins(harvest_from))?;
        Some(On { chain, prints: 0 })
    }

    /// What harvests lead to that begin a chain within a block: from which minute of the block on, and the values.
    pub(super) fn begun_in<'t, T>(
        &self,
        from: Min,
        to: Min,
        tracks: &'t [Option<Track<T>>],
    ) -> Option<(usize, &'t [T])> {
        let index = self.tariff.chains.iter().position(|c| from <= c.0.from && c.0.from < to)?;
        let (chain, track) = (&self.tariff.chains[index].0, tracks[index].as_ref()?);
        let minutes = (chain.latest(0).min(to - 1) - chain.from) as usize + 1;
        Some(((chain.from - from) as usize, &track.empty[0][chain.harvest as usize..][..minutes]))
    }

    /// The first minute after the stretches in which chains begin, of those between two minutes.
    pub(super) fn end_of_begin(&self, from: Min, to: Min) -> Option<Min> {
        let ends = self.tariff.chains.iter().map(|c| c.0.latest(0) + 1);
        ends.filter(|&end| from < end && end < to).max()
    }

    /// Fills the track of the chain that begins between two minutes; all later minutes of the tables stand.
    pub(super) fn fill_track<T: Worth>(&self, from: Min, to: Min, tables: &mut Tables<T>) {
        let Some(index) = self.tariff.chains.iter().position(|c| from <= c.0.from && c.0.from < to) else { return };
        let chain = &self.tariff.chains[index].0;
        let width = (chain.latest(0) - chain.from) as usize + 1;
        let never = |minutes: usize| vec![T::NEVER; minutes];
        tables.tracks[index] = Some(Track {
            empty: vec![never(width + chain.harvest as usize); chain.prints],
            ready: vec![vec![never(width); chain.modes.len()]; chain.prints],
        });
        for prints in (0..=chain.prints).rev() {
            let on = On { chain: index, prints };
            let first = chain.from + prints as Min * chain.cycle;
            if prints < chain.prints {
                for at in (first + chain.harvest..=chain.latest(prints) + chain.harvest).rev() {
                    let value = self.empty_on(on, at, tables);
                    if let Some(track) = &mut tables.tracks[index] {
                        track.empty[prints][(at - first) as usize] = value;
                    }
                }
            }
            for (of, &mode) in chain.modes.iter().enumerate().filter(|_| prints > 0) {
                for at in (first..=chain.latest(prints)).rev() {
                    let value = self.ready_on(on, mode, at, tables);
                    if let Some(track) = &mut tables.tracks[index] {
                        track.ready[prints - 1][of][(at - first) as usize] = value;
                    }
                }
            }
        }
    }

    /// What being empty on track is worth: to load, to wait, or to stop.
    fn empty_on<T: Worth>(&self, on: On, at: Min, tables: &Tables<T>) -> T {
        if at > self.window.to {
            return T::NEVER;
        }
        let stop = if self.may_stop() { T::of(-self.idle(at, tables)) } else { T::NEVER };
        let epoch = self.tariff.epoch(at);
        let loads = self.gears.iter().filter(|g| g.loadable);
        let loads = loads.filter_map(|gear| self.gain(gear, epoch, at, 0, Some(on), tables)).map(|g| g.0);
        loads.chain([stop, self.empty_at(0, at + 1, Some(on), tables)]).max().unwrap_or(T::NEVER)
    }

    /// What a ready plate on track is worth: to harvest, or to wait.
    fn ready_on<T: Worth>(&self, on: On, mode: usize, at: Min, tables: &Tables<T>) -> T {
        let Some(lane) = self.lane_of(on, mode) else { return T::NEVER };
        let harvest = self.harvest_gain(lane, at, Some(on), tables).unwrap_or(T::NEVER);
        harvest.max(self.ready_at(lane, mode, at + 1, Some(on), tables))
    }

    /// The lane of a mode's plates; nothing is released within a shift that has a chain.
    fn lane_of(&self, on: On, mode: usize) -> Option<usize> {
        let gear = self.gears.iter().find(|g| g.mode == mode)?;
        gear.lanes[self.tariff.epoch(self.tariff.chains[on.chain].0.from)].map(|lane| lane.0)
    }

    /// The value of being empty at a minute, on track or not.
    pub(super) fn empty_at<T: Worth>(&self, kind: usize, at: Min, on: Option<On>, tables: &Tables<T>) -> T {
        if at > self.window.to {
            return T::NEVER;
        }
        match on.filter(|&on| self.is_on_when_empty(on, at)) {
            Some(on) => match &tables.tracks[on.chain] {
                Some(track) => track.empty[on.prints][(at - self.first_of(on)) as usize],
                None => T::NEVER,
            },
            None => tables.empty[self.place(kind, at)],
        }
    }

    /// The value of a plate that is ready at a minute, on track or not.
    pub(super) fn ready_at<T: Worth>(
        &self,
        lane: usize,
        mode: usize,
        at: Min,
        on: Option<On>,
        tables: &Tables<T>,
    ) -> T {
        if at > self.window.to {
            return T::NEVER;
        }
        let of = on.filter(|&on| self.is_on_when_ready(on, at)).and_then(|on| {
            let of = self.tariff.chains[on.chain].0.modes.iter().position(|&m| m == mode)?;
            Some((on, of))
        });
        match of {
            Some((on, of)) => match &tables.tracks[on.chain] {
                Some(track) => track.ready[on.prints - 1][of][(at - self.first_of(on)) as usize],
                None => T::NEVER,
            },
            None => tables.ready[self.place(lane, at)],
        }
    }

    /// Where a load leads.
    pub(super) fn loaded(&self, on: Option<On>, mode: usize, ready: Min) -> Option<On> {
        let on = on?;
        let next = On { prints: on.prints + 1, ..on };
        (self.tariff.chains[on.chain].0.modes.contains(&mode) && self.is_on_when_ready(next, ready)).then_some(next)
    }

    /// Where a harvest leads, and what it pays for a chain it completes.
    pub(super) fn harvested(&self, on: Option<On>, at: Min) -> (Option<On>, i64) {
        match on.filter(|&on| self.is_on_when_ready(on, at)) {
            Some(on) if on.prints == self.tariff.chains[on.chain].0.prints => (None, self.tariff.chains[on.chain].1),
            Some(on) => (Some(on), 0),
            None => (self.begun(at), 0),
        }
    }

    /// Is a printer whose plate is ready still on track at a minute?
    pub(super) fn is_on_when_ready(&self, on: On, at: Min) -> bool {
        on.prints > 0 && at <= self.tariff.chains[on.chain].0.latest(on.prints)
    }

    /// And one that is empty?
    pub(super) fn is_on_when_empty(&self, on: On, at: Min) -> bool {
        let chain = &self.tariff.chains[on.chain].0;
        at <= chain.latest(on.prints) + chain.harvest
    }

    fn first_of(&self, on: On) -> Min {
        let chain = &self.tariff.chains[on.chain].0;
        chain.from + on.prints as Min * chain.cycle
    }
}
