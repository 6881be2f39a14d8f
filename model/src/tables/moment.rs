//! Times, dates and days as planners write them.

use super::findings::Wrong;
use super::limits;
use super::words;
use crate::calendar::{Clock, Wall};
use crate::fault::FaultCode;
use crate::instance::Days;
use crate::units::Instant;
use chrono::{DateTime, Datelike, NaiveDate, NaiveDateTime, NaiveTime, Weekday};

const WEEK: [(&str, &str, Weekday); 7] = [
    ("mon", "monday", Weekday::Mon),
    ("tue", "tuesday", Weekday::Tue),
    ("wed", "wednesday", Weekday::Wed),
    ("thu", "thursday", Weekday::Thu),
    ("fri", "friday", Weekday::Fri),
    ("sat", "saturday", Weekday::Sat),
    ("sun", "sunday", Weekday::Sun),
];

/// Reads a wall time such as `2026-03-02T07:00`.
pub(crate) fn wall(text: &str) -> Result<NaiveDateTime, Wrong> {
    let Some((day, time)) = text.split_once('T') else {
        return Err(not_a_time(text));
    };
    if !shaped(day, "0000-00-00") || !shaped(time, "00:00") {
        return Err(not_a_time(text));
    }
    let day = date(day)?;
    let [hour, minute] = [0..2, 3..5].map(|digits| time.get(digits).and_then(|t| t.parse().ok()).unwrap_or(99));
    day.and_hms_opt(hour, minute, 0).ok_or_else(|| {
        let help = "Hours run from 00 to 23 and minutes from 00 to 59; midnight is 00:00 of the day that begins.";
        Wrong::new(FaultCode::NotATime, format!("\"{text}\" has no such time of day."), help)
    })
}

/// Reads a wall time and turns it into an instant of the farm's zone.
pub(crate) fn instant(text: &str, clock: Clock) -> Result<Instant, Wrong> {
    match clock.instant(wall(text)?) {
        Wall::Exists(instant) => Ok(instant),
        Wall::Skipped(later) => {
            let zone = clock.zone();
            let message = format!("{text} does not exist in {zone}: the clocks go forward over it.");
            let help = format!(
                "Write a time outside the skipped stretch, such as {}.",
                clock.stamp(later).format("%Y-%m-%dT%H:%M")
            );
            Err(Wrong::new(FaultCode::SkippedTime, message, help))
        }
    }
}

/// Reads a time of a plan: RFC 3339 with its offset, in whole minutes.
pub(crate) fn stamp(text: &str) -> Result<Instant, Wrong> {
    let time = DateTime::parse_from_rfc3339(text).map_err(|_| {
        let help = "Write date, time and offset as in 2026-03-02T07:00:00+00:00.";
        Wrong::new(FaultCode::NotATime, format!("\"{text}\" is not a time with its offset."), help)
    })?;
    // A plan may reach two years past the last year of a table.
    if !(*limits::YEARS.start()..=limits::YEARS.end() + 3).contains(&time.year()) {
        return Err(year_out_of_range(text));
    }
    if time.timestamp() % 60 != 0 || time.timestamp_subsec_nanos() != 0 {
        let message = format!("{text} is not a whole minute.");
        return Err(Wrong::new(FaultCode::NotATime, message, "Write 00 for the seconds: plans run in whole minutes."));
    }
    Ok(Instant(time.timestamp() / 60))
}

/// Reads a date such as `2026-03-02`.
pub(crate) fn date(text: &str) -> Result<NaiveDate, Wrong> {
    if !shaped(text, "0000-00-00") {
        let message = format!("\"{text}\" is not a date.");
        return Err(Wrong::new(FaultCode::NotATime, message, "Write year, month and day, such as 2026-03-02."));
    }
    let [year, month, day] =
        [0..4, 5..7, 8..10].map(|digits| text.get(digits).and_then(|t| t.parse().ok()).unwrap_or(0));
    let date = NaiveDate::from_ymd_opt(year as i32, month, day).ok_or_else(|| {
        let message = format!("{text} is not in the calendar.");
        Wrong::new(FaultCode::NoSuchDate, message, "Check the month and the day; the order is year, month, day.")
    })?;
    if limits::YEARS.contains(&(year as i32)) {
        return Ok(date);
    }
    Err(year_out_of_range(text))
}

