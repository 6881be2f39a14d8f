//! What can be done next, each at its earliest.

use super::facts::{Facts, Fence, NEVER};
use super::goal::Goal;
use super::state::{Holds, Spot, State};
use crate::problem::Min;

/// A task. The numbers are small, as the instance is; there are many tasks to remember.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Task {
    /// Of a mode onto a printer.
    Load { spot: u16, mode: u16, carrier: bool },
    /// Of a printer.
    Harvest { spot: u16 },
    /// The next box of a line.
    Pack { line: u16 },
}

/// A task with its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Move {
    pub task: Task,
    pub team: u16,
    pub from: Min,
    pub to: Min,
}

/// A load that would fit before others: what is remembered of it where it is not chosen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Passed {
    pub spot: usize,
    pub position: usize,
    pub from: Min,
    pub to: Min,
}

/// An empty printer; `alike`: the one before it is just like it, and stands for it.
struct Empty {
    spot: usize,
    class: usize,
    material: usize,
    owed: bool,
    alike: bool,
}

/// Everything that can be done next.
#[derive(Debug, Default)]
pub(super) struct Moves {
    pub all: Vec<Move>,
    pub passed: Vec<Passed>,
    /// Tasks that come in every plan: their earliest place.
    forced: Vec<Move>,
    places: Vec<(u16, Min)>,
}

impl Moves {
    /// Fills in what can be done from a state.
    pub(super) fn find(&mut self, facts: &Facts<'_>, goal: &Goal, state: &State) {
        self.all.clear();
        self.passed.clear();
        self.forced.clear();
        for spot in 0..state.spots.len() {
            let alike = spot > 0
                && facts.printers[spot].0 == facts.printers[spot - 1].0
                && state.spots[spot] == state.spots[spot - 1];
            match Holds::of(state.spots[spot].code) {
                Holds::Run { mode, .. } if !alike => self.harvest(facts, state, spot, mode),
                Holds::Run { .. } => {}
                Holds::Nothing { material, owed } => {
                    let class = facts.printers[spot].0;
                    let empty = Empty { spot, class, material, owed, alike };
                    for position in 0..facts.problem.classes[class].modes.len() {
                        self.load(facts, goal, state, &empty, position);
                    }
                }
            }
        }
        for line in 0..facts.lines.len() {
            self.pack(facts, state, line);
        }
        let forced = &self.forced;
        self.all.retain(|m| !forced.iter().any(|f| comes_first(f, m)));
    }

    fn harvest(&mut self, facts: &Facts<'_>, state: &State, spot: usize, mode: usize) {
        let class = facts.printers[spot].0;
        let minutes = facts.problem.modes[mode].harvest;
        self.place(facts, state, state.spots[spot].time, minutes, |from| facts.harvest_from(class, mode, from));
        self.take(Task::Harvest { spot: spot as u16 }, minutes, true);
    }

    /// The loads of a mode onto an empty printer: at the earliest, and from each fence on that makes a difference.
    fn load(&mut self, facts: &Facts<'_>, goal: &Goal, state: &State, empty: &Empty, position: usize) {
        let mode = facts.problem.classes[empty.class].modes[position];
        let m = &facts.problem.modes[mode];
        let filling = goal.idle.is_some();
        if empty.owed && m.material + 1 != empty.material && !filling {
            return;
        }
        let minutes = facts.load_minutes(mode, empty.material);
        let carries = filling || (facts.carriers[empty.class][position] && minutes > m.load && !empty.owed);
        let Spot { time: free, skip, .. } = state.spots[empty.spot];
        let skips = skip >> position & 1 == 1;
        let mut fences = facts.fences.as_slice();
        let mut from = free;
        loop {
            self.place(facts, state, from, minutes, |from| night_room(facts, state, empty.class, mode, minutes, from));
            let Some(start) = self.places.iter().map(|p| p.1).min() else { return };
            let print = start + minutes;
            if print + m.to_ready() + m.harvest > goal.last {
                return;
            }
            let skipped = skips && facts.segment(start) == facts.segment(state.now);
            let gives = !skipped && useful(facts, goal, state, mode, start);
            if from == free && !skipped && (gives || filling) {
                self.passed.push(Passed { spot: empty.spot, position, from: start, to: print });
            }
            for (carrier, takes) in [(false, gives), (true, carries && !(skipped && filling))] {
                if takes && !empty.alike {
                    self.take(Task::Load { spot: empty.spot as u16, mode: mode as u16, carrier }, minutes, false);
                }
            }
            let differs = |f: &Fence| {
                f.at > start
                    && match f.night {
                        true => facts.problem.nights_touched(print, print + m.print).any(|n| n.1 == f.at),
                        false => serves_later(facts, state, mode, f.at),
                    }
            };
            let Some(next) = fences.iter().position(differs) else { return };
            from = free.max(fences[next].at);
            fences = &fences[next + 1..];
        }
    }

