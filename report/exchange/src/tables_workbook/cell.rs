//! Text of a table to cell of a sheet, and back.
//!
//! A cell becomes a figure or a date only where its text comes back as something that reads the same; whatever else it
//! holds stays text. Coming back, what a cell shows counts: a number to the fifteen digits that spreadsheets show.

use super::columns::Kind;
use calamine::Data;
use chrono::{NaiveDate, NaiveDateTime, Timelike};

/// A cell to be written.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Blank,
    /// Words.
    Text(String),
    /// A whole number.
    Whole(f64),
    /// A number.
    Number(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A wall time.
    Moment(NaiveDateTime),
    /// A date.
    Date(NaiveDate),
    /// Minutes since midnight, 1440 included.
    Time(u32),
}

const MOMENT: &str = "%Y-%m-%dT%H:%M";
const DATE: &str = "%Y-%m-%d";

/// The cell of a text.
pub fn of_text(kind: Kind, text: &str) -> Cell {
    if text.is_empty() {
        return Cell::Blank;
    }
    let typed = match kind {
        Kind::Text => None,
        Kind::Whole => whole(text).map(Cell::Whole),
        Kind::Number => number(text).map(Cell::Number),
        Kind::Flag => text.parse().ok().map(Cell::Flag),
        Kind::Moment => NaiveDateTime::parse_from_str(text, MOMENT).ok().map(Cell::Moment),
        Kind::Date | Kind::Days => NaiveDate::parse_from_str(text, DATE).ok().map(Cell::Date),
        Kind::Time => minutes_of_day(text).map(Cell::Time),
    };
    typed.unwrap_or_else(|| Cell::Text(text.to_owned()))
}

fn whole(text: &str) -> Option<f64> {
    let digits = text.bytes().all(|byte| byte.is_ascii_digit());
    (digits && text.len() <= 15).then(|| text.parse().ok()).flatten()
}

fn number(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let number: f64 = plain.then(|| text.parse().ok()).flatten()?;
    (shown(number).parse() == Ok(number)).then_some(number)
}

fn minutes_of_day(text: &str) -> Option<u32> {
    let (hours, minutes) = text.split_once(':')?;
    let digits = |word: &str| word.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return None;
    }
    let (hours, minutes): (u32, u32) = (hours.parse().ok()?, minutes.parse().ok()?);
    (minutes < 60 && hours * 60 + minutes <= 1440).then_some(hours * 60 + minutes)
}

/// A number as a spreadsheet shows it, to fifteen digits, never with an exponent.
fn shown(number: f64) -> String {
    let rounded: f64 = format!("{number:.14e}").parse().unwrap_or(number);
    rounded.to_string()
}

/// Why a cell has no text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unreadable {
    /// It shows an error, such as `#REF!`.
    Error(String),
}

/// The text of a cell, as its column's table would have it; what fits no other way is left for the tables' reader to
/// refuse.
///
/// # Errors
/// The cell shows an error.
pub fn to_text(kind: Kind, value: &Data) -> Result<String, Unreadable> {
    Ok(match value {
        Data::Empty => String::new(),
        Data::String(text) => words(kind, text),
        Data::Int(number) => figure(kind, *number as f64, None),
        Data::Float(number) => figure(kind, *number, None),
        Data::DateTime(time) if in_range(time.as_f64()) => figure(kind, time.as_f64(), time.as_datetime()),
        Data::DateTime(time) => shown(time.as_f64()),
        Data::Bool(flag) => flag.to_string(),
        Data::DateTimeIso(text) | Data::DurationIso(text) => words(kind, text),
        Data::Error(error) => return Err(Unreadable::Error(error.to_string())),
    })
}

/// Days of the twentieth to the hundredth century.
fn in_range(serial: f64) -> bool {
    (0.0..2_958_466.0).contains(&serial)
}

/// Words typed where a date belongs: a space for the `T`, and seconds that are none, are forgiven; `TRUE` is `true`.
fn words(kind: Kind, text: &str) -> String {
    let text = text.trim();
    match kind {
        Kind::Moment => {
            let written = text.replacen(' ', "T", 1);
            let minutes = written.strip_suffix(":00").filter(|start| start.len() == 16).unwrap_or(&written);
            if NaiveDateTime::parse_from_str(minutes, MOMENT).is_ok() { minutes.to_owned() } else { text.to_owned() }
        }
        Kind::Flag if text.eq_ignore_ascii_case("true") || text.eq_ignore_ascii_case("false") => text.to_lowercase(),
        _ => text.to_owned(),
    }
}

/// A number, which spreadsheets also keep dates and times in.
fn figure(kind: Kind, number: f64, time: Option<NaiveDateTime>) -> String {
    match (kind, time) {
        (Kind::Time, _) if (0.0..=1.0).contains(&number) => time_of_day(number),
        (Kind::Moment, _) => time.or_else(|| wall(number)).map_or_else(|| shown(number), moment),
        (Kind::Date | Kind::Days, _) => time.or_else(|| wall(number)).map_or_else(|| shown(number), date),
        (Kind::Text, Some(time)) => date(time),
        _ => shown(number),
    }
}

