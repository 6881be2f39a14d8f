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
use crate::room::{Room, is_clear};

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
                self.operators(from, leg.print_from) + nights
            });
            let epoch = leg.load_from.map_or(0, |from| self.epoch(from));
            self.value_of(leg.mode, epoch, leg.harvest_from) - load - self.operators(leg.harvest_from, leg.harvest_to)
        };
        legs.iter().map(of_leg).sum()
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
    /// By row and kind of material.
    empty: Vec<i64>,
    /// By lane and row.
    ready: Vec<i64>,
    /// Idle minutes up to each minute of the window, where they have a price.
    idle: Vec<i64>,
}

/// A mode as the pass runs it.
struct Gear<'a> {
    mode: usize,
    load: Min,
    change: Min,
    load_open: &'a [u8],
    change_open: &'a [u8],
    print: Min,
    cool: Min,
    harvest: Min,
    harvest_open: &'a [u8],
    kind: usize,
    loadable: bool,
    /// Lane by epoch of the load.
    lanes: Vec<Option<usize>>,
}

struct Lane<'a> {
    gear: usize,
    steps: &'a [(Min, i64)],
}

/// Rows of the tables are the minutes of the window in which somebody is on shift, and one more that stands for its
/// end: in between nothing can be loaded or harvested, so a printer there is worth what it is at the next row.
struct Pass<'a> {
    problem: &'a Problem<'a>,
    room: &'a Room<'a>,
    down: &'a [Min],
    tariff: &'a Tariff,
    window: Window,
    gears: Vec<Gear<'a>>,
    lanes: Vec<Lane<'a>>,
    kinds: usize,
    first_row: usize,
    rows: usize,
    nights_bind: bool,
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
    standing: Standing,
    scratch: &mut Scratch,
) -> Option<(i64, Vec<Leg>)> {
    let held: Vec<usize> = standing.holding.iter().map(|h| h.0).collect();
    let pass = Pass::new(room, class, down, tariff, window, &held);
    pass.fill(scratch);
    pass.walk(standing, scratch)
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
        down: &'a [Min],
        tariff: &'a Tariff,
        window: Window,
        held: &[usize],
        mut scratch: Scratch,
    ) -> Outlook<'a> {
        let pass = Pass::new(room, class, down, tariff, window, held);
        pass.fill(&mut scratch);
        Outlook { pass, scratch }
    }

    /// The best history of a printer that stands so, as [`best`] finds it.
    pub fn best_history(&self, standing: Standing) -> Option<(i64, Vec<Leg>)> {
        self.pass.walk(standing, &self.scratch)
    }

    /// The mode whose load at this minute is worth most, with its gain; among equals the first in table order.
    pub fn best_load(&self, at: Min, material: Option<usize>) -> Option<(usize, i64)> {
        let kind = self.pass.kind(material);
        let epoch = self.pass.tariff.epoch(at);
        let mut best: Option<(usize, i64)> = None;
        for gear in self.pass.gears.iter().filter(|g| g.loadable) {
            let gain = self.pass.load_gain(gear, epoch, at, kind, &self.scratch).0;
            if gain > NEVER && best.is_none_or(|b| gain > b.1) {
                best = Some((gear.mode, gain));
            }
        }
        best
    }

    /// The value of being empty at a minute.
    pub fn empty(&self, at: Min, material: Option<usize>) -> i64 {
        self.pass.after(at, self.pass.kind(material), &self.scratch)
    }

    /// Gives the working memory back.
    pub fn into_scratch(self) -> Scratch {
        self.scratch
    }
}