    fn pack(&mut self, facts: &Facts<'_>, state: &State, line: usize) {
        let Some(from) = box_from(facts, state, line) else { return };
        let minutes = facts.problem.pack_box;
        self.place(facts, state, from, minutes, |from| from);
        self.take(Task::Pack { line: line as u16 }, minutes, facts.lines[line].alone);
    }

    /// The teams that can take a task, and when. Only one that ends after another could start is worth giving to that
    /// other, later team: else the earlier place is in nobody's way.
    fn place(&mut self, facts: &Facts<'_>, state: &State, from: Min, minutes: Min, allowed: impl Fn(Min) -> Min) {
        self.places.clear();
        let mut first = NEVER;
        for (t, team) in facts.teams.iter().enumerate() {
            if team.to < state.now || team.to < from + minutes {
                continue;
            }
            if first < NEVER && team.from > first && team.from >= first + minutes {
                break;
            }
            let start = allowed(state.free(facts, t).max(from));
            if start < NEVER && start + minutes <= team.to {
                self.places.push((t as u16, start));
                first = first.min(start);
            }
        }
        self.places.retain(|p| p.1 == first || p.1 < first + minutes);
        if minutes == 0 {
            self.places.truncate(1);
        }
    }

    fn take(&mut self, task: Task, minutes: Min, forced: bool) {
        let moves = self.places.iter().map(|&(team, from)| Move { task, team, from, to: from + minutes });
        if forced && let Some(first) = moves.clone().min_by_key(|m| m.from) {
            self.forced.push(first);
        }
        self.all.extend(moves);
    }
}

/// Whether a task that comes in every plan can be done with before another one starts: then it is, as that helps
/// whatever comes later and hinders nothing.
fn comes_first(forced: &Move, other: &Move) -> bool {
    if forced.task == other.task || forced.to > other.from {
        return false;
    }
    // Two tasks of no minutes at one moment would each come first; then it is the one found first.
    forced.from < other.from || other.to > other.from || rank(forced.task) < rank(other.task)
}

fn rank(task: Task) -> (u8, u16) {
    match task {
        Task::Harvest { spot } => (0, spot),
        Task::Pack { line } => (1, line),
        Task::Load { spot, .. } => (2, spot),
    }
}

/// The earliest load from `from` that the run itself and the printers that print in its nights permit.
fn night_room(facts: &Facts<'_>, state: &State, class: usize, mode: usize, minutes: Min, from: Min) -> Min {
    let mut start = from;
    loop {
        start = facts.load_from(class, mode, minutes, start);
        let Some(most) = facts.night_printers else { return start };
        if start >= NEVER {
            return start;
        }
        let print = start + minutes;
        let full = |night: &(Min, Min)| {
            let printing = state.spots.iter().filter(|s| match Holds::of(s.code) {
                Holds::Run { mode, .. } => s.time - facts.problem.modes[mode].cool > night.0,
                Holds::Nothing { .. } => false,
            });
            printing.count() >= most
        };
        match facts.problem.nights_touched(print, print + facts.problem.modes[mode].print).find(full) {
            Some(night) => start = (start + 1).max(night.1 - minutes),
            None => return start,
        }
    }
}

