//! What stays the same throughout a search: the crew's stretches, the needs, and the earliest moment of each task.

use crate::problem::{BEFORE_START, Min, Mode, Problem};

/// Later than anything.
pub(super) const NEVER: Min = Min::MAX / 4;

/// Operators who come and go together, of whatever crews.
#[derive(Debug)]
pub(super) struct Team {
    pub from: Min,
    pub to: Min,
    /// One entry per operator: the pool that he or she is in.
    pub members: Vec<usize>,
}

/// A part that a shipment needs.
#[derive(Debug)]
pub(super) struct Pair {
    pub order: usize,
    pub part: usize,
    pub need: i32,
    /// All of it goes into boxes.
    pub boxed: bool,
}

/// A line of a shipment that is packed.
#[derive(Debug)]
pub(super) struct Line {
    pub order: usize,
    /// Position in the order's boxes.
    pub boxes: usize,
    pub count: i32,
    /// Pairs and how many one kit takes.
    pub kit: Vec<(usize, i32)>,
    /// No other line of the shipment draws on the same parts.
    pub alone: bool,
}

/// A moment from which it can pay to have waited for a load: a release, or the end of a night that holds few printers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Fence {
    pub at: Min,
    pub night: bool,
}

/// The instance as the search sees it.
pub(super) struct Facts<'a> {
    pub problem: &'a Problem<'a>,
    pub teams: Vec<Team>,
    /// Class and slot of each printer, class by class.
    pub printers: Vec<(usize, usize)>,
    pub pairs: Vec<Pair>,
    /// Pairs by part.
    pub pairs_of_part: Vec<Vec<usize>>,
    pub lines: Vec<Line>,
    /// Releases after the start, in order.
    pub releases: Vec<Min>,
    /// Which orders a run of an epoch may serve; epoch 0 is before the start.
    pub serves: Vec<Vec<bool>>,
    pub fences: Vec<Fence>,
    /// Most printers in a night, where that is more than none and fewer than all.
    pub night_printers: Option<usize>,
    /// Nothing may print in any night.
    pub dark: bool,
    /// Of two harvests the later one to start may be the first to end.
    pub overtaking: bool,
    /// All orders may be served by the same runs.
    pub uniform: bool,
    /// By class and position in its modes: a run that gives nothing may be worth it for its changeover.
    pub carriers: Vec<Vec<bool>>,
}

