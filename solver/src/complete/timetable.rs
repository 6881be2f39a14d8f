//! When tasks can stand, minute by minute, whoever does them: the ground on which bounds are computed.

use super::cover::Cover;
use super::facts::{Facts, NEVER};
use super::goal::Goal;
use crate::problem::Min;

/// A run as a class of printers executes it.
pub(super) struct Plate {
    pub mode: usize,
    /// Start minutes at which it can be loaded, without a changeover and with one; empty where it cannot be loaded.
    pub loads: [Vec<bool>; 2],
    /// Start minutes at which it can be harvested.
    pub harvests: Vec<bool>,
    /// By ready minute: the end of the earliest harvest.
    pub harvested: Vec<Min>,
    /// By epoch of the load: what the run counts in each row, and until which harvest end; the longest first.
    pub counts: Vec<Vec<(Min, usize, i64)>>,
    /// The harvest must end by then if the run is to give anything.
    pub by: Min,
}

/// Everything by minute, up to the last minute of the goal.
pub(super) struct Timetable {
    pub last: Min,
    /// By class.
    pub plates: Vec<Vec<Plate>>,
    /// By class and mode: which plate.
    plate_of: Vec<Vec<Option<usize>>>,
    /// Operators on shift in each minute.
    pub crew: Vec<i64>,
    /// From each minute: the end of the longest stretch in which somebody can be at work from then on.
    pub until: Vec<Min>,
    /// Which slot of operator time each minute is in; slots are priced.
    pub slot: Vec<usize>,
    pub slots: usize,
    /// By class, pair and minute: the end of the earliest harvest that brings it from a load no sooner than then.
    pub brought: Vec<Vec<Vec<Min>>>,
}

/// So many entries of a table by minute are too many.
const ENTRIES: usize = 60_000_000;

impl Timetable {
    /// Whether the tables for a goal, and the prices' own, are of a size to be made again and again.
    pub(super) fn fits(facts: &Facts<'_>, goal: &Goal) -> bool {
        let epochs = facts.serves.len();
        let rows = facts.problem.classes.iter().map(|c| (c.modes.len() + 1) * (epochs + 4) + facts.pairs.len());
        (goal.last as usize + 1) * rows.sum::<usize>() <= ENTRIES
    }

    pub(super) fn new(facts: &Facts<'_>, goal: &Goal, cover: &Cover) -> Timetable {
        let last = goal.last.min(facts.problem.horizon).max(0);
        let length = last as usize + 1;
        let mut crew = vec![0i64; length];
        let mut until = vec![-1; length];
        for team in &facts.teams {
            for t in team.from..=team.to.min(last) {
                until[t as usize] = until[t as usize].max(team.to);
                if t < team.to {
                    crew[t as usize] += team.members.len() as i64;
                }
            }
        }
        // No more can be at work at once than there are printers and boxes.
        let most = facts.printers.len() as i64 + facts.lines.iter().map(|l| i64::from(l.count)).sum::<i64>();
        crew.iter_mut().for_each(|c| *c = (*c).min(most));
        let mut plates = Vec::new();
        for (c, class) in facts.problem.classes.iter().enumerate() {
            let running = class.running.as_ref().map(|r| r.mode).filter(|m| !class.modes.contains(m));
            let of_class = class.modes.iter().map(|&m| (m, true)).chain(running.map(|m| (m, false)));
            let of_class: Vec<Plate> =
                of_class.map(|(m, loadable)| plate(facts, cover, c, m, loadable, last, &until)).collect();
            plates.push(of_class);
        }
        let plate_of = plates
            .iter()
            .map(|of_class: &Vec<Plate>| {
                (0..facts.problem.modes.len()).map(|m| of_class.iter().position(|p| p.mode == m)).collect()
            })
            .collect();
        let brought = plates.iter().map(|of_class| brought(facts, of_class, length)).collect();
        let (slot, slots) = slots(&crew);
        Timetable { last, plates, plate_of, crew, until, slot, slots, brought }
    }