fn time_of_day(number: f64) -> String {
    let minutes = (number * 1440.0).round();
    if (number * 1440.0 - minutes).abs() > 1e-3 {
        return shown(number);
    }
    let minutes = minutes as u32;
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// A date that lost its format: a number of days in the years that tables admit.
fn wall(serial: f64) -> Option<NaiveDateTime> {
    let days = (36_526.0..73_051.0).contains(&serial).then_some(serial)?;
    let first = NaiveDate::from_ymd_opt(1899, 12, 30)?.and_hms_opt(0, 0, 0)?;
    first.checked_add_signed(chrono::TimeDelta::try_milliseconds((days * 86_400_000.0).round() as i64)?)
}

/// To the second; with the seconds only where there are any.
fn moment(time: NaiveDateTime) -> String {
    let time = time.checked_add_signed(chrono::TimeDelta::milliseconds(500)).unwrap_or(time);
    time.format(if time.second() == 0 { MOMENT } else { "%Y-%m-%dT%H:%M:%S" }).to_string()
}

/// With the time of day only where there is one.
fn date(time: NaiveDateTime) -> String {
    let text = moment(time);
    text.strip_suffix("T00:00").map_or(text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{ExcelDateTime, ExcelDateTimeType};

    fn back(kind: Kind, text: &str) -> String {
        let serial = |number: f64| Data::DateTime(ExcelDateTime::new(number, ExcelDateTimeType::DateTime, false));
        let days = |date: NaiveDate| (date - NaiveDate::from_ymd_opt(1899, 12, 30).unwrap()).num_days() as f64;
        let value = match of_text(kind, text) {
            Cell::Blank => Data::Empty,
            Cell::Text(text) => Data::String(text),
            Cell::Whole(number) | Cell::Number(number) => Data::Float(number),
            Cell::Flag(flag) => Data::Bool(flag),
            Cell::Moment(time) => serial(days(time.date()) + f64::from(time.num_seconds_from_midnight()) / 86_400.0),
            Cell::Date(date) => serial(days(date)),
            Cell::Time(minutes) => serial(f64::from(minutes) / 1440.0),
        };
        to_text(kind, &value).unwrap()
    }

    #[test]
    fn what_goes_out_comes_back() {
        for (kind, text) in [
            (Kind::Text, "=1+1"),
            (Kind::Text, "007"),
            (Kind::Text, "2026-03-02"),
            (Kind::Whole, "295"),
            (Kind::Whole, "12.5"),
            (Kind::Number, "0.07"),
            (Kind::Number, "0.12345678901234567"),
            (Kind::Number, "1e3"),
            (Kind::Moment, "2026-03-29T01:59"),
            (Kind::Moment, "soon"),
            (Kind::Date, "2099-12-31"),
            (Kind::Days, "Mon-Fri"),
            (Kind::Days, "2026-03-07"),
            (Kind::Time, "07:30"),
            (Kind::Time, "24:00"),
            (Kind::Time, "00:00"),
            (Kind::Flag, "true"),
        ] {
            assert_eq!(back(kind, text), text, "{kind:?}");
        }
        assert_eq!(back(Kind::Time, "7:05"), "07:05");
        for minutes in 0..=1440 {
            let text = format!("{:02}:{:02}", minutes / 60, minutes % 60);
            assert_eq!(back(Kind::Time, &text), text);
            let text = format!("2026-10-25T{:02}:{:02}", minutes / 60 % 24, minutes % 60);
            assert_eq!(back(Kind::Moment, &text), text);
        }
    }

    #[test]
    fn what_people_type_is_understood() {
        let text = |kind, value: Data| to_text(kind, &value).unwrap();
        assert_eq!(text(Kind::Moment, Data::String("2026-03-02 07:00".into())), "2026-03-02T07:00");
        assert_eq!(text(Kind::Moment, Data::String("2026-03-02 07:00:00".into())), "2026-03-02T07:00");
        assert_eq!(text(Kind::Moment, Data::Float(46083.0)), "2026-03-02T00:00");
        assert_eq!(text(Kind::Whole, Data::Float(12.0)), "12");
        assert_eq!(text(Kind::Whole, Data::Float(12.5)), "12.5");
        assert_eq!(text(Kind::Number, Data::Float(0.1 + 0.2)), "0.3");
        assert_eq!(text(Kind::Number, Data::Float(1e-7)), "0.0000001");
        assert_eq!(text(Kind::Text, Data::Float(12.0)), "12");
        assert_eq!(text(Kind::Flag, Data::String("TRUE".into())), "true");
        assert_eq!(text(Kind::Time, Data::Float(7.5)), "7.5");
        assert!(to_text(Kind::Whole, &Data::Error(calamine::CellErrorType::Ref)).is_err());
    }

    #[test]
    fn numbers_beyond_all_calendars_do_not_panic() {
        for number in [f64::MAX, f64::MIN, f64::NAN, f64::INFINITY, -1.0, 1e18] {
            for kind in [Kind::Moment, Kind::Date, Kind::Time, Kind::Text, Kind::Whole] {
                let time = ExcelDateTime::new(number, ExcelDateTimeType::DateTime, true);
                assert!(to_text(kind, &Data::DateTime(time)).is_ok() && to_text(kind, &Data::Float(number)).is_ok());
            }
        }
    }
}
