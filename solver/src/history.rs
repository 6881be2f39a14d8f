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
//! One backward pass over `T` minutes costs `T` times the number of modes. Everything is an integer, so the same pass
//! serves the search and, on an empty room, the proof of the bound.

use crate::problem::{Class, Min, Problem};
use crate::room::Room;

const NEVER: i64 = i64::MIN / 4;

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
    /// Price of a minute without printing, up to the last harvest.
    pub idle: i64,
}

impl Tariff {
    /// The price of an operator from one minute to another.
    pub fn operators(&self, from: Min, to: Min) -> i64 {
        if self.operator.is_empty() { 0 } else { self.operator[to as usize] - self.operator[from as usize] }
    }

    /// The epoch of a load that starts at a minute.
    pub fn epoch(&self, load_from: Min) -> usize {
        self.epochs.partition_point(|&e| e <= load_from).saturating_sub(1)
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
    /// Empty from here (or ready, with what was on it at the start).
    pub from: Min,
    /// Must be empty again by here.
    pub to: Min,
    /// The material held at `from`; none: the first load needs no changeover.
    pub material: Option<usize>,
    /// What must be held at `to`.
    pub leave: Leave,
    /// The run that is on the printer at `from`, with its mode and ready minute.
    pub holding: Option<(usize, Min)>,
}

/// Working memory of [`best`], kept between calls.
#[derive(Debug, Default)]
pub struct Scratch {
    empty: Vec<i64>,
    ready: Vec<i64>,
}

struct Pass<'a> {
    problem: &'a Problem<'a>,
    room: &'a Room<'a>,
    class: &'a Class,
    down: &'a [Min],
    tariff: &'a Tariff,
    window: Window,
    /// Columns of the ready table: (mode, epoch) pairs that are worth anything.
    lanes: Vec<(usize, usize)>,
    lane_of: Vec<Vec<Option<usize>>>,
    kinds: usize,
}

/// The best history of a printer of the class within a window, and its value. `down` is
/// [`crate::room::next_down`] of the class.
///
/// Returns `None` where the window cannot be left as demanded (a held plate that can never be harvested).
pub fn best(
    room: &Room<'_>,
    class: &Class,
    down: &[Min],
    tariff: &Tariff,
    window: Window,
    scratch: &mut Scratch,
) -> Option<(i64, Vec<Leg>)> {
    let pass = Pass::new(room, class, down, tariff, window);
    pass.fill(scratch);
    pass.walk(scratch)
}

/// The value of every state within a window, for asking what to load when: the longest path left standing.
pub struct Outlook<'a> {
    pass: Pass<'a>,
    scratch: Scratch,
}

impl<'a> Outlook<'a> {
    /// Fills the tables for a class and a window; the window's `material` and `holding` are not used.
    pub fn new(
        room: &'a Room<'a>,
        class: &'a Class,
        down: &'a [Min],
        tariff: &'a Tariff,
        window: Window,
        mut scratch: Scratch,
    ) -> Outlook<'a> {
        let pass = Pass::new(room, class, down, tariff, window);
        pass.fill(&mut scratch);
        Outlook { pass, scratch }
    }

    /// The mode whose load at this minute is worth most, with its gain; among equals the first in table order.
    pub fn best_load(&self, at: Min, material: Option<usize>) -> Option<(usize, i64)> {
        let kind = self.pass.kind(material);
        let epoch = self.pass.tariff.epoch(at);
        let mut best: Option<(usize, i64)> = None;
        for &mode in &self.pass.class.modes {
            if let Some(lane) = self.pass.lane_of[mode][epoch] {
                let gain = self.pass.load_gain(lane, at, kind, &self.scratch.ready).0;
                if gain > NEVER && best.is_none_or(|b| gain > b.1) {
                    best = Some((mode, gain));
                }
            }
        }
        best
    }

    /// The value of being empty at a minute.
    pub fn empty(&self, at: Min, material: Option<usize>) -> i64 {
        self.scratch.empty[(at - self.pass.window.from) as usize * self.pass.kinds + self.pass.kind(material)]
    }

    /// Gives the working memory back.
    pub fn into_scratch(self) -> Scratch {
        self.scratch
    }
}