    /// The plate of a mode on a class.
    pub(super) fn plate(&self, class: usize, mode: usize) -> Option<usize> {
        self.plate_of[class][mode]
    }

    /// The end of the earliest harvest of a mode that is ready at a minute.
    pub(super) fn harvested(&self, class: usize, mode: usize, ready: Min) -> Min {
        let plate = self.plate(class, mode).map(|p| &self.plates[class][p]);
        plate.and_then(|p| p.harvested.get(ready as usize)).copied().unwrap_or(NEVER)
    }
}

fn plate(
    facts: &Facts<'_>,
    cover: &Cover,
    class: usize,
    mode: usize,
    loadable: bool,
    last: Min,
    until: &[Min],
) -> Plate {
    let m = &facts.problem.modes[mode];
    let length = last as usize + 1;
    let starts = |minutes: Min, next: &dyn Fn(Min) -> Min| {
        let mut can = vec![false; length];
        let mut t = next(0);
        while t <= last {
            can[t as usize] = t + minutes <= until[t as usize];
            t = next(t + 1);
        }
        can
    };
    let loads = [m.load, m.load + facts.problem.changeover].map(|minutes| {
        if loadable { starts(minutes, &|t| facts.load_from(class, mode, minutes, t)) } else { Vec::new() }
    });
    let harvests = starts(m.harvest, &|t| facts.harvest_from(class, mode, t));
    let mut harvested = vec![NEVER; length];
    let mut next = NEVER;
    for t in (0..length).rev() {
        if harvests[t] {
            next = t as Min + m.harvest;
        }
        harvested[t] = next;
    }
    let counts: Vec<Vec<(Min, usize, i64)>> = (0..facts.serves.len())
        .map(|epoch| {
            let counts = cover.counts(facts, mode, epoch).into_iter();
            let mut counts: Vec<_> =
                counts.map(|(row, n)| (cover.groups[cover.rows[row].group].until, row, n)).collect();
            counts.sort_by_key(|c| (-c.0, c.1));
            counts
        })
        .collect();
    let by = counts.iter().filter_map(|c| c.first()).map(|c| c.0).max().unwrap_or(-1);
    Plate { mode, loads, harvests, harvested, counts, by }
}

fn brought(facts: &Facts<'_>, plates: &[Plate], length: usize) -> Vec<Vec<Min>> {
    let of_pair = |pair: &super::facts::Pair| {
        let mut soonest = vec![NEVER; length];
        for plate in plates {
            let m = &facts.problem.modes[plate.mode];
            if plate.loads[0].is_empty() || !m.yields.iter().any(|y| y.0 == pair.part && y.1 > 0) {
                continue;
            }
            let cycle = (m.load + m.to_ready()) as usize;
            for (soonest, &end) in soonest.iter_mut().zip(plate.harvested.iter().skip(cycle)) {
                *soonest = end.min(*soonest);
            }
        }
        soonest
    };
    facts.pairs.iter().map(of_pair).collect()
}

/// Cuts staffed time into slots: short ones after a night and before the end, where handling crowds, longer ones
/// between.
fn slots(crew: &[i64]) -> (Vec<usize>, usize) {
    let staffed = crew.iter().filter(|&&c| c > 0).count();
    let long = (staffed / 60).clamp(15, 240);
    let mut slot = vec![0; crew.len()];
    let (mut slots, mut age, mut since) = (0, 0, 0);
    for t in 0..crew.len() {
        if crew[t] == 0 {
            (age, since) = (0, 0);
            slot[t] = slots;
            continue;
        }
        let short = since < 60 || crew.len() - t < 60;
        if age >= if short { long.min(6) } else { long } || (age > 0 && since == 60) {
            slots += 1;
            age = 0;
        }
        if since == 0 {
            slots += 1;
        }
        slot[t] = slots;
        age += 1;
        since += 1;
    }
    (slot, slots + 1)
}
