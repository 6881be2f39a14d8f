//! Shifts by date and crew.
//!
//! A crew's shift of a date is all that begins on that date: two stretches with a break between them are one shift, and a
//! night shift belongs to the evening on which it begins. A crew that is on for more than a day without a pause, because
//! its rows adjoin, has its stretch cut at every midnight. A shift that was under way at the farm's start counts from
//! there.

use crate::span::Span;
use chrono::{Days, NaiveDate};
use platewright_model::calendar::Wall;
use platewright_model::instance::CrewId;
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::BTreeMap;

/// One crew's shift of one date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrewShift {
    /// Whose.
    pub crew: CrewId,
    /// On which date it begins.
    pub date: NaiveDate,
    /// When somebody of the crew is on, in order, without overlap.
    pub spans: Vec<Span>,
    /// The operators' names, in order of their numbers.
    pub operators: Vec<String>,
}

impl CrewShift {
    /// Its first minute.
    pub fn from(&self) -> Instant {
        self.spans.first().map_or(Instant(0), |span| span.from)
    }

    /// The minute after its last.
    pub fn to(&self) -> Instant {
        self.spans.last().map_or(Instant(0), |span| span.to)
    }
}

/// All shifts that begin before the plan ends, or with its last tasks where they take no minutes, in order of start and
/// then of crew.
pub fn shifts(instance: &Instance, plan: &Plan) -> Vec<CrewShift> {
    let end = Span::of_plan(instance, plan).to;
    let last = plan.tasks.iter().map(|task| task.from).max();
    let mut shifts: BTreeMap<(NaiveDate, CrewId), (Vec<Span>, Vec<u32>)> = BTreeMap::new();
    for stretch in roster::stretches(instance) {
        for (date, span) in days(instance, Span { from: stretch.from, to: stretch.to }) {
            if span.from < end || last.is_some_and(|last| span.from <= last) {
                let (spans, operators) = shifts.entry((date, stretch.crew)).or_default();
                spans.push(span);
                operators.push(stretch.operator);
            }
        }
    }
    let shift = |((date, crew), (spans, mut operators)): (_, (Vec<Span>, Vec<u32>))| {
        operators.sort_unstable();
        operators.dedup();
        let operators = operators.iter().map(|number| roster::operator_name(instance, crew, *number)).collect();
        CrewShift { crew, date, spans: joined(spans), operators }
    };
    let mut shifts: Vec<CrewShift> = shifts.into_iter().map(shift).collect();
    shifts.sort_by_key(|shift| (shift.from(), shift.crew));
    shifts
}

/// A stretch by the date on which it begins; one of more than a day is cut at midnights.
fn days(instance: &Instance, stretch: Span) -> Vec<(NaiveDate, Span)> {
    let clock = &instance.farm.clock;
    let date = |at: Instant| clock.stamp(at).date_naive();
    if stretch.length() <= Minutes::DAY {
        return vec![(date(stretch.from), stretch)];
    }
    let mut days = Vec::new();
    let mut from = stretch.from;
    while from < stretch.to {
        let midnight =
            date(from).checked_add_days(Days::new(1)).map(|day| clock.instant(day.and_time(Default::default())));
        let to = match midnight {
            Some(Wall::Exists(at) | Wall::Skipped(at)) if at > from => at.min(stretch.to),
            _ => stretch.to,
        };
        days.push((date(from), Span { from, to }));
        from = to;
    }
    days
}

/// The union of stretches, in order.
fn joined(mut spans: Vec<Span>) -> Vec<Span> {
    spans.sort();
    let mut joined: Vec<Span> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
            _ => joined.push(span),
        }
    }
    joined
}

/// What a shift is called on the command line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asked<'w> {
    /// There is one.
    Found(CrewShift),
    /// The words are not `DATE/CREW`.
    NotAShift,
    /// There is no such crew.
    NoSuchCrew(&'w str),
    /// The crew has no shift on that date before the plan ends.
    NotOn(NaiveDate, CrewId),
}

/// Finds the shift of `DATE/CREW`, such as `2026-03-02/early`.
pub fn find<'w>(instance: &Instance, plan: &Plan, words: &'w str) -> Asked<'w> {
    let Some((date, crew)) = words.split_once('/') else { return Asked::NotAShift };
    let Ok(date) = NaiveDate::parse_from_str(date.trim(), "%Y-%m-%d") else { return Asked::NotAShift };
    let Some(id) = (0..).map(CrewId).zip(&instance.crews).find_map(|(id, name)| (name == crew).then_some(id)) else {
        return Asked::NoSuchCrew(crew);
    };
    match shifts(instance, plan).into_iter().find(|shift| shift.date == date && shift.crew == id) {
        Some(shift) => Asked::Found(shift),
        None => Asked::NotOn(date, id),
    }
}
