//! When nothing but printer time counts.
//!
//! - Every part that has to be printed comes from one plate, which holds nothing else, on one group. So what has to be
//!   printed is known: as many runs as its copies need.
//! - A load and a harvest can start at any minute until the makespan of a known plan. Either they take no time and
//!   somebody is always on shift; or as many operators as there are printers are on shift throughout, so that each
//!   printer has its own.
//! - No printer is down until then or holds a run at the start, and no load needs a changeover.
//! - Nothing is released later than the start, packed, or due before then; nothing waits for a first lot; spares are not
//!   asked for; all parts take as long to finish.
//!
//! Then the runs of one printer may follow one another without a minute between them, in any order, and a plan is over
//! when the last printer is.

use super::jobs::Jobs;
use crate::problem::{Min, Problem};

/// A room of this kind.
pub(super) struct Room {
    /// By group, the one with the most to do for each printer first.
    pub(super) groups: Vec<Group>,
    /// Minutes from the last harvest to the last part's being usable.
    pub(super) finish: Min,
}

/// The printers of a group and what they have to print.
pub(super) struct Group {
    pub(super) jobs: Jobs,
    /// Class and place in it.
    pub(super) printers: Vec<(usize, usize)>,
    /// The runs, as shipments want them.
    pub(super) runs: Vec<Run>,
}

/// A run that has to be made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub(super) mode: usize,
    /// Its place among shipments by due date: the first that it is for.
    pub(super) turn: usize,
    pub(super) minutes: Min,
}

/// The room, if it is one until a plan's makespan.
pub(super) fn read(problem: &Problem<'_>, until: Min) -> Option<Room> {
    let plain = problem.confidence.is_none()
        && (problem.changeover == 0 || problem.materials <= 1)
        && problem.classes.iter().all(|c| c.running.is_none() && c.downtime.iter().all(|d| d.0 >= until))
        && problem.orders.iter().all(|o| {
            o.release <= 0
                && o.after.is_none()
                && o.boxes.is_empty()
                && o.ready_by >= until
                && o.due.is_none_or(|due| due >= until)
        });
    if !plain {
        return None;
    }
    let runs = runs(problem)?;
    let finish_of = |run: &Run| problem.modes[run.mode].yields.iter().map(|y| problem.finish[y.0]).max().unwrap_or(0);
    let finish = runs.iter().map(finish_of).max()?;
    if runs.iter().any(|run| finish_of(run) != finish) {
        return None;
    }
    let mut groups: Vec<Group> = Vec::new();
    let mut names = Vec::new();
    for run in runs {
        let group = problem.modes[run.mode].group;
        let at = names.iter().position(|&g| g == group).unwrap_or_else(|| {
            names.push(group);
            let of_group = (0..problem.classes.len()).filter(|&c| problem.classes[c].group == group);
            let printers: Vec<(usize, usize)> =
                of_group.flat_map(|c| (0..problem.classes[c].printers.len()).map(move |slot| (c, slot))).collect();
            groups.push(Group { jobs: Jobs::new(&[], printers.len()), printers, runs: Vec::new() });
            names.len() - 1
        });
        groups[at].runs.push(run);
    }
    if groups.iter().any(|g| g.printers.is_empty()) {
        return None;
    }
    for group in &mut groups {
        let lengths: Vec<i64> = group.runs.iter().map(|r| i64::from(r.minutes)).collect();
        group.jobs = Jobs::new(&lengths, group.printers.len());
    }
    groups.sort_by_key(|g| std::cmp::Reverse(g.jobs.simple_bound()));
    let printers: usize = groups.iter().map(|g| g.printers.len()).sum();
    let handled = groups.iter().flat_map(|g| &g.runs).any(|r| {
        let mode = &problem.modes[r.mode];
        mode.load > 0 || mode.harvest > 0
    });
    let staffed = if handled { own_operators(problem, until) >= printers } else { always_somebody(problem, until) };
    staffed.then_some(Room { groups, finish })
}

/// The runs that every plan makes at the least, and that are enough; none where there is a choice.
fn runs(problem: &Problem<'_>) -> Option<Vec<Run>> {
    let mut by_due: Vec<usize> = (0..problem.orders.len()).collect();
    by_due.sort_by_key(|&o| (problem.orders[o].due.unwrap_or(Min::MAX), o));
    let mut runs = Vec::new();
    for part in 0..problem.finish.len() {
        let needs: Vec<i64> =
            by_due.iter().map(|&o| problem.orders[o].needs.iter().filter(|n| n.0 == part).map(|n| n.1).sum()).collect();
        let open = needs.iter().sum::<i64>() - problem.stock[part];
        if open <= 0 {
            continue;
        }
        let mut makers = (0..problem.modes.len()).filter(|&m| problem.modes[m].yields.iter().any(|y| y.0 == part));
        let (Some(mode), None) = (makers.next(), makers.next()) else { return None };
        let made = &problem.modes[mode];
        let [(_, copies)] = made.yields[..] else { return None };
        let minutes = made.load + made.to_ready() + made.harvest;
        if copies <= 0 || minutes <= 0 {
            return None;
        }
        let mut have = problem.stock[part];
        let (mut turn, mut wanted) = (0, needs.first().copied().unwrap_or(0));
        for _ in 0..(open + copies - 1) / copies {
            while wanted <= have && turn + 1 < needs.len() {
                turn += 1;
                wanted += needs[turn];
            }
            runs.push(Run { mode, turn, minutes });
            have += copies;
        }
    }
    Some(runs)
}

/// How many operators are on shift from the start until a minute, each in one stretch.
fn own_operators(problem: &Problem<'_>, until: Min) -> usize {
    problem.pools.iter().filter(|p| p.from <= 0 && p.to >= until).map(|p| p.operators.len()).sum()
}

/// Whether somebody is on shift at every minute until one.
fn always_somebody(problem: &Problem<'_>, until: Min) -> bool {
    let mut covered = 0;
    // Pools are in order of their start.
    for pool in problem.pools.iter().filter(|p| !p.operators.is_empty()) {
        if pool.from > covered {
            break;
        }
        covered = covered.max(pool.to);
    }
    covered >= until
}