fn year_out_of_range(text: &str) -> Wrong {
    let (first, last) = (limits::YEARS.start(), limits::YEARS.end());
    let message = format!("{text} is out of range: years run from {first} to {last}.");
    Wrong::new(FaultCode::OutOfRange, message, "Check the year.")
}

/// Reads a time of day such as `07:00` or `7:00`.
pub(crate) fn time_of_day(text: &str) -> Result<NaiveTime, Wrong> {
    let padded = if text.len() == 4 { format!("0{text}") } else { text.to_owned() };
    let time = shaped(&padded, "00:00").then(|| NaiveTime::parse_from_str(&padded, "%H:%M").ok()).flatten();
    time.ok_or_else(|| {
        let help = match padded.as_str() {
            "24:00" => "A shift that begins at midnight begins at 00:00 of the next day; 24:00 is for its end.",
            _ => "Write hours and minutes, 00:00 to 23:59, such as 07:30.",
        };
        Wrong::new(FaultCode::NotATimeOfDay, format!("\"{text}\" is not a time of day."), help)
    })
}

/// Reads the time of day at which a shift ends: `24:00` is midnight too.
pub(crate) fn end_of_shift(text: &str) -> Result<NaiveTime, Wrong> {
    if text == "24:00" { Ok(NaiveTime::MIN) } else { time_of_day(text) }
}

/// Reads days: `Mon-Fri`, `Sat,Sun`, `daily`, a mixture, or one date.
pub(crate) fn days(text: &str) -> Result<Days, Wrong> {
    if text.starts_with(|c: char| c.is_ascii_digit()) {
        return date(text).map(Days::Date);
    }
    if text.eq_ignore_ascii_case("daily") {
        return Ok(Days::Weekly(WEEK.map(|day| day.2).to_vec()));
    }
    let mut on = [false; 7];
    for stretch in text.split(',').map(str::trim) {
        // A spreadsheet may have made a dash of the hyphen.
        let (first, last) = stretch.split_once(['-', '\u{2013}']).unwrap_or((stretch, stretch));
        let (first, last) = (weekday(first.trim(), text)?, weekday(last.trim(), text)?);
        let mut day = first;
        on[day] = true;
        while day != last {
            day = (day + 1) % 7;
            on[day] = true;
        }
    }
    Ok(Days::Weekly(WEEK.iter().zip(on).filter(|(_, on)| *on).map(|(day, _)| day.2).collect()))
}

/// The position in the week of a day's name.
fn weekday(word: &str, whole: &str) -> Result<usize, Wrong> {
    let lower = word.to_lowercase();
    WEEK.iter().position(|(short, long, _)| lower == *short || lower == *long).ok_or_else(|| {
        let message = match word {
            "" => format!("\"{whole}\" lacks a day."),
            _ => format!("\"{word}\" is not a day."),
        };
        const NAMES: [&str; 8] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun", "daily"];
        let meant = words::closest(word, NAMES).map(|day| format!("Did you mean {day}? ")).unwrap_or_default();
        let help = format!("{meant}Write Mon-Fri, \"Sat,Sun\" in quotes, daily, or a date such as 2026-03-02.");
        Wrong::new(FaultCode::NotDays, message, help)
    })
}

/// Whether the text is the pattern with other digits.
fn shaped(text: &str, pattern: &str) -> bool {
    text.len() == pattern.len()
        && text.bytes().zip(pattern.bytes()).all(|(t, p)| if p == b'0' { t.is_ascii_digit() } else { t == p })
}

