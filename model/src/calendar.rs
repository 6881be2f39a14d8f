//! Wall time and instants in the farm's zone.
//!
//! Durations are elapsed minutes, so everything after reading is done on instants. Going from wall to instant meets two
//! odd hours a year: a time that does not exist (clocks go forward) and one that comes twice (clocks go back).

use crate::units::Instant;
use chrono::{DateTime, FixedOffset, LocalResult, NaiveDateTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use serde::{Serialize, Serializer};

/// The farm's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clock {
    zone: Tz,
}

impl Serialize for Clock {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.zone.name())
    }
}

/// What a wall time is in a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wall {
    /// It happens; where it comes twice, this is the first.
    Exists(Instant),
    /// The clocks skip it; this is the same reading carried forward by the skip.
    Skipped(Instant),
}

impl Clock {
    /// A clock in the zone.
    pub fn new(zone: Tz) -> Clock {
        Clock { zone }
    }

    /// The IANA name.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// The instant of a wall time.
    pub fn instant(&self, wall: NaiveDateTime) -> Wall {
        match self.zone.from_local_datetime(&wall) {
            LocalResult::Single(time) | LocalResult::Ambiguous(time, _) => {
                Wall::Exists(whole_minutes(time.timestamp()))
            }
            LocalResult::None => {
                let before = self.offset_before_skip(wall);
                Wall::Skipped(whole_minutes(wall.and_utc().timestamp() - before))
            }
        }
    }

    /// The wall time of an instant, with the offset in force. An instant outside the years that chrono can write (some
    /// 262,000 to either side) reads as 1970; tables and plan files admit none of those.
    pub fn stamp(&self, instant: Instant) -> DateTime<FixedOffset> {
        let utc =
            instant.0.checked_mul(60).and_then(|seconds| DateTime::from_timestamp(seconds, 0)).unwrap_or_default();
        utc.with_timezone(&self.zone).fixed_offset()
    }

    /// Seconds east of UTC in force just before the skip that swallowed `wall`: the last wall time before it that
    /// exists tells. A skip is an hour in most places, at most a day where a country crossed the date line.
    fn offset_before_skip(&self, wall: NaiveDateTime) -> i64 {
        let quarter = TimeDelta::minutes(15);
        let mut earlier = wall;
        for _ in 0..4 * 25 {
            earlier -= quarter;
            if let Some(time) = self.zone.from_local_datetime(&earlier).latest() {
                return i64::from(time.offset().fix().local_minus_utc());
            }
        }
        0
    }
}

/// Offsets in force since 2000, the first year that tables admit, are whole minutes, so nothing is lost.
fn whole_minutes(seconds: i64) -> Instant {
    Instant(seconds.div_euclid(60))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn wall(year: i32, month: u32, day: u32, hour: u32, minute: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(year, month, day).unwrap().and_hms_opt(hour, minute, 0).unwrap()
    }

    fn utc(year: i32, month: u32, day: u32, hour: u32, minute: u32) -> Instant {
        Instant(wall(year, month, day, hour, minute).and_utc().timestamp() / 60)
    }

    const LISBON: Clock = Clock { zone: Tz::Europe__Lisbon };

    #[test]
    fn ordinary_times_follow_the_offset_in_force() {
        assert_eq!(LISBON.instant(wall(2026, 3, 2, 7, 0)), Wall::Exists(utc(2026, 3, 2, 7, 0)));
        assert_eq!(LISBON.instant(wall(2026, 7, 2, 7, 0)), Wall::Exists(utc(2026, 7, 2, 6, 0)));
    }

    #[test]
    fn the_last_year_of_the_tables_still_has_its_summer_time() {
        assert_eq!(LISBON.instant(wall(2099, 7, 2, 7, 0)), Wall::Exists(utc(2099, 7, 2, 6, 0)));
    }

    #[test]
    fn the_skipped_hour_of_spring_is_carried_forward() {
        assert_eq!(LISBON.instant(wall(2026, 3, 29, 0, 59)), Wall::Exists(utc(2026, 3, 29, 0, 59)));
        let skipped = utc(2026, 3, 29, 1, 30);
        assert_eq!(LISBON.instant(wall(2026, 3, 29, 1, 30)), Wall::Skipped(skipped));
        assert_eq!(LISBON.stamp(skipped).to_rfc3339(), "2026-03-29T02:30:00+01:00");
        assert_eq!(LISBON.instant(wall(2026, 3, 29, 2, 0)), Wall::Exists(utc(2026, 3, 29, 1, 0)));
    }

    #[test]
    fn of_the_doubled_hour_of_autumn_the_first_is_meant() {
        let first = utc(2026, 10, 25, 0, 30);
        assert_eq!(LISBON.instant(wall(2026, 10, 25, 1, 30)), Wall::Exists(first));
        assert_eq!(LISBON.stamp(first).to_rfc3339(), "2026-10-25T01:30:00+01:00");
        assert_eq!(LISBON.stamp(utc(2026, 10, 25, 1, 30)).to_rfc3339(), "2026-10-25T01:30:00+00:00");
    }

    #[test]
    fn a_whole_skipped_day_is_carried_over_the_date_line() {
        let apia = Clock::new(Tz::Pacific__Apia);
        let Wall::Skipped(instant) = apia.instant(wall(2011, 12, 30, 12, 0)) else {
            panic!("Apia had no 30 December 2011")
        };
        assert_eq!(apia.stamp(instant).to_rfc3339(), "2011-12-31T12:00:00+14:00");
    }

    #[test]
    fn a_half_hour_skip_is_carried_by_half_an_hour() {
        let lord_howe = Clock::new(Tz::Australia__Lord_Howe);
        let Wall::Skipped(instant) = lord_howe.instant(wall(2026, 10, 4, 2, 10)) else { panic!("02:10 is skipped") };
        assert_eq!(lord_howe.stamp(instant).to_rfc3339(), "2026-10-04T02:40:00+11:00");
    }

    #[test]
    fn an_instant_beyond_all_calendars_does_not_panic() {
        assert_eq!(LISBON.stamp(Instant(i64::MAX)).timestamp(), 0);
        assert_eq!(LISBON.stamp(Instant(i64::MIN)).timestamp(), 0);
    }
}
