//! The shifts laid out on the calendar, from the rows of `shifts.csv` and `closures.csv`.
//!
//! Each row occurs on each of its dates that is not closed. The occurrences of one crew, by start and then by row, each
//! take the smallest operator numbers that no overlapping occurrence of the crew holds: so `CREW-1` is on every shift,
//! and a second row at the same time brings further people and not the same ones twice. Where one operator goes off and
//! on shift in the same minute (`24:00` and the next day's `00:00`) the stretches are one, and a task may straddle it.
//!
//! Numbers are handed out from two weeks before the start ([`LOOK_BACK_DAYS`]), so that a plan made in mid-week calls
//! people what Monday's plan called them; that is a convention of the plan's files, which planner and checker must hold
//! alike. Stretches are clipped to the plan's reach, which is what forbids any work before the start or after the
//! horizon's end.

use crate::span::{Span, gaps, union};
use crate::wall;
use chrono::{Datelike, Days as CalendarDays, NaiveDate};
use platewright_model::instance::{CrewId, Days, ShiftRow};
use platewright_model::{Instance, Instant};
use std::collections::{HashMap, HashSet};

/// How many days before the start the numbering of operators begins.
const LOOK_BACK_DAYS: u64 = 14;

/// Who is on shift when.
#[derive(Debug)]
pub(crate) struct Roster {
    numbers: HashMap<String, usize>,
    stretches: Vec<Vec<Span>>,
    strength: Vec<usize>,
    unattended: Vec<Span>,
}

/// One row of `shifts.csv` on one date.
struct Occurrence {
    row: usize,
    span: Span,
}

impl Roster {
    pub fn lay_out(instance: &Instance, reach: Span, absent: &[(CrewId, u32, Span)]) -> Roster {
        let dates = open_dates(instance, reach);
        let mut by_crew: Vec<Vec<Occurrence>> = instance.crews.iter().map(|_| Vec::new()).collect();
        for (row, shift) in instance.shifts.iter().enumerate() {
            if let Some(crew) = by_crew.get_mut(shift.crew.index()) {
                crew.extend(spans_of(instance, shift, &dates).map(|span| Occurrence { row, span }));
            }
        }

        let mut roster =
            Roster { numbers: HashMap::new(), stretches: Vec::new(), strength: Vec::new(), unattended: Vec::new() };
        let mut attended = Vec::new();
        for ((name, mut occurrences), crew) in instance.crews.iter().zip(by_crew).zip((0..).map(CrewId)) {
            occurrences.sort_by_key(|o| (o.span.from, o.row));
            let operators = numbered(instance, &occurrences);
            let mut strength = 0;
            for (number, stretches) in (1..).zip(operators) {
                let away = absent.iter().filter(|a| a.0 == crew && a.1 as usize == number).map(|a| a.2).collect();
                let there = gaps(reach, &union(away));
                let clipped: Vec<Span> = stretches
                    .into_iter()
                    .flat_map(|s| there.iter().filter_map(move |there| s.overlap(*there)))
                    .collect();
                if !clipped.is_empty() {
                    strength = number;
                    attended.extend(clipped.iter().copied());
                    roster.numbers.insert(format!("{name}-{number}"), roster.stretches.len());
                    roster.stretches.push(clipped);
                }
            }
            roster.strength.push(strength);
        }
        roster.unattended = gaps(reach, &union(attended));
        roster
    }

    /// The operator of that name, if the instance's crews have one.
    pub fn operator(&self, name: &str) -> Option<usize> {
        self.numbers.get(name).copied()
    }

    /// The operator's stretches on shift, in order; nothing where there is no such operator.
    pub fn stretches(&self, operator: usize) -> &[Span] {
        self.stretches.get(operator).map_or(&[], Vec::as_slice)
    }

    /// How many operators there are in all, over the crews.
    pub fn operators(&self) -> usize {
        self.stretches.len()
    }

    /// The highest operator number of the crew at that position in the instance.
    pub fn strength(&self, crew: usize) -> usize {
        self.strength.get(crew).copied().unwrap_or(0)
    }

    /// The stretches of the reach with nobody of any crew on shift, in order.
    pub fn unattended(&self) -> &[Span] {
        &self.unattended
    }

    /// The stretch that the operator is in at that moment.
    pub fn stretch_at(&self, operator: usize, moment: Instant) -> Option<Span> {
        let stretches = self.stretches(operator);
        let later = stretches.partition_point(|stretch| stretch.from <= moment);
        later.checked_sub(1).and_then(|last| stretches.get(last)).copied().filter(|stretch| moment <= stretch.to)
    }
}

/// The dates that are not closed, from the look-back to the end of the reach.
fn open_dates(instance: &Instance, reach: Span) -> Vec<NaiveDate> {
    let zone = instance.farm.clock.zone();
    let (Some(first), Some(last)) = (wall::date(zone, reach.from), wall::date(zone, reach.to)) else {
        return Vec::new();
    };
    let closed: HashSet<NaiveDate> = instance.closures.iter().map(|closure| closure.date).collect();
    let first = first.checked_sub_days(CalendarDays::new(LOOK_BACK_DAYS)).unwrap_or(first);
    first.iter_days().take_while(|date| *date <= last).filter(|date| !closed.contains(date)).collect()
}

fn spans_of<'a>(
    instance: &Instance,
    shift: &'a ShiftRow,
    dates: &'a [NaiveDate],
) -> impl Iterator<Item = Span> + use<'a> {
    let zone = instance.farm.clock.zone();
    let on = move |date: &&NaiveDate| match &shift.days {
        Days::Weekly(days) => days.contains(&date.weekday()),
        Days::Date(day) => day == *date,
    };
    dates
        .iter()
        .filter(on)
        .map(move |&date| {
            let overnight = shift.to <= shift.from;
            let last = if overnight { date.checked_add_days(CalendarDays::new(1)).unwrap_or(date) } else { date };
            Span::new(wall::instant(zone, date.and_time(shift.from)), wall::instant(zone, last.and_time(shift.to)))
        })
        // A shift within the hour that the clocks skip has no minutes left.
        .filter(|span| span.from < span.to)
}

/// The stretches of each operator of one crew, given its occurrences in order.
fn numbered(instance: &Instance, occurrences: &[Occurrence]) -> Vec<Vec<Span>> {
    let mut operators: Vec<Vec<Span>> = Vec::new();
    for Occurrence { row, span } in occurrences {
        let mut wanted = instance.shifts.get(*row).map_or(0, |shift| shift.operators.0);
        for number in 0.. {
            if wanted == 0 {
                break;
            }
            if number == operators.len() {
                operators.push(Vec::new());
            }
            let stretches = &mut operators[number];
            match stretches.last_mut() {
                Some(last) if last.to > span.from => continue,
                Some(last) if last.to == span.from => last.to = span.to,
                _ => stretches.push(*span),
            }
            wanted -= 1;
        }
    }
    operators
}

#[cfg(test)]
mod tests;
