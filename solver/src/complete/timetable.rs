//! When tasks can stand, minute by minute, whoever does them: the ground on which bounds are computed.

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
    /// By epoch of the load, in order of time: up to that harvest end the run has these parts to give: (pairs, count).
    pub gives: Vec<Vec<Offer>>,
    /// The harvest must end by then if the run is to give anything.
    pub by: Min,
}

/// What a run can give when its harvest ends at a minute or sooner.
#[derive(Debug, Clone)]
pub(super) struct Offer {
    pub until: Min,
    /// Each part: who may have it, and how many at most in all.
    pub parts: Vec<(Vec<usize>, i64)>,
}

/// Everything by minute, up to the last minute of the goal.
pub(super) struct Timetable {
    pub last: Min,
    /// By class.
    pub plates: Vec<Vec<Plate>>,
    /// Operators on shift in each minute.
    pub crew: Vec<i64>,
    /// From each minute: the end of the longest stretch in which somebody can be at work from then on.
    pub until: Vec<Min>,
}

impl Timetable {
    pub(super) fn new(facts: &Facts<'_>, goal: &Goal) -> Timetable {
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
            plates.push(of_class.map(|(m, loadable)| plate(facts, goal, c, m, loadable, last, &until)).collect());
        }
        Timetable { last, plates, crew, until }
    }

    /// The plate of a mode on a class.
    pub(super) fn plate(&self, class: usize, mode: usize) -> Option<usize> {
        self.plates[class].iter().position(|p| p.mode == mode)
    }
}

fn plate(facts: &Facts<'_>, goal: &Goal, class: usize, mode: usize, loadable: bool, last: Min, until: &[Min]) -> Plate {
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
    let gives: Vec<Vec<Offer>> = facts.serves.iter().map(|serves| offers(facts, goal, mode, serves)).collect();
    let by = gives.iter().filter_map(|g| g.last()).map(|o| o.until).max().unwrap_or(-1);
    Plate { mode, loads, harvests, harvested, gives, by }
}

/// Offers in order of time: the earlier a run is harvested, the more of the needs it is in time for.
fn offers(facts: &Facts<'_>, goal: &Goal, mode: usize, serves: &[bool]) -> Vec<Offer> {
    let yields = &facts.problem.modes[mode].yields;
    let latest = |pair: usize| goal.usable_by[pair] - facts.problem.finish[facts.pairs[pair].part];
    let takers = |part: usize| {
        facts.pairs_of_part[part].iter().copied().filter(|&p| serves[facts.pairs[p].order] && latest(p) >= 0)
    };
    let mut times: Vec<Min> = yields.iter().flat_map(|y| takers(y.0)).map(latest).collect();
    times.sort_unstable();
    times.dedup();
    let offer = |until: Min| {
        let parts = yields.iter().filter_map(|&(part, count)| {
            let pairs: Vec<usize> = takers(part).filter(|&p| latest(p) >= until).collect();
            let wanted: i64 = pairs.iter().map(|&p| i64::from(facts.pairs[p].need)).sum();
            (!pairs.is_empty()).then_some((pairs, count.min(wanted)))
        });
        Offer { until, parts: parts.collect() }
    };
    times.into_iter().map(offer).collect()
}
