//! Operator time by the clock on the wall: how much of what the crew is paid for, and of what it does, lies at night
//! and how much at the weekend.
//!
//! Night is 22:00 to 06:00, the weekend is Saturday and Sunday, both by the farm's wall clock; minutes are elapsed ones,
//! so the night in which the clocks go forward has an hour less.

use crate::span::Span;
use chrono::{Datelike, NaiveDate, NaiveTime, Weekday};
use platewright_model::calendar::{Clock, Wall};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};

/// Operator minutes by when they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Watch {
    /// At any time.
    pub all: Minutes,
    /// Between 22:00 and 06:00.
    pub night: Minutes,
    /// On a Saturday or Sunday.
    pub weekend: Minutes,
}

/// What the crews are paid for and what they are busy with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CrewTime {
    /// On shift, from the start to the end of the plan.
    pub paid: Watch,
    /// Loading, harvesting and packing.
    pub busy: Watch,
}

/// Counts the operator minutes of a plan.
pub fn crew_time(instance: &Instance, plan: &Plan) -> CrewTime {
    let whole = Span::of_plan(instance, plan);
    let calendar = Calendar::of(instance.farm.clock, whole);
    let on_shift = roster::stretches(instance).into_iter().map(|s| Span { from: s.from, to: s.to }.within(whole));
    let at_work = plan.tasks.iter().map(|task| Span { from: task.from, to: task.to });
    CrewTime { paid: calendar.count(on_shift), busy: calendar.count(at_work) }
}

/// The nights and weekends around a stretch of time.
struct Calendar {
    nights: Vec<Span>,
    weekends: Vec<Span>,
}

impl Calendar {
    fn of(clock: Clock, span: Span) -> Calendar {
        let date = |instant: Instant| clock.stamp(instant).date_naive();
        let at = |date: NaiveDate, hour: u32| {
            let wall = date.and_time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default());
            let (Wall::Exists(instant) | Wall::Skipped(instant)) = clock.instant(wall);
            instant
        };
        // The night of the day before may reach into the first day.
        let first = date(span.from).pred_opt().unwrap_or_default();
        let days = || first.iter_days().take_while(|day| *day <= date(span.to));
        let until = |day: NaiveDate, hour: u32| at(day.succ_opt().unwrap_or(day), hour);
        Calendar {
            nights: days().map(|day| Span { from: at(day, 22), to: until(day, 6) }).collect(),
            weekends: days()
                .filter(|day| matches!(day.weekday(), Weekday::Sat | Weekday::Sun))
                .map(|day| Span { from: at(day, 0), to: until(day, 0) })
                .collect(),
        }
    }

    fn count(&self, spans: impl Iterator<Item = Span>) -> Watch {
        let mut watch = Watch::default();
        for span in spans {
            watch.all += span.length();
            watch.night += touched(&self.nights, span);
            watch.weekend += touched(&self.weekends, span);
        }
        watch
    }
}

/// The minutes of a span that lie within any of these, which are in order and do not overlap.
fn touched(these: &[Span], span: Span) -> Minutes {
    let first = these.partition_point(|one| one.to <= span.from);
    these.iter().skip(first).take_while(|one| one.from < span.to).map(|one| one.within(span).length()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};
    use chrono_tz::Tz;

    fn count(clock: Clock, from: Instant, to: Instant) -> [i64; 3] {
        let span = Span { from, to };
        let watch = Calendar::of(clock, span).count(std::iter::once(span));
        [watch.all.0, watch.night.0, watch.weekend.0]
    }

    #[test]
    fn the_night_begins_at_ten_and_ends_at_six() {
        let clock = Clock::new(Tz::Europe__Lisbon);
        assert_eq!(count(clock, at(0, 21, 30), at(1, 6, 30)), [540, 480, 0]);
        assert_eq!(count(clock, at(0, 3, 0), at(0, 4, 0)), [60, 60, 0]);
        assert_eq!(count(clock, at(0, 6, 0), at(0, 22, 0)), [960, 0, 0]);
    }

    #[test]
    fn the_weekend_is_saturday_and_sunday() {
        let clock = Clock::new(Tz::Europe__Lisbon);
        // From Friday 20:00 to Monday 02:00.
        assert_eq!(count(clock, at(4, 20, 0), at(7, 2, 0)), [54 * 60, (8 + 8 + 4) * 60, 48 * 60]);
    }

    #[test]
    fn the_night_of_the_clock_change_is_an_hour_shorter_or_longer() {
        let clock = Clock::new(Tz::Europe__Lisbon);
        // Saturday 28 March and Saturday 24 October 2026, 20:00 on the wall.
        let spring = at(26, 20, 0);
        assert_eq!(count(clock, spring, spring + Minutes(11 * 60)), [660, 420, 660]);
        let autumn = at(236, 19, 0);
        assert_eq!(count(clock, autumn, autumn + Minutes(13 * 60)), [780, 540, 780]);
    }

    #[test]
    fn the_crew_of_the_sample_works_by_day() {
        let instance = sample::instance();
        let time = crew_time(&instance, &sample::plan(&instance));
        assert_eq!((time.paid.all, time.busy.all), (Minutes(1204), Minutes(18)));
        assert_eq!((time.paid.night, time.busy.night, time.paid.weekend), (Minutes(0), Minutes(0), Minutes(0)));
    }
}
