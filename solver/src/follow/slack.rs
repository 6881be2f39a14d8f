//! How much later than planned a run may be.
//!
//! A run's slack is how many minutes later than planned it may be harvested before some due date is missed, with
//! everything else as planned: the shipments it gives to have so much to spare, and so has every run that follows it on
//! its printer once the time in which the printer waits between them is used up. Backwards along each printer:
//!
//! ```text
//! slack(run) = min( over its shipments: due - ready + (last copy usable - this copy usable),
//!                   next load - harvest end + slack(next) )
//! ```
//!
//! Operators and nights are left out, and so are boxes packed before the last copy is there: a run may have less slack
//! than is stated here, which rehearsals show and this figure does not.

use super::script::Script;
use crate::problem::Min;

/// The slack of a run that has no bearing on any due date.
pub const ENDLESS: Min = Min::MAX / 2;

/// The slack of each job; `ready` is when the plan has each shipment ready.
pub(super) fn of_jobs(script: &Script<'_>, ready: &[Min]) -> Vec<Min> {
    let problem = script.problem;
    let end = |job: usize| script.jobs[job].harvest_from + script.modes[script.jobs[job].mode].harvest;
    let usable = |job: usize, part: usize| end(job) + problem.finish[part];
    let mut last = vec![0; problem.orders.len()];
    for (job, asked) in script.jobs.iter().enumerate() {
        for &(slot, _) in &asked.gives {
            let slot = script.slots[slot];
            last[slot.order] = last[slot.order].max(usable(job, slot.part));
        }
    }
    let mut slack = vec![ENDLESS; script.jobs.len()];
    for queue in &script.queues {
        let mut after: Option<(Min, Min)> = None;
        for &job in queue.iter().rev() {
            let of_give = |&(slot, _): &(usize, i64)| {
                let slot = script.slots[slot];
                let due = problem.orders[slot.order].due?;
                Some(due - ready[slot.order] + last[slot.order] - usable(job, slot.part))
            };
            let own = script.jobs[job].gives.iter().filter_map(of_give).min();
            let next = after.map(|(load, slack)| (load - end(job)).saturating_add(slack));
            slack[job] = own.into_iter().chain(next).min().unwrap_or(ENDLESS).min(ENDLESS);
            after = script.jobs[job].load_from.map(|load| (load, slack[job]));
        }
    }
    slack
}