fn not_a_time(text: &str) -> Wrong {
    let help = if shaped(text, "0000-00-00") {
        format!("Add the time of day: {text}T07:00.")
    } else if text.len() > 16 && text.get(..16).is_some_and(|start| wall(start).is_ok()) {
        let start = text.get(..16).unwrap_or_default();
        format!("Times are whole minutes of the farm's wall clock, without seconds and without an offset: {start}.")
    } else if shaped(text, "0000-00-00 00:00") {
        format!("Put a T between date and time: {}.", text.replace(' ', "T"))
    } else {
        "Write date and time of day as in 2026-03-02T07:00.".to_owned()
    };
    Wrong::new(FaultCode::NotATime, format!("\"{text}\" is not a date with a time."), help)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Tz;

    #[test]
    fn wall_times_have_one_form() {
        assert_eq!(wall("2026-03-02T07:00").unwrap().to_string(), "2026-03-02 07:00:00");
        let refused = |text| {
            let wrong = wall(text).unwrap_err();
            (wrong.code, wrong.help)
        };
        assert_eq!(refused("2026-03-02"), (FaultCode::NotATime, "Add the time of day: 2026-03-02T07:00.".into()));
        assert!(refused("2026-03-02 07:00").1.ends_with("2026-03-02T07:00."));
        assert!(refused("2026-03-02T07:00:30").1.ends_with("2026-03-02T07:00."));
        assert!(refused("2026-03-02T07:00+01:00").1.ends_with("2026-03-02T07:00."));
        assert_eq!(refused("2026-02-30T07:00").0, FaultCode::NoSuchDate);
        assert_eq!(refused("1026-02-20T07:00").0, FaultCode::OutOfRange);
        for text in ["2026-03-02T24:00", "2026-03-02T07:60", "soon", "", "T", "2026-03-02T7:00", "2026-03-0éT07:00"] {
            assert_eq!(refused(text).0, FaultCode::NotATime, "{text}");
        }
    }

    #[test]
    fn a_skipped_time_is_refused_with_one_that_exists() {
        let wrong = instant("2026-03-29T01:30", Clock::new(Tz::Europe__Lisbon)).unwrap_err();
        assert_eq!(wrong.code, FaultCode::SkippedTime);
        assert!(wrong.help.ends_with("such as 2026-03-29T02:30."), "{}", wrong.help);
    }

    #[test]
    fn days_are_read_as_people_write_them() {
        let weekly = |text| match days(text).unwrap() {
            Days::Weekly(days) => days.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
            Days::Date(date) => date.to_string(),
        };
        assert_eq!(weekly("Mon-Fri"), "Mon Tue Wed Thu Fri");
        assert_eq!(weekly("Sat,Sun"), "Sat Sun");
        assert_eq!(weekly("sunday, Mon – Tue"), "Mon Tue Sun");
        assert_eq!(weekly("Fri-Mon"), "Mon Fri Sat Sun");
        assert_eq!(weekly("daily"), "Mon Tue Wed Thu Fri Sat Sun");
        assert_eq!(weekly("2026-03-07"), "2026-03-07");
        assert!(days("weekdays").is_err());
        assert!(days("Mon-").unwrap_err().message.contains("lacks a day"));
        assert!(days("Thus").unwrap_err().help.starts_with("Did you mean Thu?"));
    }

    #[test]
    fn times_of_day_run_to_midnight() {
        assert_eq!(time_of_day("7:05").unwrap().to_string(), "07:05:00");
        assert_eq!(end_of_shift("24:00").unwrap(), NaiveTime::MIN);
        for text in ["24:00", "7", "07:60", "7.30", "07:00:00", "noon", ""] {
            assert_eq!(time_of_day(text).unwrap_err().code, FaultCode::NotATimeOfDay, "{text}");
        }
        assert!(end_of_shift("24:01").is_err());
    }
}
