//! A wished date: does it hold, and what is the least that would make it hold?

use super::{Book, Earliest, Meets, Planner};
use crate::engine::Answer;
use platewright_model::{Instance, Instant, Minutes, Plan, WeightedMinutes};

/// Complete searches are tried on rooms with at most so many printers.
const FEW_PRINTERS: usize = 12;

/// What is known of a wished date.
#[derive(Debug)]
pub enum Wish {
    /// This plan keeps it, for the instance with it as the due date.
    Holds(Box<Plan>),
    /// No plan can: that is proven.
    Never,
    /// No plan was found that keeps it, and none is excluded.
    NotFound,
}

/// Asks for a wished date, once the earliest is known.
pub fn wish(planner: &Planner<'_>, book: &Book<'_>, earliest: &Earliest, due: Instant) -> Wish {
    if due < earliest.not_before {
        return Wish::Never;
    }
    let instance = book.due(Some(due));
    if due >= earliest.by {
        // The ordinary planner first: whoever plans with the date gets the same.
        if let Answer::Plan(plan) = planner.plan_for_dates("the order by the wished date", &instance)
            && book.ready(&plan).is_some_and(|ready| ready <= due)
        {
            return Wish::Holds(plan);
        }
        let known = planner.carry(&earliest.plan, &instance, Minutes::ZERO, WeightedMinutes::ZERO);
        return known.map_or(Wish::NotFound, |plan| Wish::Holds(Box::new(plan)));
    }
    match planner.meets("the order by the wished date", &instance, &book.deadlines(due), Some(&earliest.plan)) {
        Meets::Yes(plan) => Wish::Holds(plan),
        Meets::Never => Wish::Never,
        Meets::NotFound => Wish::NotFound,
    }
}

/// The least number of something, up to `most`, with which a plan meets the deadlines: `farm` gives the instance with
/// so many, and a search goes on from a known plan. Numbers that are proven to be too few are passed over quickly; the number that is found may not be the least
/// where neither a plan nor a proof was found for a smaller one.
pub fn smallest(
    planner: &Planner<'_>,
    question: &str,
    most: u64,
    deadlines: &[Option<Instant>],
    known: Option<&Plan>,
    farm: &mut dyn FnMut(u64) -> Option<Instance>,
) -> Option<(u64, Instance, Plan)> {
    let mut ask = |count: u64| -> Option<(Instance, Meets)> {
        let instance = farm(count)?;
        let meets = planner.meets(question, &instance, deadlines, known);
        let meets =
            if matches!(meets, Meets::NotFound) { completely(planner, question, &instance, deadlines) } else { meets };
        Some((instance, meets))
    };
    let (mut too_few, mut count) = (0, 1);
    let mut found = loop {
        if count > most || planner.is_over() {
            return None;
        }
        match ask(count)? {
            (instance, Meets::Yes(plan)) => break (count, instance, *plan),
            (_, Meets::Never) => {
                too_few = count;
                count = if count == most { most + 1 } else { (count * 2).min(most) };
            }
            (_, Meets::NotFound) => count += (count / 2).max(1),
        }
    };
    while found.0 - too_few > 1 && !planner.is_over() {
        let middle = too_few + (found.0 - too_few) / 2;
        match ask(middle)? {
            (instance, Meets::Yes(plan)) => found = (middle, instance, *plan),
            _ => too_few = middle,
        }
    }
    Some(found)
}

/// In a small room the ordinary planner may search completely, and find what a search does not.
fn completely(planner: &Planner<'_>, question: &str, instance: &Instance, deadlines: &[Option<Instant>]) -> Meets {
    if instance.printers.len() > FEW_PRINTERS {
        return Meets::NotFound;
    }
    let Answer::Plan(plan) = planner.plan(question, instance) else { return Meets::NotFound };
    let kept = plan.shipments.iter().zip(deadlines).all(|(s, by)| by.is_none_or(|by| s.ready <= by));
    if kept { Meets::Yes(plan) } else { Meets::NotFound }
}
