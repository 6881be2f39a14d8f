//! Wall times as the room says them: `Thu 5 Mar 13:55`, with the year only where it is not the plan's first.

use chrono::{Datelike, NaiveDateTime};
use platewright_model::{Instance, Instant, Minutes, calendar};

/// Says instants in the farm's zone.
#[derive(Debug, Clone, Copy)]
pub struct Wall<'a> {
    instance: &'a Instance,
}

impl<'a> Wall<'a> {
    /// The farm's wall clock.
    pub fn of(instance: &'a Instance) -> Wall<'a> {
        Wall { instance }
    }

    /// For a sentence: `Thu 5 Mar 13:55`.
    pub fn say(&self, instant: Instant) -> String {
        self.format(instant, "%a %-d %b %H:%M", "%a %-d %b %Y %H:%M")
    }

    /// For a column: as [`Wall::say`], the day in two places.
    pub fn column(&self, instant: Instant) -> String {
        self.format(instant, "%a %e %b %H:%M", "%a %e %b %Y %H:%M")
    }

    /// A stretch: `Thu 5 Mar 13:55 to 14:10`, the day said again only where it is another.
    pub fn span(&self, from: Instant, to: Instant) -> String {
        let clock = &self.instance.farm.clock;
        let same_day = clock.stamp(from).date_naive() == clock.stamp(to).date_naive();
        format!("{} to {}", self.say(from), if same_day { self.time(to) } else { self.say(to) })
    }

    /// The time of day: `13:55`.
    pub fn time(&self, instant: Instant) -> String {
        self.instance.farm.clock.stamp(instant).format("%H:%M").to_string()
    }

    /// The instant of a wall time written as in the tables, `2026-03-02T07:00`; none where it is written otherwise or does
    /// not exist.
    pub fn read(&self, words: &str) -> Option<Instant> {
        let wall = NaiveDateTime::parse_from_str(words.trim(), "%Y-%m-%dT%H:%M").ok()?;
        match self.instance.farm.clock.instant(wall) {
            calendar::Wall::Exists(instant) => Some(instant),
            calendar::Wall::Skipped(_) => None,
        }
    }

    /// The day: `Thu 5 Mar`.
    pub fn day(&self, instant: Instant) -> String {
        self.format(instant, "%a %-d %b", "%a %-d %b %Y")
    }

    fn format(&self, instant: Instant, this_year: &str, another_year: &str) -> String {
        let clock = &self.instance.farm.clock;
        let stamp = clock.stamp(instant);
        let same = stamp.year() == clock.stamp(self.instance.farm.start).year();
        stamp.format(if same { this_year } else { another_year }).to_string()
    }
}

/// Hours and minutes as a figure that can be added up: `1234:05`.
pub fn clock_hours(minutes: Minutes) -> String {
    let sign = if minutes.0 < 0 { "-" } else { "" };
    let total = minutes.0.unsigned_abs();
    format!("{sign}{}:{:02}", total / 60, total % 60)
}

/// A share as a whole percentage, never `0 %` or `100 %` where it is only nearly so.
pub fn percent(part: Minutes, whole: Minutes) -> String {
    if whole.0 <= 0 {
        return "-".to_owned();
    }
    let share = 100.0 * part.0 as f64 / whole.0 as f64;
    match share.round() as i64 {
        0 if part.0 > 0 => "<1 %".to_owned(),
        100 if part < whole => ">99 %".to_owned(),
        rounded => format!("{rounded} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn the_year_is_said_where_it_is_another() {
        let instance = sample::instance();
        let wall = Wall::of(&instance);
        let start = instance.farm.start;
        assert_eq!(wall.say(start), "Mon 2 Mar 07:00");
        assert_eq!(wall.column(start), "Mon  2 Mar 07:00");
        assert_eq!(wall.say(start + Minutes(365 * 1440)), "Tue 2 Mar 2027 07:00");
        assert_eq!(wall.span(start, start + Minutes(75)), "Mon 2 Mar 07:00 to 08:15");
        assert_eq!(wall.span(start, start + Minutes(1440)), "Mon 2 Mar 07:00 to Tue 3 Mar 07:00");
    }

    #[test]
    fn shares_do_not_round_to_all_or_nothing() {
        assert_eq!(percent(Minutes(1), Minutes(1000)), "<1 %");
        assert_eq!(percent(Minutes(999), Minutes(1000)), ">99 %");
        assert_eq!(percent(Minutes(0), Minutes(1000)), "0 %");
        assert_eq!(percent(Minutes(1000), Minutes(1000)), "100 %");
        assert_eq!(percent(Minutes(3), Minutes(0)), "-");
    }

    #[test]
    fn hours_can_be_added_up() {
        assert_eq!(clock_hours(Minutes(74045)), "1234:05");
        assert_eq!(clock_hours(Minutes(-61)), "-1:01");
    }
}
