//! The axis of time under a chart: where an instant lies, and which days are named.

use crate::span::Span;
use chrono::{Datelike, NaiveDate};
use platewright_model::calendar::Wall;
use platewright_model::{Instance, Instant, Minutes};

/// A stretch of time laid out from 0 to 100 (per cent of the chart's width).
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it covers.
    pub span: Span,
    /// The days named under it.
    pub ticks: Vec<Tick>,
}

/// A named day.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Where its midnight lies.
    pub at: f64,
    /// `Mon 2 Mar`.
    pub label: String,
}

impl Axis {
    /// The axis of a stretch of time, with so many named days at most.
    pub fn of(instance: &Instance, span: Span, most: usize) -> Axis {
        let mut axis = Axis { span, ticks: Vec::new() };
        let midnights = midnights(instance, span);
        let every = midnights.len().div_ceil(most.max(1)).max(1);
        axis.ticks = midnights
            .into_iter()
            .step_by(every)
            .map(|(date, at)| Tick { at: axis.place(at), label: date.format("%a %-d %b").to_string() })
            // One at the very edge would hang over it.
            .filter(|tick| tick.at < 88.0)
            .collect();
        axis
    }

    /// Where an instant lies; those outside lie on the edge.
    pub fn place(&self, instant: Instant) -> f64 {
        let share = (instant - self.span.from).0 as f64 / self.span.length().0.max(1) as f64;
        (share.clamp(0.0, 1.0) * 10_000.0).round() / 100.0
    }
}

/// Every local midnight within a stretch of time, with the date that begins.
pub fn midnights(instance: &Instance, span: Span) -> Vec<(NaiveDate, Instant)> {
    let clock = instance.farm.clock;
    let first = clock.stamp(span.from).date_naive();
    first
        .iter_days()
        .map(|date| {
            let (Wall::Exists(at) | Wall::Skipped(at)) = clock.instant(date.and_time(chrono::NaiveTime::MIN));
            (date, at)
        })
        .skip_while(|(_, at)| *at < span.from)
        .take_while(|(_, at)| *at < span.to)
        .collect()
}

/// The stretch of time cut at midnights: into days, or where those are many into weeks or four weeks from the first day
/// on. What a piece is called comes first.
pub fn cut(instance: &Instance, span: Span) -> (&'static str, Vec<Span>) {
    let midnights: Vec<Instant> =
        midnights(instance, span).into_iter().map(|(_, at)| at).filter(|at| *at > span.from).collect();
    let (word, every) = match midnights.len() {
        0..=62 => ("day", 1),
        63..=434 => ("week", 7),
        _ => ("four weeks", 28),
    };
    let cuts = midnights.into_iter().skip(every - 1).step_by(every).chain([span.to]);
    let mut from = span.from;
    let spans = cuts.map(|to| Span { from: std::mem::replace(&mut from, to), to }).filter(|s| !s.is_empty());
    (word, spans.collect())
}

/// The instants at which the farm's clocks change within a stretch of time, with the minutes east of UTC in force from
/// then on; the first entry is what is in force at its beginning.
pub fn offsets(instance: &Instance, span: Span) -> Vec<(Instant, i64)> {
    let offset = |at: Instant| i64::from(instance.farm.clock.stamp(at).offset().local_minus_utc() / 60);
    let mut found = vec![(span.from, offset(span.from))];
    let mut at = span.from;
    while at < span.to {
        let next = (at + Minutes::DAY).min(span.to);
        let before = offset(at);
        if offset(next) != before {
            // The last minute known to have the old offset, and the first known to have the new one.
            let (mut old, mut new) = (at, next);
            while (new - old).0 > 1 {
                let middle = old + Minutes((new - old).0 / 2);
                if offset(middle) == before { old = middle } else { new = middle }
            }
            found.push((new, offset(new)));
            at = new;
        } else {
            at = next;
        }
    }
    found
}

/// A date for a row: `Mon 2 Mar`, with the year where it is not the plan's first.
pub fn say_date(instance: &Instance, date: NaiveDate) -> String {
    let same = date.year() == instance.farm.clock.stamp(instance.farm.start).year();
    date.format(if same { "%a %-d %b" } else { "%a %-d %b %Y" }).to_string()
}

/// The dates that a stretch of time touches: `Mon 2 Mar`, or `Mon 2 Mar to Sun 8 Mar`.
pub fn say_dates(instance: &Instance, span: Span) -> String {
    let date = |at| instance.farm.clock.stamp(at).date_naive();
    let (first, last) = (date(span.from), date(span.to - Minutes(1)));
    if first >= last {
        return say_date(instance, first);
    }
    format!("{} to {}", say_date(instance, first), say_date(instance, last))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn days_are_cut_at_the_farms_midnights() {
        let instance = sample::instance();
        let (word, days) = cut(&instance, Span { from: at(0, 7, 0), to: at(2, 7, 4) });
        assert_eq!(word, "day");
        let midnight = |day| at(day, 0, 0);
        assert_eq!(
            days.iter().map(|s| (s.from, s.to)).collect::<Vec<_>>(),
            [(at(0, 7, 0), midnight(1)), (midnight(1), midnight(2)), (midnight(2), at(2, 7, 4))]
        );
        let (word, weeks) = cut(&instance, Span { from: at(0, 7, 0), to: at(100, 7, 0) });
        assert_eq!((word, weeks.len()), ("week", 15));
        assert!(weeks.windows(2).all(|w| w[0].to == w[1].from));
        assert_eq!(say_dates(&instance, weeks[0]), "Mon 2 Mar to Sun 8 Mar");
        assert_eq!(say_dates(&instance, days[1]), "Tue 3 Mar");
    }

    #[test]
    fn a_change_of_clocks_is_found_to_the_minute() {
        let instance = sample::instance();
        // Lisbon goes to summer time on Sunday 29 March 2026 at 01:00 UTC.
        let span = Span { from: at(0, 7, 0), to: at(40, 7, 0) };
        assert_eq!(offsets(&instance, span), [(at(0, 7, 0), 0), (at(27, 1, 0), 60)]);
    }

    #[test]
    fn no_more_days_are_named_than_there_is_room_for() {
        let instance = sample::instance();
        for days in [1, 3, 8, 9, 60, 700] {
            let axis = Axis::of(&instance, Span { from: at(0, 7, 0), to: at(days, 7, 0) }, 8);
            assert!((1..=8).contains(&axis.ticks.len()), "{days}: {axis:?}");
        }
        let axis = Axis::of(&instance, Span { from: at(0, 0, 0), to: at(2, 0, 0) }, 8);
        assert_eq!(axis.ticks[1], Tick { at: 50.0, label: "Tue 3 Mar".into() });
        assert_eq!((axis.place(at(-3, 0, 0)), axis.place(at(9, 0, 0))), (0.0, 100.0));
    }
}
