//! Attempts at one aim after another, on the same floor: up until one is met, then down again.

use super::aims::{Aims, beyond, next, settled};
use super::hunt::Limit;
use crate::finish::finish;
use crate::improve::Search;
use crate::problem::Min;
use crate::schedule::{Merit, Schedule};

/// Attempts at the end of a shift, before the next shift is aimed at.
const TRIES: u64 = 3;
/// Attempts at neighbouring aims before the next one lies half way to the best plan.
const PATIENCE: Min = 3;

/// Attempts from an aim on until the aims met and those failed are neighbours, or the work is done; every plan found on
/// the way. Where boxes are packed too late for an aim that was met, its floor is changed until they are sooner; where that
/// is not enough, operators are kept free for them, and the same aim is tried again.
pub(super) fn meet(
    search: &mut Search<'_>,
    allowed: &[Min],
    aims: Aims,
    limit: &Limit<'_>,
    report: &dyn Fn(&Merit),
) -> Vec<(Merit, Schedule)> {
    let problem = search.floor.problem;
    let mut plans: Vec<(Merit, Schedule)> = Vec::new();
    let Aims { low, first: mut target, mut best, attempt, work, again } = aims;
    let mut failed = low - 1;
    let mut patience = 1;
    let mut tries = 0;
    while target < best && target > failed && search.work() < work && !limit.over() {
        let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(target)).collect();
        search.aim(&deadlines);
        let met = search.meet(target, attempt, &|| limit.over());
        let done = if met { finish(&search.floor, false) } else { None };
        let done = done.map(|(merit, schedule)| {
            let late = merit.value as Min > target;
            let sooner = late.then(|| search.pack_sooner(&deadlines, attempt, &|| limit.over())).flatten();
            sooner.filter(|sooner| sooner.0 < merit).unwrap_or((merit, schedule))
        });
        match done {
            Some((merit, schedule)) => {
                report(&merit);
                let ready = merit.value as Min;
                best = best.min(ready);
                patience = 1;
                let unpacked = ready > target && search.keep_for_packing(&schedule, &deadlines);
                plans.push((merit, schedule));
                if ready <= low {
                    break;
                }
                if unpacked {
                    continue;
                }
                // Packing may end later than the parts were aimed at; then nothing lower is within reach either.
                if ready > target {
                    failed = failed.max(beyond(problem, target));
                }
                let down = (best - failed) / 2;
                target = settled(problem, (best - down.max(1)).max(failed + 1).max(low));
            }
            None => {
                let short = search.shortage() / 1000 / search.floor.machines.len().max(1) as i64;
                let lost = beyond(problem, target);
                if lost > target {
                    // What is missing at the end of a shift is not there before the next one begins.
                    tries += 1;
                    if again && tries < TRIES {
                        continue;
                    }
                    if again && best - lost < (best - target) / 8 {
                        break;
                    }
                }
                failed = failed.max(lost);
                let step = (short as Min * patience / 2).max(4 * patience);
                // Where steps do not help, minutes are not what is missing: a shift is, and the next one may be far off.
                let leap = if patience > PATIENCE { (best - target) / 2 } else { 0 };
                target = next(problem, target, (target + step.max(leap)).max(lost + 1));
                patience += 1;
            }
        }
    }
    plans
}