impl<'a> Pass<'a> {
    fn new(
        room: &'a Room<'a>,
        class: &'a Class,
        down: &'a [Min],
        tariff: &'a Tariff,
        window: Window,
        held: &[usize],
    ) -> Pass<'a> {
        let problem = room.problem;
        let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
        let mut lanes: Vec<Lane<'a>> = Vec::new();
        let mut gears = Vec::new();
        for mode in class.modes.iter().chain(held.iter().filter(|m| !class.modes.contains(m))).copied() {
            let m = &problem.modes[mode];
            let lengths = &room.of_mode[mode];
            let mut of_epoch = Vec::with_capacity(tariff.epochs.len());
            for (epoch, steps) in tariff.value[mode].iter().enumerate() {
                let carries = tariff.carriers && (kinds > 1 || tariff.idle > 0);
                let worth = carries || steps.last().is_some_and(|s| s.0 >= window.from);
                of_epoch.push((worth || (epoch == 0 && held.contains(&mode))).then(|| {
                    lanes.push(Lane { gear: gears.len(), steps });
                    lanes.len() - 1
                }));
            }
            gears.push(Gear {
                mode,
                load: m.load,
                change: m.load + problem.changeover,
                load_open: room.starts(lengths.load),
                change_open: room.starts(lengths.change),
                print: m.print,
                cool: m.cool,
                harvest: m.harvest,
                harvest_open: room.starts(lengths.harvest),
                kind: if kinds == 1 { 0 } else { m.material },
                loadable: class.modes.contains(&mode),
                lanes: of_epoch,
            });
        }
        let (first_row, last_row) = (room.row_after(window.from), room.row_after(window.to));
        let nights_bind = problem.night_minutes.is_some() || problem.night_printers.is_some();
        let rows = last_row - first_row + 1;
        Pass { problem, room, down, tariff, window, gears, lanes, kinds, first_row, rows, nights_bind }
    }

    fn may_stop(&self) -> bool {
        self.window.leave == Leave::Anything
    }

    fn kind(&self, material: Option<usize>) -> usize {
        if self.kinds == 1 { 0 } else { material.unwrap_or(self.problem.materials) }
    }

    #[inline(always)]
    fn row(&self, minute: Min) -> usize {
        self.room.row_after(minute) - self.first_row
    }

    /// The minute of a row; the last row stands for the window's end.
    #[inline(always)]
    fn minute(&self, row: usize) -> Min {
        if row + 1 >= self.rows { self.window.to } else { self.room.minute_of_row(self.first_row + row) }
    }

    /// The price of the minutes without printing between two minutes.
    #[inline(always)]
    fn idle(&self, from: Min, to: Min, scratch: &Scratch) -> i64 {
        if self.tariff.idle == 0 || to <= from {
            return 0;
        }
        let base = self.window.from;
        self.tariff.idle * (scratch.idle[(to - base) as usize] - scratch.idle[(from - base) as usize])
    }

    /// The value of being empty from a minute that need not be a row.
    #[inline(always)]
    fn after(&self, minute: Min, kind: usize, scratch: &Scratch) -> i64 {
        let row = self.row(minute);
        let value = scratch.empty[row * self.kinds + kind];
        if self.tariff.idle == 0 || value <= NEVER {
            return value;
        }
        let value = value - self.idle(minute, self.minute(row), scratch);
        if self.may_stop() { value.max(0) } else { value }
    }

    /// The value of holding a ready plate from a minute that need not be a row.
    #[inline(always)]
    fn held(&self, minute: Min, lane: usize, scratch: &Scratch) -> i64 {
        let row = self.row(minute);
        let value = scratch.ready[lane * self.rows + row];
        if value <= NEVER { NEVER } else { value - self.idle(minute, self.minute(row), scratch) }
    }

    #[inline(always)]
    fn nights(&self, print_from: Min, print_to: Min) -> i64 {
        if self.tariff.night.is_empty() {
            return 0;
        }
        self.tariff.night[self.room.night_after(print_to)] - self.tariff.night[self.room.night_after(print_from)]
    }

    #[inline(always)]
    fn harvest_gain(&self, gear: &Gear<'_>, at: Min, value: i64, scratch: &Scratch) -> i64 {
        let end = at + gear.harvest;
        if gear.harvest_open[at as usize] == 0 || end > self.window.to {
            return NEVER;
        }
        if !is_clear(self.down, at, end) {
            return NEVER;
        }
        let after = self.after(end, gear.kind, scratch);
        if after <= NEVER {
            return NEVER;
        }
        after + value - self.tariff.operators(at, end) - self.idle(at, end, scratch)
    }

    /// The gain of loading a mode at a minute while holding a kind, and the minute it is ready.
    fn load_gain(&self, gear: &Gear<'_>, epoch: usize, at: Min, kind: usize, scratch: &Scratch) -> (i64, Min) {
        let Some(lane) = gear.lanes[epoch] else { return (NEVER, 0) };
        let swap = self.kinds > 1 && kind != self.problem.materials && kind != gear.kind;
        self.gain(gear, lane, at, swap, scratch)
    }

    #[inline(always)]
    fn gain(&self, gear: &Gear<'_>, lane: usize, at: Min, swap: bool, scratch: &Scratch) -> (i64, Min) {
        let (open, minutes) = if swap { (gear.change_open, gear.change) } else { (gear.load_open, gear.load) };
        if open[at as usize] == 0 {
            return (NEVER, 0);
        }
        let print_from = at + minutes;
        let print_to = print_from + gear.print;
        let end = print_to + gear.cool;
        if end > self.window.to || self.down[at as usize] < end {
            return (NEVER, 0);
        }
        if self.nights_bind && print_to > self.room.print_limit(print_from) {
            return (NEVER, 0);
        }
        let after = self.held(end, lane, scratch);
        if after <= NEVER {
            return (NEVER, 0);
        }
        let idle = self.idle(at, print_from, scratch) + self.idle(print_to, end, scratch);
        (after - self.tariff.operators(at, print_from) - self.nights(print_from, print_to) - idle, end)
    }

    fn count_idle(&self, scratch: &mut Scratch) {
        scratch.idle.clear();
        if self.tariff.idle == 0 {
            return;
        }
        let mut sum = 0;
        scratch.idle.push(0);
        for minute in self.window.from..self.window.to {
            sum += i64::from(self.down[minute as usize] != minute);
            scratch.idle.push(sum);
        }
    }

    fn fill(&self, scratch: &mut Scratch) {
        let (rows, kinds) = (self.rows, self.kinds);
        self.count_idle(scratch);
        scratch.empty.clear();
        scratch.empty.resize(rows * kinds, NEVER);
        scratch.ready.clear();
        scratch.ready.resize(rows * self.lanes.len(), NEVER);
        for kind in 0..kinds {
            let unknown = kind == self.problem.materials;
            let wanted = match self.window.leave {
                Leave::Anything => true,
                Leave::Holding(m) => kinds == 1 || unknown || kind == m,
                Leave::NotHolding(m) => kinds == 1 || (!unknown && kind != m),
            };
            scratch.empty[(rows - 1) * kinds + kind] = if wanted { 0 } else { NEVER };
        }
        // Without a demanded material a history may stop anywhere at no further price.
        let stop = if self.may_stop() { 0 } else { NEVER };
        let mut epoch = self.tariff.epoch(self.window.to);
        // Values only rise as the harvest moves earlier: each lane keeps its place among its steps.
        let mut place: Vec<usize> = self.lanes.iter().map(|l| l.steps.len()).collect();
        let late_harvests = self.gears.iter().any(|g| g.harvest == 0);
        let mut loads: Vec<(usize, usize)> = Vec::with_capacity(self.gears.len());
        let mut loads_of = usize::MAX;
        // The end itself may be a minute at which something of no length can still be done.
        for row in (0..rows).rev() {
            let at = self.minute(row);
            while epoch > 0 && self.tariff.epochs[epoch] > at {
                epoch -= 1;
            }
            let wait = if row + 1 < rows { self.idle(at, self.minute(row + 1), scratch) } else { 0 };
            for (lane, (l, place)) in self.lanes.iter().zip(&mut place).enumerate() {
                while *place > 0 && l.steps[*place - 1].0 >= at {
                    *place -= 1;
                }
                let gear = &self.gears[l.gear];
                let later = if row + 1 < rows { scratch.ready[lane * rows + row + 1] } else { NEVER };
                let mut value = if later <= NEVER { NEVER } else { later - wait };
                if gear.harvest > 0 {
                    let worth = l.steps.get(*place).map_or(0, |s| s.1);
                    value = value.max(self.harvest_gain(gear, at, worth, scratch));
                }
                scratch.ready[lane * rows + row] = value;
            }
            for kind in 0..kinds {
                let mut value = scratch.empty[row * kinds + kind].max(stop);
                if row + 1 < rows {
                    let later = scratch.empty[(row + 1) * kinds + kind];
                    value = value.max(if later <= NEVER { NEVER } else { later - wait });
                }
                scratch.empty[row * kinds + kind] = value;
            }
            if loads_of != epoch {
                loads_of = epoch;
                loads.clear();
                let loadable = self.gears.iter().enumerate().filter(|g| g.1.loadable);
                loads.extend(loadable.filter_map(|(g, gear)| Some((g, gear.lanes[epoch]?))));
            }
            let here = row * kinds..(row + 1) * kinds;
            for &(g, lane) in &loads {
                let gear = &self.gears[g];
                let plain = self.gain(gear, lane, at, false, scratch).0;
                if kinds == 1 {
                    scratch.empty[here.start] = scratch.empty[here.start].max(plain);
                    continue;
                }
                let changed = self.gain(gear, lane, at, true, scratch).0;
                for (kind, value) in scratch.empty[here.clone()].iter_mut().enumerate() {
                    let same = kind == gear.kind || kind == self.problem.materials;
                    *value = (*value).max(if same { plain } else { changed });
                }
            }
            if late_harvests {
                // A harvest of no minutes leads to the same minute, whose empty values stand only now.
                for (lane, l) in self.lanes.iter().enumerate() {
                    let gear = &self.gears[l.gear];
                    if gear.harvest == 0 {
                        let worth = l.steps.get(place[lane]).map_or(0, |s| s.1);
                        let gain = self.harvest_gain(gear, at, worth, scratch);
                        let here = &mut scratch.ready[lane * rows + row];
                        *here = (*here).max(gain);
                    }
                }
            }
        }
    }

    fn walk(&self, standing: Standing, scratch: &Scratch) -> Option<(i64, Vec<Leg>)> {
        let (from, to) = (self.window.from, self.window.to);
        let mut legs = Vec::new();
        let mut at = from;
        let mut kind = self.kind(standing.material);
        let total;
        let mut holding: Option<(usize, Leg)> = None;
        if let Some((mode, ready_at)) = standing.holding {
            let lane = self.gears.iter().find(|g| g.mode == mode)?.lanes[0]?;
            let m = &self.problem.modes[mode];
            let start = ready_at.max(from);
            if start > to {
                return None;
            }
            let value = self.held(start, lane, scratch);
            if value <= NEVER {
                return None;
            }
            // It has printed since before the window opened, until it begins to cool.
            let print_from = ready_at - m.to_ready();
            let print_to = (ready_at - m.cool).clamp(from, start);
            total = value - self.idle(print_to, start, scratch);
            at = start;
            let leg = Leg { mode, load_from: None, print_from, ready: ready_at, harvest_from: 0, harvest_to: 0 };
            holding = Some((lane, leg));
        } else {
            total = self.after(from, kind, scratch);
            if total <= NEVER {
                return None;
            }
        }
        loop {
            let row = self.row(at);
            let here = self.minute(row).max(at);
            if let Some((lane, mut leg)) = holding.take() {
                let l = &self.lanes[lane];
                let gear = &self.gears[l.gear];
                let mut row = row;
                let mut at_row = here;
                loop {
                    let worth = l.steps.get(l.steps.partition_point(|s| s.0 < at_row)).map_or(0, |s| s.1);
                    let value = scratch.ready[lane * self.rows + row];
                    if value <= NEVER {
                        return None;
                    }
                    if self.harvest_gain(gear, at_row, worth, scratch) == value {
                        break;
                    }
                    row += 1;
                    if row >= self.rows {
                        return None;
                    }
                    at_row = self.minute(row);
                }
                leg.harvest_from = at_row;
                leg.harvest_to = at_row + gear.harvest;
                at = leg.harvest_to;
                kind = gear.kind;
                legs.push(leg);
                continue;
            }
            let value = scratch.empty[row * self.kinds + kind];
            let over = self.may_stop() && (value == 0 || self.after(at, kind, scratch) == 0);
            if over {
                return Some((total, legs));
            }
            let epoch = self.tariff.epoch(here);
            // Among equals a load now beats a load later: what is early can still be moved.
            let choice = self.gears.iter().filter(|g| g.loadable).find_map(|gear| {
                let (gain, end) = self.load_gain(gear, epoch, here, kind, scratch);
                (gain > NEVER && gain == value).then_some((gear, end))
            });
            match choice {
                Some((gear, end)) => {
                    let print_from = end - gear.cool - gear.print;
                    let leg = Leg {
                        mode: gear.mode,
                        load_from: Some(here),
                        print_from,
                        ready: end,
                        harvest_from: 0,
                        harvest_to: 0,
                    };
                    holding = gear.lanes[epoch].map(|lane| (lane, leg));
                    at = end;
                }
                None if row + 1 >= self.rows => return Some((total, legs)),
                None => at = self.minute(row + 1),
            }
        }
    }
}
