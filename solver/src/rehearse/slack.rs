//! Which runs have the least slack.
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

use crate::follow::Script;
use crate::problem::Min;

/// A run and how late it may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slack {
    /// Minutes; negative where a due date is missed as it is.
    pub minutes: Min,
    /// The run, by its position in the plan.
    pub job: usize,
}

/// Every run that has any bearing on a due date, those with the least slack first. `ready` is when the plan has each
/// shipment ready.
pub fn slacks(script: &Script<'_>, ready: &[Min]) -> Vec<Slack> {
    let problem = script.problem;
    let usable = |job: usize, part: usize| {
        let asked = &script.jobs[job];
        asked.harvest_from + script.modes[asked.mode].harvest + problem.finish[part]
    };
    let mut last = vec![0; problem.orders.len()];
    for (job, asked) in script.jobs.iter().enumerate() {
        for &(slot, _) in &asked.gives {
            let slot = script.slots[slot];
            last[slot.order] = last[slot.order].max(usable(job, slot.part));
        }
    }
    let mut all = Vec::new();
    for queue in &script.queues {
        let mut after: Option<(Min, Min)> = None;
        for &job in queue.iter().rev() {
            let asked = &script.jobs[job];
            let of_give = |&(slot, _): &(usize, i64)| {
                let slot = script.slots[slot];
                let due = problem.orders[slot.order].due?;
                Some(due - ready[slot.order] + last[slot.order] - usable(job, slot.part))
            };
            let own = asked.gives.iter().filter_map(of_give).min();
            let end = asked.harvest_from + script.modes[asked.mode].harvest;
            let next = after.map(|(load, slack)| (load - end).saturating_add(slack));
            if let Some(minutes) = own.into_iter().chain(next).min() {
                all.push(Slack { minutes, job });
                after = asked.load_from.map(|load| (load, minutes));
            } else {
                after = None;
            }
        }
    }
    all.sort();
    all
}