impl<'a> Facts<'a> {
    /// Lays out the facts; none where the instance is far too large for a complete search.
    pub(super) fn new(problem: &'a Problem<'a>) -> Option<Facts<'a>> {
        let printers: Vec<(usize, usize)> = (0..problem.classes.len())
            .flat_map(|c| (0..problem.classes[c].printers.len()).map(move |slot| (c, slot)))
            .collect();
        let small = printers.len() <= 12
            && problem.confidence.is_none()
            && problem.classes.iter().all(|c| c.modes.len() <= 31)
            && problem.modes.len() < 1000
            && problem.orders.len() <= 8
            && problem.pools.len() < 5000
            && problem.orders.iter().flat_map(|o| &o.needs).map(|n| n.1).sum::<i64>() <= 50_000
            && problem.orders.iter().flat_map(|o| &o.boxes).map(|b| b.count()).sum::<i64>() <= 200;
        if !small {
            return None;
        }
        let teams = teams(problem);
        let operators = teams
            .iter()
            .map(|t| {
                let there = teams.iter().filter(|u| u.from <= t.from && t.from < u.to);
                there.map(|u| u.members.len()).sum::<usize>()
            })
            .max()
            .unwrap_or(0);
        let mut pairs = Vec::new();
        for (order, o) in problem.orders.iter().enumerate() {
            for &(part, need) in o.needs.iter().filter(|n| n.1 > 0) {
                pairs.push(Pair { order, part, need: need as i32, boxed: false });
            }
        }
        let mut pairs_of_part = vec![Vec::new(); problem.finish.len()];
        for (p, pair) in pairs.iter().enumerate() {
            pairs_of_part[pair.part].push(p);
        }
        let lines = lines(problem, &pairs);
        for (p, pair) in pairs.iter_mut().enumerate() {
            let packed: i64 = lines
                .iter()
                .map(|l| {
                    let each = l.kit.iter().find(|k| k.0 == p).map_or(0, |k| i64::from(k.1));
                    each * problem.orders[l.order].boxes[l.boxes].quantity
                })
                .sum();
            pair.boxed = packed >= i64::from(pair.need);
        }
        let mut releases: Vec<Min> = problem.orders.iter().map(|o| o.release).filter(|&r| r > 0).collect();
        releases.sort_unstable();
        releases.dedup();
        let loaded: Vec<Min> = [BEFORE_START, 0].into_iter().chain(releases.iter().copied()).collect();
        let serves: Vec<Vec<bool>> =
            loaded.iter().map(|&at| problem.orders.iter().map(|o| o.release <= at).collect()).collect();
        let dark = problem.night_printers.is_some_and(|most| most <= 0);
        let night_printers = problem
            .night_printers
            .filter(|&most| most > 0 && (most as usize) < printers.len())
            .map(|most| most as usize);
        let mut fences: Vec<Fence> = releases.iter().map(|&at| Fence { at, night: false }).collect();
        if night_printers.is_some() {
            fences.extend(problem.nights.iter().map(|n| Fence { at: n.1, night: true }));
        }
        fences.sort_unstable();
        let harvest = |m: &Mode| m.harvest;
        let least = problem.modes.iter().map(harvest).min();
        let overtaking = operators > 1 && least != problem.modes.iter().map(harvest).max();
        let served: Vec<usize> = pairs.iter().map(|p| p.order).collect();
        let uniform = serves.iter().all(|s| served.iter().all(|&o| s[o] == s[served[0]]));
        let carriers = carriers(
            problem,
            !releases.is_empty() || problem.night_minutes.is_some() || dark || night_printers.is_some(),
        );
        Some(Facts {
            problem,
            teams,
            printers,
            pairs,
            pairs_of_part,
            lines,
            releases,
            serves,
            fences,
            night_printers,
            dark,
            overtaking,
            uniform,
            carriers,
        })
    }

    /// The epoch of a load.
    pub(super) fn epoch(&self, load: Min) -> usize {
        1 + self.releases.partition_point(|&r| r <= load)
    }

    /// Minutes before one in which the printers of a class are not down.
    pub(super) fn up(&self, class: usize, until: Min) -> Min {
        let down = &self.problem.classes[class].downtime;
        until - down.iter().map(|d| (d.1.min(until) - d.0).max(0)).sum::<Min>()
    }

    /// How many fences are at or before a minute.
    pub(super) fn segment(&self, at: Min) -> usize {
        self.fences.partition_point(|f| f.at <= at)
    }

    /// Operator minutes of a load onto a printer that holds `held` (0: nothing, else the material's index and one).
    pub(super) fn load_minutes(&self, mode: usize, held: usize) -> Min {
        let m = &self.problem.modes[mode];
        if held == 0 || held == m.material + 1 { m.load } else { m.load + self.problem.changeover }
    }

    /// The earliest start from `from` at which a load of `minutes` may stand, so far as the run itself is concerned:
    /// downtime, what it prints in a night, the horizon. Who does it is not asked.
    pub(super) fn load_from(&self, class: usize, mode: usize, minutes: Min, from: Min) -> Min {
        let m = &self.problem.modes[mode];
        let mut start = from;
        loop {
            let print = start + minutes;
            let ready = print + m.to_ready();
            if ready + m.harvest > self.problem.horizon {
                return NEVER;
            }
            let down = &self.problem.classes[class].downtime;
            if let Some(d) = down.iter().find(|d| start < d.1 && d.0 < ready) {
                start = d.1;
                continue;
            }
            match self.night_in_the_way(print, m.print) {
                None => return start,
                // A load lies before a night or after it; before it, later is worse.
                Some(end) => start = (start + 1).max(end - minutes),
            }
        }
    }

    fn night_in_the_way(&self, print: Min, minutes: Min) -> Option<Min> {
        let longest = if self.dark { 0 } else { self.problem.night_minutes? };
        self.problem
            .nights_touched(print, print + minutes)
            .find(|n| n.1.min(print + minutes) - n.0.max(print) > longest)
            .map(|n| n.1)
    }

    /// The earliest start from `from` at which a harvest may stand, so far as the printer is concerned.
    pub(super) fn harvest_from(&self, class: usize, mode: usize, from: Min) -> Min {
        let minutes = self.problem.modes[mode].harvest;
        let mut start = from;
        loop {
            if start + minutes > self.problem.horizon {
                return NEVER;
            }
            let down = &self.problem.classes[class].downtime;
            match down.iter().find(|d| start < d.1 && d.0 < start + minutes) {
                Some(d) => start = d.1,
                None => return start,
            }
        }
    }
}

fn teams(problem: &Problem<'_>) -> Vec<Team> {
    let mut teams: Vec<Team> = Vec::new();
    for (p, pool) in problem.pools.iter().enumerate() {
        let to = pool.to.min(problem.horizon);
        if pool.operators.is_empty() || pool.from > to {
            continue;
        }
        let members = pool.operators.iter().map(|_| p);
        match teams.iter_mut().find(|t| t.from == pool.from && t.to == to) {
            Some(team) => team.members.extend(members),
            None => teams.push(Team { from: pool.from, to, members: members.collect() }),
        }
    }
    teams.sort_by_key(|t| (t.from, t.to));
    teams
}

fn lines(problem: &Problem<'_>, pairs: &[Pair]) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    if problem.pack_box <= 0 {
        return lines;
    }
    for (order, o) in problem.orders.iter().enumerate() {
        for (boxes, b) in o.boxes.iter().enumerate() {
            let pair = |part: usize| pairs.iter().position(|p| p.order == order && p.part == part);
            let kit = b.kit.iter().filter_map(|&(part, each)| Some((pair(part)?, each as i32))).collect();
            lines.push(Line { order, boxes, count: b.count() as i32, kit, alone: true });
        }
    }
    for l in 0..lines.len() {
        let shared = |other: &Line| other.kit.iter().any(|k| lines[l].kit.iter().any(|own| own.0 == k.0));
        let alone = !lines.iter().enumerate().any(|(k, other)| k != l && shared(other));
        lines[l].alone = alone;
    }
    lines
}

/// A run that gives nothing can still pay the changeover early, for a next run of the same material that could not have
/// been loaded in its place: because its own load is longer, or it was not released yet, or downtime or a night was in
/// the way. Nowhere else is such a run worth anything.
fn carriers(problem: &Problem<'_>, place_matters: bool) -> Vec<Vec<bool>> {
    problem
        .classes
        .iter()
        .map(|class| {
            let worth = |&m: &usize| {
                let own = &problem.modes[m];
                let mut others = class.modes.iter().map(|&o| &problem.modes[o]);
                problem.changeover > 0
                    && (place_matters
                        || !class.downtime.is_empty()
                        || others.any(|o| o.material == own.material && o.load > own.load))
            };
            class.modes.iter().map(worth).collect()
        })
        .collect()
}
