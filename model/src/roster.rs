//! Shifts laid out on the calendar: who can work when.
//!
//! Each row of `shifts.csv` occurs on each of its dates that is not closed. The occurrences of one crew, in order of
//! start and then of row, each take the smallest operator numbers that no overlapping occurrence of that crew holds;
//! where two occurrences adjoin under one number they are one stretch, so that a task may straddle midnight.
//!
//! A shift that began before the farm's start counts from the start on, and the horizon's end cuts the last one. The
//! numbering looks back two weeks before the start, so that a plan made in mid-week names the people as the
//! plan of Monday did. A wall time that the clocks skip is carried forward by the skip; of a doubled one the first is
//! meant.

use crate::calendar::Wall;
use crate::instance::{Absence, CrewId, Days, Instance, ShiftRow};
use crate::units::Instant;
use chrono::{Datelike, Days as CalendarDays, NaiveDate};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, HashMap, HashSet};

/// How many days before the start the numbering of operators begins.
const LOOK_BACK_DAYS: u64 = 14;

/// One operator's unbroken stretch on shift, half-open, clipped to the plan's reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stretch {
    /// Whose crew.
    pub crew: CrewId,
    /// Number within the crew, from 1.
    pub operator: u32,
    /// On shift from.
    pub from: Instant,
    /// Off shift from.
    pub to: Instant,
}

/// A row of `shifts.csv` on one date.
struct Occurrence {
    from: Instant,
    to: Instant,
    operators: u64,
}

/// Every stretch between the start and the horizon's end, ordered by crew, operator and start.
pub fn stretches(instance: &Instance) -> Vec<Stretch> {
    let (start, end) = (instance.farm.start, instance.farm.horizon_end());
    let closed: HashSet<NaiveDate> = instance.closures.iter().map(|c| c.date).collect();
    let mut all = Vec::new();
    for crew in (0..).map(CrewId).take(instance.crews.len()) {
        let mut occurrences: Vec<Occurrence> = Vec::new();
        for row in instance.shifts.iter().filter(|row| row.crew == crew) {
            let dates = dates(instance, row).filter(|date| !closed.contains(date));
            occurrences.extend(dates.filter_map(|date| occurrence(instance, row, date)));
        }
        // Stable, so rows of one start keep their order in the table.
        occurrences.sort_by_key(|o| o.from);
        all.extend(numbered(crew, &occurrences).into_iter().filter_map(|s| {
            let clipped = Stretch { from: s.from.max(start), to: s.to.min(end), ..s };
            (clipped.from < clipped.to).then_some(clipped)
        }));
    }
    let mut all = present(all, &instance.absences);
    all.sort();
    all
}

/// The stretches without those in which their operator is absent.
fn present(stretches: Vec<Stretch>, absences: &[Absence]) -> Vec<Stretch> {
    absences.iter().fold(stretches, |stretches, absence| {
        let cut = |stretch: Stretch| {
            if (stretch.crew, stretch.operator) != (absence.crew, absence.operator) {
                return [Some(stretch), None];
            }
            let before = Stretch { to: stretch.to.min(absence.from), ..stretch };
            let after = Stretch { from: stretch.from.max(absence.to), ..stretch };
            [before, after].map(|part| (part.from < part.to).then_some(part))
        };
        stretches.into_iter().flat_map(cut).flatten().collect()
    })
}

/// The operator's name in plans: `CREW-n`.
pub fn operator_name(instance: &Instance, crew: CrewId, operator: u32) -> String {
    format!("{}-{operator}", instance.crews[crew.index()])
}

/// The stretches in which nobody of any crew is on shift, between the start and the horizon's end, in order.
pub fn unattended(instance: &Instance) -> Vec<(Instant, Instant)> {
    let mut staffed: Vec<(Instant, Instant)> = stretches(instance).into_iter().map(|s| (s.from, s.to)).collect();
    staffed.sort();
    let mut gaps = Vec::new();
    let mut since = instance.farm.start;
    for (from, to) in staffed {
        if since < from {
            gaps.push((since, from));
        }
        since = since.max(to);
    }
    if since < instance.farm.horizon_end() {
        gaps.push((since, instance.farm.horizon_end()));
    }
    gaps
}

/// The dates on which the row's shift starts, from the look-back to the horizon's end, closures included.
fn dates<'a>(instance: &Instance, row: &'a ShiftRow) -> Box<dyn Iterator<Item = NaiveDate> + 'a> {
    let first = instance.farm.clock.stamp(instance.farm.start).date_naive();
    let first = first.checked_sub_days(CalendarDays::new(LOOK_BACK_DAYS)).unwrap_or(first);
    let last = instance.farm.clock.stamp(instance.farm.horizon_end()).date_naive();
    match &row.days {
        Days::Date(date) => Box::new((first <= *date && *date <= last).then_some(*date).into_iter()),
        Days::Weekly(weekdays) => {
            let every_day = first.iter_days().take_while(move |date| *date <= last);
            Box::new(every_day.filter(|date| weekdays.contains(&date.weekday())))
        }
    }
}

/// The row on a date; nothing where the clocks swallow it whole.
fn occurrence(instance: &Instance, row: &ShiftRow, date: NaiveDate) -> Option<Occurrence> {
    let last_date = if row.to <= row.from { date.succ_opt()? } else { date };
    let [from, to] = [date.and_time(row.from), last_date.and_time(row.to)].map(|wall| {
        let (Wall::Exists(instant) | Wall::Skipped(instant)) = instance.farm.clock.instant(wall);
        instant
    });
    (from < to).then_some(Occurrence { from, to, operators: row.operators.0 })
}

/// Gives each occurrence, in order of start, the smallest free numbers, and joins what adjoins under one number.
fn numbered(crew: CrewId, occurrences: &[Occurrence]) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut last_of: HashMap<u32, usize> = HashMap::new();
    let mut free: BTreeSet<u32> = BTreeSet::new();
    let mut held: BinaryHeap<Reverse<(Instant, u32)>> = BinaryHeap::new();
    let mut highest = 0;
    for occurrence in occurrences {
        while let Some(&Reverse((until, operator))) = held.peek() {
            if until > occurrence.from {
                break;
            }
            held.pop();
            free.insert(operator);
        }
        for _ in 0..occurrence.operators {
            let operator = free.pop_first().unwrap_or_else(|| {
                highest += 1;
                highest
            });
            held.push(Reverse((occurrence.to, operator)));
            match last_of.get(&operator) {
                Some(&last) if stretches[last].to == occurrence.from => stretches[last].to = occurrence.to,
                _ => {
                    last_of.insert(operator, stretches.len());
                    stretches.push(Stretch { crew, operator, from: occurrence.from, to: occurrence.to });
                }
            }
        }
    }
    stretches
}

#[cfg(test)]
mod tests;
