//! A search by days: a table of room-days for an aim, and then the whole floor.
//!
//! Most of the work goes into the menu of the days that recur, before any aim is believed in: how many times the needs are
//! made where days take fractions of blocks tells how far the aim is from what a table of whole ones can reach, and a block
//! for the last day is all that another aim takes. What a table still lacks is looked for on the whole floor, whose printers
//! need not keep to their places. Where that fails, the next aim is later by what is missing and a little more, until there
//! is a plan; then aims lie between the last that failed and the best plan.

use super::aims::{Aims, beyond, next, settled};
use super::meet::meet;
use super::rounds::{ATTEMPTS, Rounds, WORK, soonest};
use crate::days::Days;
use crate::improve::Gait;
use crate::problem::Min;
use crate::schedule::{Merit, Schedule};

/// The part of the work for blocks before the first aim is judged, in hundredths, and rounds of them at most.
const START: u64 = 60;
const MOST_ROUNDS: usize = 100;
/// How often an aim is set right.
const CORRECTIONS: usize = 2;
/// The share of all needs that whole blocks lose against fractions of them.
const WHOLE_BLOCKS: f64 = 0.001;
/// What an aim is later by than one that failed, beyond what was missing there, as a share of all needs.
const MARGIN: f64 = 0.001;
/// How far down from the best plan an aim lies, and how far down it stays where the table lacks more, in hundredths.
const DOWN: i64 = 60;
const STILL_DOWN: i64 = 30;
/// Rounds and sweeps of one table, at most; so many in vain one after the other are the last. One is not in vain that finds
/// this share of what was missing.
const SWEEPS: usize = 6;
const IN_VAIN: usize = 2;
const HELPS: f64 = 0.1;
/// Attempts on the whole floor.
const WHOLE: u64 = 3;
/// Steps of a day's path that take as long as one of the whole time, whose tables are in a slower cache.
const QUICKER: u64 = 2;

/// All plans found by days until the first work is done, or the second where there is none by then.
pub(super) fn go(rounds: &Rounds<'_, '_, '_>, mut days: Days<'_>, work: [u64; 2], seed: u64) -> Vec<(Merit, Schedule)> {
    let Rounds { problem, allowed, low, makespan, guide, limit, report } = *rounds;
    let stop = || limit.over();
    let attempt = WORK / ATTEMPTS;
    let (mut best, mut failed, mut whole) = (makespan, low - 1, 0u64);
    let mut plans: Vec<(Merit, Schedule)> = Vec::new();
    for round in 0u64.. {
        let most = work[usize::from(plans.is_empty())];
        let is_spent = |days: &Days<'_>| days.work() / QUICKER + whole >= most || stop();
        let way = i64::from(best - 1 - failed.max(low));
        let down = |share: i64| best - 1 - (way * share / 100) as Min;
        let later = round > 0 && plans.is_empty();
        let mut aim = settled(problem, down(DOWN));
        if later {
            let meant = (f64::from(failed) * (1.0 + days.missing() + MARGIN)) as Min;
            let next = next(problem, failed, meant.max(beyond(problem, failed) + 1));
            aim = settled(problem, next.min(best - 1));
        }
        if aim <= failed || is_spent(&days) || !days.aim(aim, &stop) {
            break;
        }
        if !later {
            for _ in 0..if round == 0 { MOST_ROUNDS } else { 0 } {
                if days.work() / QUICKER >= work[0] * START / 100 || stop() {
                    break;
                }
                days.round(&stop);
            }
            // The last day's block is of this aim, so an aim farther off is judged again.
            for _ in 0..CORRECTIONS {
                let Some(share) = days.share() else { break };
                let further = (1.0 - share + WHOLE_BLOCKS) * f64::from(aim);
                let lowest = if round == 0 { low } else { aim };
                let corrected = settled(problem, (aim + further as Min).clamp(lowest, down(STILL_DOWN).max(lowest)));
                if corrected < low || corrected == aim {
                    break;
                }
                aim = corrected;
                if !days.aim(aim, &stop) {
                    return plans;
                }
                days.round(&stop);
            }
        }
        improve(&mut days, &is_spent, &stop);
        let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(aim)).collect();
        let mut search = guide.search(Gait::Downhill, days.floor(problem, &deadlines), seed.wrapping_add(round));
        let aims = Aims { low, first: aim, best, attempt, work: WHOLE * attempt, again: true };
        let met = meet(&mut search, allowed, aims, limit, report);
        whole += search.work();
        let reached = met.iter().map(|plan| plan.0.value as Min).min();
        best = best.min(reached.unwrap_or(best));
        if reached.is_none_or(|value| value > aim) {
            failed = aim;
        }
        plans.extend(met);
    }
    if let Some((merit, schedule)) = soonest(&plans).cloned() {
        plans.extend(rounds.last_minutes(Gait::Downhill, merit, &schedule, seed).0);
    }
    plans
}

/// Finds blocks for a table, and then sweeps it, as long as that helps.
fn improve(days: &mut Days<'_>, is_spent: &dyn Fn(&Days<'_>) -> bool, stop: &dyn Fn() -> bool) {
    for finding in [true, false] {
        let mut in_vain = 0;
        for _ in 0..SWEEPS {
            let before = days.missing();
            if before == 0.0 || in_vain == IN_VAIN || is_spent(days) {
                break;
            }
            if finding {
                days.round(stop)
            } else {
                days.sweep(stop)
            }
            in_vain = if days.missing() <= before * (1.0 - HELPS) { 0 } else { in_vain + 1 };
        }
    }
}
