//! The room at one moment of a search, as far as what follows depends on it.
//!
//! Alike printers are kept in order of what they hold and when, so that states that differ only in names are equal.
//! Times before the present count as the present: nothing starts earlier any more.

use super::facts::Facts;
use crate::problem::Min;

/// What a printer is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    /// What it holds, see [`Holds::code`].
    pub code: i32,
    /// When it is free, or its plate is ready.
    pub time: Min,
    /// Modes (by position in the class's list) that it is not to load next: they would have fitted in before something
    /// that has been done since.
    pub skip: u32,
    /// Where idle minutes count: those up to the last harvest, none where there was none,
    pub idle: Min,
    /// and the minutes printed by the runs so far, the one on the printer included.
    pub printed: Min,
}

/// What a code says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// An empty plate, and a material (0: none, else its index and one); `owed`: the last run gave nothing, and was worth
    /// it only if another follows.
    Nothing { material: usize, owed: bool },
    /// A run, by mode and the epoch of its load; `carrier`: it gives nothing.
    Run { mode: usize, epoch: usize, carrier: bool },
}

impl Holds {
    pub(super) fn code(self) -> i32 {
        match self {
            Holds::Nothing { material, owed } => material as i32 * 2 + i32::from(owed),
            Holds::Run { mode, epoch, carrier } => {
                (1 << 24) | (epoch as i32) << 12 | (mode as i32) << 1 | i32::from(carrier)
            }
        }
    }

    pub(super) fn of(code: i32) -> Holds {
        if code & (1 << 24) == 0 {
            Holds::Nothing { material: (code >> 1) as usize, owed: code & 1 == 1 }
        } else {
            Holds::Run {
                mode: ((code >> 1) & 0x7ff) as usize,
                epoch: ((code >> 12) & 0xfff) as usize,
                carrier: code & 1 == 1,
            }
        }
    }
}

/// Parts given to a shipment that are not usable yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pending {
    pub pair: usize,
    pub usable: Min,
    pub count: i32,
}

/// The room at one moment.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct State {
    /// No task starts before.
    pub now: Min,
    /// One per printer, class by class.
    pub spots: Vec<Spot>,
    /// What each pair still needs to be given.
    pub rest: Vec<i32>,
    /// Boxes packed per line.
    pub packed: Vec<i32>,
    /// By order: the last moment of what it has been given and packed so far.
    pub ready: Vec<Min>,
    /// Operators at work beyond the present: team and until when.
    pub busy: Vec<(usize, Min)>,
    /// For shipments that are packed: what will be usable later than the present.
    pub pending: Vec<Pending>,
}

impl State {
    /// The room at the start, before stock is given out; `idle`: idle minutes count.
    pub(super) fn start(facts: &Facts<'_>, idle: bool) -> State {
        let spots = facts
            .printers
            .iter()
            .map(|&(c, _)| {
                let class = &facts.problem.classes[c];
                match &class.running {
                    Some(on) => {
                        let holds = Holds::Run { mode: on.mode, epoch: 0, carrier: false };
                        let printed = if idle { facts.problem.printed(c, on.mode, false, on.ready) } else { 0 };
                        Spot { code: holds.code(), time: on.ready.max(0), skip: 0, idle: 0, printed }
                    }
                    None => {
                        let material = class.material.map_or(0, |m| m + 1);
                        let code = Holds::Nothing { material, owed: false }.code();
                        Spot { code, time: 0, skip: 0, idle: 0, printed: 0 }
                    }
                }
            })
            .collect();
        State {
            now: 0,
            spots,
            rest: facts.pairs.iter().map(|p| p.need).collect(),
            packed: vec![0; facts.lines.len()],
            ready: vec![0; facts.problem.orders.len()],
            busy: Vec::new(),
            pending: Vec::new(),
        }
    }

    /// Copies into storage that is there already.
    pub(super) fn copy_from(&mut self, other: &State) {
        self.now = other.now;
        self.spots.clone_from(&other.spots);
        self.rest.clone_from(&other.rest);
        self.packed.clone_from(&other.packed);
        self.ready.clone_from(&other.ready);
        self.busy.clone_from(&other.busy);
        self.pending.clone_from(&other.pending);
    }

    /// Lets the past be the past and puts alike printers in order; `names` follow their printers.
    pub(super) fn settle(&mut self, facts: &Facts<'_>, names: Option<&mut Vec<usize>>) {
        let now = self.now;
        for spot in &mut self.spots {
            spot.time = spot.time.max(now);
        }
        self.busy.retain(|b| b.1 > now);
        self.busy.sort_unstable_by_key(|b| (b.0, -b.1));
        self.pending.retain(|p| p.usable > now);
        self.pending.sort_unstable();
        if let Some(names) = names {
            let mut order: Vec<usize> = (0..self.spots.len()).collect();
            order.sort_by_key(|&i| (facts.printers[i].0, self.spots[i]));
            self.spots = order.iter().map(|&i| self.spots[i]).collect();
            *names = order.iter().map(|&i| names[i]).collect();
            return;
        }
        let mut from = 0;
        for class in &facts.problem.classes {
            let to = from + class.printers.len();
            self.spots[from..to].sort_unstable();
            from = to;
        }
    }

    /// When somebody of the team is free; not before the team is there.
    pub(super) fn free(&self, facts: &Facts<'_>, team: usize) -> Min {
        let of_team = || self.busy.iter().filter(|b| b.0 == team).map(|b| b.1);
        let there = self.now.max(facts.teams[team].from);
        if of_team().count() < facts.teams[team].members.len() {
            there
        } else {
            of_team().min().unwrap_or(there).max(there)
        }
    }

    /// All needs are given and all boxes packed.
    pub(super) fn served(&self, facts: &Facts<'_>) -> bool {
        self.rest.iter().all(|&r| r == 0) && self.packed.iter().zip(&facts.lines).all(|(&k, l)| k == l.count)
    }
}