/// Whether a release after now makes a run fit for an order that it is not fit for yet.
fn serves_later(facts: &Facts<'_>, state: &State, mode: usize, at: Min) -> bool {
    facts.problem.modes[mode].yields.iter().any(|&(part, _)| {
        facts.pairs_of_part[part]
            .iter()
            .any(|&p| state.rest[p] > 0 && facts.problem.orders[facts.pairs[p].order].release == at)
    })
}

/// Whether a run can give anything that is not covered without it.
fn useful(facts: &Facts<'_>, goal: &Goal, state: &State, mode: usize, start: Min) -> bool {
    let epoch = facts.epoch(start);
    let rest = |part: usize| -> i64 {
        let of_part = facts.pairs_of_part[part].iter();
        of_part.filter(|&&p| facts.serves[epoch][facts.pairs[p].order]).map(|&p| i64::from(state.rest[p])).sum()
    };
    let modes = &facts.problem.modes;
    let own = &modes[mode];
    if !own.yields.iter().any(|y| rest(y.0) > 0) {
        return false;
    }
    let loaded = || {
        state.spots.iter().filter_map(|s| match Holds::of(s.code) {
            Holds::Run { mode, epoch: e, carrier: false } if e > 0 => Some((mode, e)),
            _ => None,
        })
    };
    let of = |m: usize, part: usize| modes[m].yields.iter().find(|y| y.0 == part).map_or(0, |y| y.1);
    if goal.cover {
        // Every run on a printer, and this one, must have a part that the others leave open.
        let soon = |m: usize, part: usize| {
            let finish = facts.problem.finish[part];
            modes[m].yields.iter().all(|y| facts.problem.finish[y.0] >= finish)
        };
        let given = |part: usize| -> i64 {
            loaded().map(|l| l.0).chain([mode]).filter(|&m| soon(m, part)).map(|m| of(m, part)).sum()
        };
        let needed = |m: usize| {
            modes[m].yields.iter().any(|&(part, count)| {
                let others = given(part) - if soon(m, part) { count } else { 0 };
                count > 0 && rest(part) > others
            })
        };
        return needed(mode) && loaded().all(|l| needed(l.0));
    }
    // Of the runs of one epoch that can give one part only, all but the last to be usable are used up.
    let only = |m: usize| {
        let mut parts = modes[m].yields.iter().filter(|y| y.1 > 0 && !facts.pairs_of_part[y.0].is_empty());
        match (parts.next(), parts.next()) {
            (Some(y), None) => Some(*y),
            _ => None,
        }
    };
    let Some((part, count)) = only(mode) else { return true };
    let alike = loaded().filter(|l| l.1 == epoch).filter_map(|l| only(l.0)).filter(|y| y.0 == part).map(|y| y.1);
    let (total, most) = alike.fold((count, count), |(total, most), y| (total + y, most.max(y)));
    total - most < rest(part)
}

/// From when on the next box of a line can be packed; none while parts are missing.
fn box_from(facts: &Facts<'_>, state: &State, line: usize) -> Option<Min> {
    let l = &facts.lines[line];
    if state.packed[line] >= l.count {
        return None;
    }
    let kits = |k: &super::facts::Line, packed: i32| {
        facts.problem.orders[k.order].boxes[k.boxes].kits_in_first(i64::from(packed))
    };
    let mut from = state.now;
    for &(pair, _) in &l.kit {
        let mut taken = 0i64;
        for (k, other) in facts.lines.iter().enumerate().filter(|(_, k)| k.order == l.order) {
            let each = other.kit.iter().find(|e| e.0 == pair).map_or(0, |e| i64::from(e.1));
            taken += each * kits(other, state.packed[k] + i32::from(k == line));
        }
        let mut there = i64::from(facts.pairs[pair].need - state.rest[pair]);
        if there < taken {
            return None;
        }
        // In order of time, so from the end: what comes later than needed is not waited for.
        for pending in state.pending.iter().rev().filter(|p| p.pair == pair) {
            if there - i64::from(pending.count) < taken {
                from = from.max(pending.usable);
                break;
            }
            there -= i64::from(pending.count);
        }
    }
    Some(from)
}
