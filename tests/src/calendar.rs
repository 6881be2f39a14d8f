//! Wall times of a farm, for writing tables.

use chrono::{Days, NaiveDateTime};
use platewright_model::calendar::{Clock, Wall};
use platewright_model::{Instant, Minutes};

/// A zone and a start.
#[derive(Debug, Clone)]
pub struct Calendar {
    /// IANA name.
    pub zone: &'static str,
    /// Wall time, as in `farm.toml`.
    pub start: &'static str,
    clock: Clock,
    first: NaiveDateTime,
}

impl Calendar {
    /// The calendar of a zone and a start, which must exist there.
    pub fn new(zone: &'static str, start: &'static str) -> Calendar {
        let first = NaiveDateTime::parse_from_str(start, "%Y-%m-%dT%H:%M").expect("a start as in farm.toml");
        Calendar { zone, start, clock: Clock::new(zone.parse().expect("a zone")), first }
    }

    /// The wall time so many elapsed minutes after the start.
    pub fn wall(&self, minutes: i64) -> String {
        let (Wall::Exists(start) | Wall::Skipped(start)) = self.clock.instant(self.first);
        let Instant(start) = start;
        self.clock.stamp(Instant(start) + Minutes(minutes)).format("%Y-%m-%dT%H:%M").to_string()
    }

    /// The date so many days after the start's.
    pub fn date(&self, days: u64) -> String {
        (self.first.date() + Days::new(days)).to_string()
    }
}