impl<'a> Pass<'a> {
    fn new(room: &'a Room<'a>, class: &'a Class, down: &'a [Min], tariff: &'a Tariff, window: Window) -> Pass<'a> {
        let problem = room.problem;
        let mut lanes = Vec::new();
        let mut lane_of = vec![vec![None; tariff.epochs.len()]; problem.modes.len()];
        let held = window.holding.map(|h| h.0);
        for mode in class.modes.iter().copied().chain(held.filter(|m| !class.modes.contains(m))) {
            for (epoch, lane) in lane_of[mode].iter_mut().enumerate() {
                let worth = tariff.value[mode][epoch].last().is_some_and(|s| s.0 >= window.from);
                if worth || (epoch == 0 && held == Some(mode)) {
                    *lane = Some(lanes.len());
                    lanes.push((mode, epoch));
                }
            }
        }
        let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
        Pass { problem, room, class, down, tariff, window, lanes, lane_of, kinds }
    }

    fn may_stop(&self) -> bool {
        self.window.leave == Leave::Anything
    }

    fn kind(&self, material: Option<usize>) -> usize {
        if self.kinds == 1 { 0 } else { material.unwrap_or(self.problem.materials) }
    }

    fn idle(&self, from: Min, to: Min) -> i64 {
        if self.tariff.idle == 0 {
            return 0;
        }
        let down: Min = self.class.downtime.iter().map(|d| (d.1.min(to) - d.0.max(from)).max(0)).sum();
        self.tariff.idle * i64::from(to - from - down)
    }

    fn nights(&self, print_from: Min, print_to: Min) -> i64 {
        if self.tariff.night.is_empty() {
            return 0;
        }
        self.tariff.night[self.room.night_after(print_to)] - self.tariff.night[self.room.night_after(print_from)]
    }

    fn harvest_gain(&self, mode: usize, epoch: usize, at: Min, empty: &[i64]) -> i64 {
        let end = at + self.problem.modes[mode].harvest;
        if end > self.window.to || !self.room.can_start(self.room.of_mode[mode].harvest, at) {
            return NEVER;
        }
        if end > at && self.down[at as usize] < end || end == at && self.is_down_inside(at) {
            return NEVER;
        }
        let kind = self.kind(Some(self.problem.modes[mode].material));
        let after = empty[(end - self.window.from) as usize * self.kinds + kind];
        if after <= NEVER {
            return NEVER;
        }
        after + self.tariff.value_of(mode, epoch, at) - self.tariff.operators(at, end) - self.idle(at, end)
    }

    /// Strictly inside a downtime: a task of no minutes may stand at its edge.
    fn is_down_inside(&self, at: Min) -> bool {
        at > 0 && self.down[at as usize] == at && self.down[at as usize - 1] == at - 1
    }

    /// The gain of loading a mode at a minute while holding a kind, and the minute it is ready.
    fn load_gain(&self, lane: usize, at: Min, kind: usize, ready: &[i64]) -> (i64, Min) {
        let mode_index = self.lanes[lane].0;
        let mode = &self.problem.modes[mode_index];
        let lengths = &self.room.of_mode[mode_index];
        let swap = self.kinds > 1 && kind != self.problem.materials && kind != mode.material;
        let length = if swap { lengths.change } else { lengths.load };
        if !self.room.can_start(length, at) {
            return (NEVER, 0);
        }
        let print_from = at + self.room.lengths[length];
        let print_to = print_from + mode.print;
        let end = print_to + mode.cool;
        if end > self.window.to || print_to > self.room.print_limit(print_from) || self.down[at as usize] < end {
            return (NEVER, 0);
        }
        let after = ready[(end - self.window.from) as usize * self.lanes.len() + lane];
        if after <= NEVER {
            return (NEVER, 0);
        }
        let idle = if self.tariff.idle == 0 { 0 } else { self.tariff.idle * i64::from(end - at - mode.print) };
        let gain = after - self.tariff.operators(at, print_from) - self.nights(print_from, print_to) - idle;
        (gain, end)
    }

    fn fill(&self, scratch: &mut Scratch) {
        let (from, to) = (self.window.from, self.window.to);
        let (kinds, lanes) = (self.kinds, self.lanes.len());
        let minutes = (to - from) as usize + 1;
        scratch.empty.clear();
        scratch.empty.resize(minutes * kinds, NEVER);
        scratch.ready.clear();
        scratch.ready.resize((minutes + 1) * lanes, NEVER);
        let (empty, ready) = (&mut scratch.empty, &mut scratch.ready);
        for kind in 0..kinds {
            let unknown = kind == self.problem.materials;
            let wanted = match self.window.leave {
                Leave::Anything => true,
                Leave::Holding(m) => kinds == 1 || unknown || kind == m,
                Leave::NotHolding(m) => kinds == 1 || (!unknown && kind != m),
            };
            empty[(minutes - 1) * kinds + kind] = if wanted { 0 } else { NEVER };
        }
        // Without a demanded material a history may stop anywhere at no further price.
        let stop = if self.may_stop() { 0 } else { NEVER };
        let mut epoch = self.tariff.epoch(to);
        for at in (from..=to).rev() {
            while epoch > 0 && self.tariff.epochs[epoch] > at {
                epoch -= 1;
            }
            let row = (at - from) as usize;
            let wait = self.idle(at, at + 1);
            for lane in 0..lanes {
                let (mode, e) = self.lanes[lane];
                let later = ready[(row + 1) * lanes + lane];
                let waited = if later <= NEVER { NEVER } else { later - wait };
                // Zero-minute harvests lead to the same minute: its empty values must stand first, see below.
                ready[row * lanes + lane] = if self.problem.modes[mode].harvest == 0 {
                    waited
                } else {
                    waited.max(self.harvest_gain(mode, e, at, empty))
                };
            }
            for kind in 0..kinds {
                let mut value = empty[row * kinds + kind];
                if row + 1 < minutes {
                    let later = empty[(row + 1) * kinds + kind];
                    value = value.max(if later <= NEVER { NEVER } else { later - wait });
                }
                value = value.max(stop);
                for &mode in &self.class.modes {
                    if let Some(lane) = self.lane_of[mode][epoch] {
                        value = value.max(self.load_gain(lane, at, kind, ready).0);
                    }
                }
                empty[row * kinds + kind] = value;
            }
            for lane in 0..lanes {
                let (mode, e) = self.lanes[lane];
                if self.problem.modes[mode].harvest == 0 {
                    let gain = self.harvest_gain(mode, e, at, empty);
                    let here = &mut ready[row * lanes + lane];
                    *here = (*here).max(gain);
                }
            }
        }
    }

    fn walk(&self, scratch: &Scratch) -> Option<(i64, Vec<Leg>)> {
        let (from, to) = (self.window.from, self.window.to);
        let (kinds, lanes) = (self.kinds, self.lanes.len());
        let (empty, ready) = (&scratch.empty, &scratch.ready);
        let mut legs = Vec::new();
        let mut at = from;
        let mut kind = self.kind(self.window.material);
        let total;
        let mut holding: Option<(usize, Leg)> = None;
        if let Some((mode, ready_at)) = self.window.holding {
            let lane = self.lane_of[mode][0]?;
            let m = &self.problem.modes[mode];
            let print_from = ready_at - m.to_ready();
            let start = ready_at.max(from);
            if start > to {
                return None;
            }
            let value = ready[(start - from) as usize * lanes + lane];
            if value <= NEVER {
                return None;
            }
            let print_to = print_from + m.print;
            let idle = self.idle(from, start) - self.tariff.idle * i64::from((print_to.min(start) - from).max(0));
            total = value - idle;
            at = start;
            let leg = Leg { mode, load_from: None, print_from, ready: ready_at, harvest_from: 0, harvest_to: 0 };
            holding = Some((lane, leg));
        } else {
            total = empty[kind];
            if total <= NEVER {
                return None;
            }
        }
        loop {
            if let Some((lane, mut leg)) = holding.take() {
                let (mode, epoch) = self.lanes[lane];
                while self.harvest_gain(mode, epoch, at, empty) != ready[(at - from) as usize * lanes + lane] {
                    at += 1;
                }
                leg.harvest_from = at;
                at += self.problem.modes[mode].harvest;
                leg.harvest_to = at;
                kind = self.kind(Some(self.problem.modes[mode].material));
                legs.push(leg);
                continue;
            }
            let row = (at - from) as usize;
            let value = empty[row * kinds + kind];
            if at >= to || (self.may_stop() && value == 0) {
                return Some((total, legs));
            }
            let epoch = self.tariff.epoch(at);
            let wait = self.idle(at, at + 1);
            let later = empty[(row + 1) * kinds + kind];
            // Among equals a load now beats a load later: what is early can still be moved.
            let choice = self.class.modes.iter().find_map(|&mode| {
                let lane = self.lane_of[mode][epoch]?;
                let (gain, end) = self.load_gain(lane, at, kind, ready);
                (gain == value).then_some((lane, mode, end))
            });
            match choice {
                Some((lane, mode, end)) => {
                    let m = &self.problem.modes[mode];
                    let print_from = end - m.to_ready();
                    let leg = Leg { mode, load_from: Some(at), print_from, ready: end, harvest_from: 0, harvest_to: 0 };
                    holding = Some((lane, leg));
                    at = end;
                }
                None => {
                    debug_assert!(later > NEVER && later - wait == value);
                    at += 1;
                }
            }
        }
    }
}
