//! What a pass of the search is after: any plan within these limits is better than the best one known.

use super::facts::{Facts, NEVER};
use super::state::State;
use crate::problem::{Min, Order};

/// What is asked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Aim {
    pub late: i64,
    pub makespan: Option<Min>,
    pub idle: Option<i64>,
}

/// The limits.
#[derive(Debug, Clone)]
pub(super) struct Goal {
    /// Most weighted lateness.
    pub late: i64,
    /// Latest end of the makespan; none where it does not count, or not yet.
    pub makespan: Option<Min>,
    /// Most idle minutes; none where they do not count, or not yet.
    pub idle: Option<i64>,
    /// By order: the latest that it can be ready within both.
    pub ready_by: Vec<Min>,
    /// By pair: the latest that a part can become usable.
    pub usable_by: Vec<Min>,
    /// Nothing that matters happens later.
    pub last: Min,
    /// No order can be late in a way that counts.
    pub on_time: bool,
    /// Whoever needs a part first gets it first, and nothing is lost by that.
    pub first_come: bool,
    /// No run is worth it that others make superfluous.
    pub cover: bool,
}

impl Goal {
    pub(super) fn new(facts: &Facts<'_>, aim: Aim) -> Goal {
        let Aim { late, makespan, idle } = aim;
        let problem = facts.problem;
        let limit = makespan.unwrap_or(problem.horizon).min(problem.horizon);
        // Lateness that an order has whatever is done leaves less for the others.
        let forced: Vec<i64> = problem.orders.iter().map(|o| lateness(o, 0)).collect();
        let spare = late - forced.iter().sum::<i64>();
        let ready_by: Vec<Min> = problem
            .orders
            .iter()
            .map(|o| match o.due {
                Some(due) if o.weight > 0 => {
                    let may = i64::from(due.max(0)) + spare.max(-1).div_euclid(o.weight);
                    may.clamp(-1, i64::from(limit)) as Min
                }
                _ => limit,
            })
            .collect();
        let usable_by: Vec<Min> = facts
            .pairs
            .iter()
            .map(|p| if p.boxed { last_box(facts, ready_by[p.order]) } else { ready_by[p.order] })
            .collect();
        let ready = ready_by.iter().copied().max().unwrap_or(0).max(0);
        let last = match idle {
            None => ready,
            Some(idle) if facts.lines.is_empty() => last_harvest(facts, idle),
            // Boxes may be packed when all is harvested.
            Some(idle) => last_harvest(facts, idle).max(ready),
        };
        let on_time = problem.orders.iter().zip(&ready_by).all(|(o, &by)| lateness(o, by) == lateness(o, 0));
        let first_come = on_time && facts.uniform && facts.lines.is_empty();
        let alone = facts.pairs.iter().all(|p| p.order == facts.pairs[0].order);
        let together = facts.uniform && facts.lines.is_empty() && usable_by.iter().all(|&by| by == usable_by[0]);
        let cover = together && (on_time || alone) && idle.is_none();
        Goal { late, makespan, idle, ready_by, usable_by, last, on_time, first_come, cover }
    }

    /// Within the limits, no plan is later past due than this.
    pub(super) fn latest(&self, facts: &Facts<'_>) -> i64 {
        total_lateness(facts, &self.ready_by).min(self.late)
    }

    /// Whether a state is beyond the limits by what has been given and packed so far.
    pub(super) fn missed(&self, facts: &Facts<'_>, state: &State) -> bool {
        state.ready.iter().zip(&self.ready_by).any(|(at, by)| at > by)
            || (!self.on_time && total_lateness(facts, &state.ready) > self.late)
    }
}

/// With so many idle minutes no printer's last harvest ends later: it only prints and is down besides, and each run has
/// some idle minutes of its own.
fn last_harvest(facts: &Facts<'_>, idle: i64) -> Min {
    let problem = facts.problem;
    let modes = &problem.modes;
    let least = modes.iter().map(|m| i64::from(m.load + m.cool + m.harvest)).min().unwrap_or(0);
    let longest = modes.iter().map(|m| i64::from(m.print)).max().unwrap_or(0);
    let of_class = |c: usize| {
        let class = &problem.classes[c];
        let down: i64 = class.downtime.iter().map(|d| i64::from(d.1 - d.0)).sum();
        let first = class.running.as_ref().map_or(0, |r| i64::from(r.ready.max(0)));
        // What was on the printer at the start is harvested sooner or later, however few idle minutes there may be.
        first + down + idle.max(0) + longest * (idle.max(0) / least.max(1) + 1)
    };
    let last = (0..problem.classes.len()).map(of_class).max().unwrap_or(0);
    if least > 0 { last.min(i64::from(problem.horizon)) as Min } else { problem.horizon }
}

/// What an order's lateness costs when it is ready at a minute.
pub(super) fn lateness(order: &Order, ready: Min) -> i64 {
    order.due.map_or(0, |due| i64::from((ready - due).max(0)) * order.weight)
}

/// The weighted lateness of all orders.
pub(super) fn total_lateness(facts: &Facts<'_>, ready: &[Min]) -> i64 {
    facts.problem.orders.iter().zip(ready).map(|(o, &at)| lateness(o, at)).sum()
}

/// The latest start of a box that is packed by then; before everything where there is none.
fn last_box(facts: &Facts<'_>, by: Min) -> Min {
    let minutes = facts.problem.pack_box;
    let starts = facts.teams.iter().map(|t| (t.from, t.to.min(by) - minutes)).filter(|s| s.0 <= s.1);
    starts.map(|s| s.1).max().unwrap_or(-NEVER)
}
