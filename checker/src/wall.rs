//! Wall time in the farm's zone, to instants and back.
//!
//! Worked out here and not by the model's clock, so that a shift laid out wrongly on the two odd nights of a year does
//! not look right to both sides.

use chrono::{DateTime, Duration, MappedLocalTime, NaiveDate, NaiveDateTime, Offset, TimeZone};
use chrono_tz::Tz;
use platewright_model::Instant;

/// The instant of a wall time: the first where the clocks go back over it; where they skip it, the same reading moved
/// forward by what they skip (01:30 becomes 02:30), which is that reading under the offset before the skip.
pub(crate) fn instant(zone: Tz, wall: NaiveDateTime) -> Instant {
    match zone.from_local_datetime(&wall) {
        MappedLocalTime::Single(time) | MappedLocalTime::Ambiguous(time, _) => minute(time),
        MappedLocalTime::None => {
            // Zones that moved across the date line skipped a whole day, which is the longest skip there is.
            let before = (1..=25)
                .find_map(|hours| zone.from_local_datetime(&(wall - Duration::hours(hours))).latest())
                .map_or(0, |time| i64::from(time.offset().fix().local_minus_utc()));
            Instant((wall.and_utc().timestamp() - before).div_euclid(60))
        }
    }
}

/// The date on the wall; none where the time is beyond the calendar.
pub(crate) fn date(zone: Tz, instant: Instant) -> Option<NaiveDate> {
    local(zone, instant).map(|wall| wall.date())
}

/// The wall time as messages show it.
pub(crate) fn show(zone: Tz, instant: Instant) -> String {
    local(zone, instant)
        .map_or_else(|| "a time beyond the calendar".to_owned(), |wall| wall.format("%a %Y-%m-%d %H:%M").to_string())
}

/// A stretch as messages show it, the date once where it is the same.
pub(crate) fn show_span(zone: Tz, from: Instant, to: Instant) -> String {
    match local(zone, to) {
        Some(end) if date(zone, from) == Some(end.date()) => {
            format!("from {} to {}", show(zone, from), end.format("%H:%M"))
        }
        _ => format!("from {} to {}", show(zone, from), show(zone, to)),
    }
}

fn minute(time: DateTime<Tz>) -> Instant {
    Instant(time.timestamp().div_euclid(60))
}

/// Only years that a calendar has: chrono panics at the ends of its own range.
fn local(zone: Tz, instant: Instant) -> Option<NaiveDateTime> {
    const YEARS: i64 = 10_000 * 366 * 1440;
    if !(-YEARS..YEARS).contains(&instant.0) {
        return None;
    }
    Some(DateTime::from_timestamp(instant.0 * 60, 0)?.with_timezone(&zone).naive_local())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(zone: Tz, wall: &str) -> Instant {
        instant(zone, wall.parse().expect("a wall time"))
    }

    #[test]
    fn odd_hours_in_lisbon() {
        let zone = chrono_tz::Europe::Lisbon;
        // 2026-03-29 the clocks go from 01:00 to 02:00, 2026-10-25 from 02:00 back to 01:00 (IANA tz database).
        assert_eq!(at(zone, "2026-03-29T01:30:00"), at(zone, "2026-03-29T02:30:00"));
        assert_eq!(at(zone, "2026-03-29T02:00:00").0 - at(zone, "2026-03-29T00:59:00").0, 1);
        assert_eq!(at(zone, "2026-10-25T02:00:00").0 - at(zone, "2026-10-25T01:00:00").0, 120);
    }

    #[test]
    fn a_whole_day_skipped() {
        // Samoa had no 30 December 2011 (IANA tz database).
        let zone = chrono_tz::Pacific::Apia;
        assert_eq!(at(zone, "2011-12-30T08:00:00"), at(zone, "2011-12-31T08:00:00"));
    }

    #[test]
    fn shown_in_the_farms_zone_or_said_to_be_out_of_range() {
        let zone = chrono_tz::Asia::Kathmandu;
        assert_eq!(show(zone, Instant(0)), "Thu 1970-01-01 05:30");
        assert_eq!(show_span(zone, Instant(0), Instant(30)), "from Thu 1970-01-01 05:30 to 06:00");
        assert_eq!(show_span(zone, Instant(0), Instant(1440)), "from Thu 1970-01-01 05:30 to Fri 1970-01-02 05:30");
        for out in [i64::MIN, i64::MAX, 1 << 40, -(1 << 40)] {
            assert_eq!(show(zone, Instant(out)), "a time beyond the calendar");
            assert_eq!(date(zone, Instant(out)), None);
        }
    }
}
