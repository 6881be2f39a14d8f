//! Ties: operator time that recurs is priced alike.
//!
//! A room that lives by shifts repeats itself. Over months a master with a row for each slot of operator time is large,
//! its columns are dense and its duals swing; but the prices it would end with are nearly the same every day. So slots
//! that stand at the same place of like stretches of staffed time share one row, the sum of theirs. Stretches are alike
//! where they are as long and are followed and preceded by as long a stretch without staff: a Friday's before a free
//! weekend is another than a Thursday's. A stretch that never ends recurs day by day.
//!
//! Nothing else changes. Every slot still has a price of its own in [`super::prices::Prices`], and the test of a
//! makespan asks nothing of prices but that they are not negative; tied rows only propose fewer of them. The first
//! stretches, when all printers are empty at once, and the last before the makespan are left untied.

use crate::problem::Min;
use std::collections::BTreeMap;

/// Stretches left untied at the start, and before the makespan.
const UNTIED_FIRST: usize = 2;
const UNTIED_LAST: usize = 3;

/// By slot, the row it shares, numbered in order of appearance.
pub fn recurring(slots: &[(Min, Min)], until: Min) -> Vec<usize> {
    let mut from = 0;
    let lengths = slots.chunk_by(|a, b| a.1 == b.0).map(<[(Min, Min)]>::len);
    let stretches: Vec<(usize, usize)> = lengths
        .map(|n| {
            from += n;
            (from - n, n)
        })
        .collect();
    let span = |&(first, n): &(usize, usize)| (slots[first].0, slots[first + n - 1].1);
    let last = stretches.iter().filter(|s| span(s).0 < until).count();
    let mut places: Vec<Place> = Vec::with_capacity(slots.len());
    for (at, stretch) in stretches.iter().enumerate() {
        let (from, to) = span(stretch);
        let before = at.checked_sub(1).map_or(-1, |b| from - span(&stretches[b]).1);
        let after = stretches.get(at + 1).map_or(-1, |n| span(n).0 - to);
        let alone = at < UNTIED_FIRST || at + UNTIED_LAST >= last;
        for (place, &(a, b)) in slots[stretch.0..stretch.0 + stretch.1].iter().enumerate() {
            // Within a stretch of more than a day, by the time since its beginning; alone only near start and end.
            let day = (a - from) / 1440;
            let near = day == 0 && at == 0 || a >= until - 1440;
            let name = if alone && (to - from <= 1440 || near) { Some((at, place)) } else { None };
            let of_day = if to - from <= 1440 { a - from } else { (a - from) % 1440 };
            places.push(match name {
                Some(name) => Place::Alone(name),
                None => Place::Recurring { before, length: to - from, after, of_day, minutes: b - a },
            });
        }
    }
    numbered(&places)
}

/// Where a slot stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    Alone((usize, usize)),
    Recurring { before: Min, length: Min, after: Min, of_day: Min, minutes: Min },
}

/// Equal things get equal numbers, from 0 on in order of appearance.
pub fn numbered<T: Ord + Copy>(things: &[T]) -> Vec<usize> {
    let mut numbers: BTreeMap<T, usize> = BTreeMap::new();
    things
        .iter()
        .map(|&thing| {
            let next = numbers.len();
            *numbers.entry(thing).or_insert(next)
        })
        .collect()
}
