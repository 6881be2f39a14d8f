//! Rounds in the order of walking.
//!
//! The planner orders tasks by what a minute is worth and knows nothing of distances; a person who walks from bay to bay
//! does not want to cross the room between every two stops. So stops that follow each other without a pause become one
//! round, and are put into the order in which `printers.csv` first names their bays, as far as their windows allow.
//!
//! The plan's own order always keeps the windows. From there neighbours that stand in the wrong order are swapped while
//! the round can still be walked: every stop within its window, the round over no later than in the plan. That ends,
//! because each swap takes one inversion away, and what it ends with is walked minute by minute to say when each stop is.

use super::work::Planned;
use super::{Round, Stop};
use crate::span::Span;
use platewright_model::{Instant, Minutes};
use std::collections::BTreeMap;

/// Stops further apart than this are two rounds.
const PAUSE: Minutes = Minutes(10);
/// No round is longer.
const LONGEST: Minutes = Minutes(60);

/// All rounds, in order of start, then operator. `busy` are the starts of other work that ends a round, by operator.
pub(super) fn rounds(stops: &[Planned], busy: &[(String, Instant)]) -> Vec<Round> {
    let mut by_operator: BTreeMap<&str, Vec<&Planned>> = BTreeMap::new();
    for stop in stops {
        by_operator.entry(&stop.operator).or_default().push(stop);
    }
    let mut rounds = Vec::new();
    for (operator, stops) in by_operator {
        let interrupts =
            |from: Instant, to: Instant| busy.iter().any(|(who, at)| who == operator && from <= *at && *at < to);
        let mut current: Vec<&Planned> = Vec::new();
        for stop in stops {
            let joins = match (current.first(), current.last()) {
                (Some(first), Some(last)) => {
                    stop.span.from - last.span.to <= PAUSE
                        && stop.span.to - first.span.from <= LONGEST
                        && !interrupts(last.span.from, stop.span.to)
                }
                _ => true,
            };
            if !joins {
                rounds.push(round(operator, std::mem::take(&mut current)));
            }
            current.push(stop);
        }
        if !current.is_empty() {
            rounds.push(round(operator, current));
        }
    }
    rounds.sort_by(|a, b| (a.span.from, &a.operator).cmp(&(b.span.from, &b.operator)));
    rounds
}

/// The stops, given in the plan's order, in the order in which they are walked.
fn round(operator: &str, mut stops: Vec<&Planned>) -> Round {
    let from = stops.first().map_or(Instant(0), |stop| stop.span.from);
    let end = stops.iter().map(|stop| stop.span.to).max().unwrap_or(from);
    let mut swapped = true;
    while swapped {
        swapped = false;
        // Every position but the first has one before it, so neither index can fail.
        for at in 1..stops.len() {
            if stops[at].place < stops[at - 1].place {
                stops.swap(at - 1, at);
                if walked(&stops, from, end).is_some() {
                    swapped = true;
                } else {
                    stops.swap(at - 1, at);
                }
            }
        }
    }
    // The plan's order can be walked, and no other is kept that cannot.
    let times = walked(&stops, from, end).unwrap_or_else(|| stops.iter().map(|stop| stop.span.from).collect());
    let to = stops.iter().zip(&times).map(|(stop, at)| *at + stop.span.length()).max().unwrap_or(end);
    Round {
        operator: operator.to_owned(),
        span: Span { from: times.first().copied().unwrap_or(from), to },
        in_walking_order: stops.is_sorted_by_key(|stop| stop.place),
        stops: stops.into_iter().zip(times).map(|(stop, at)| Stop { at, ..stop.stop.clone() }).collect(),
    }
}

/// When each stop begins, walked without dawdling from a minute on; none where one is too late.
fn walked(stops: &[&Planned], from: Instant, end: Instant) -> Option<Vec<Instant>> {
    let mut now = from;
    let mut times = Vec::with_capacity(stops.len());
    for stop in stops {
        let at = now.max(stop.window.walk_earliest);
        if at > stop.window.walk_latest {
            return None;
        }
        times.push(at);
        now = at + stop.span.length();
    }
    (now <= end).then_some(times)
}
