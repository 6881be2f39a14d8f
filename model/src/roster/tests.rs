//! Shifts across nights, clock changes, closures and each other.

use super::*;
use crate::calendar::Clock;
use crate::instance::{Closure, Farm, Handling, Unattended};
use crate::units::{Count, Minutes};
use chrono::NaiveTime;
use chrono_tz::Tz;
use proptest::prelude::*;

/// A farm in Lisbon with these shift rows: crew, days, from, to, operators.
fn farm(start: &str, horizon_days: u32, rows: &[(u32, Days, &str, &str, u64)]) -> Instance {
    let clock = Clock::new(Tz::Europe__Lisbon);
    let (Wall::Exists(start) | Wall::Skipped(start)) = clock.instant(start.parse().unwrap());
    let none = Minutes::ZERO;
    let time = |text: &str| NaiveTime::parse_from_str(text, "%H:%M").unwrap();
    let row = |(crew, days, from, to, operators): &(u32, Days, &str, &str, u64)| ShiftRow {
        crew: CrewId(*crew),
        days: days.clone(),
        from: time(from),
        to: time(to),
        operators: Count(*operators),
    };
    Instance {
        farm: Farm {
            name: "Night school".into(),
            clock,
            start,
            horizon_days,
            handling: Handling { load: none, harvest: none, changeover: none, pack_box: none },
            unattended: Unattended { allowed: true, max_printers: None, max_minutes: None },
            whole_plates_per_bag: false,
            costs: None,
            spares: None,
            rehearsal: Default::default(),
        },
        crews: vec!["day".into(), "night".into()],
        shifts: rows.iter().map(row).collect(),
        groups: vec![],
        materials: vec![],
        printers: vec![],
        downtime: vec![],
        parts: vec![],
        plates: vec![],
        kits: vec![],
        shipments: vec![],
        closures: vec![],
        stock: vec![],
        running: vec![],
        log: vec![],
        absences: vec![],
    }
}

fn daily() -> Days {
    use chrono::Weekday::*;
    Days::Weekly(vec![Mon, Tue, Wed, Thu, Fri, Sat, Sun])
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// `crew-operator from..to`, in wall time.
fn told(instance: &Instance) -> Vec<String> {
    let wall = |instant| instance.farm.clock.stamp(instant).format("%dT%H:%M").to_string();
    let line = |s: Stretch| format!("{} {}..{}", operator_name(instance, s.crew, s.operator), wall(s.from), wall(s.to));
    stretches(instance).into_iter().map(line).collect()
}

#[test]
fn a_shift_over_midnight_ends_on_the_next_day_and_the_start_and_the_horizon_clip_it() {
    let farm = farm("2026-03-02T02:00:00", 1, &[(1, daily(), "22:00", "06:00", 1)]);
    assert_eq!(told(&farm), ["night-1 02T02:00..02T06:00", "night-1 02T22:00..03T02:00"]);
}

#[test]
fn a_night_shift_is_an_hour_shorter_in_spring_and_an_hour_longer_in_autumn() {
    let minutes = |start: &str, day: &str| {
        let farm = farm(start, 2, &[(1, Days::Date(date(day)), "22:00", "06:00", 1)]);
        let [night] = stretches(&farm).try_into().unwrap();
        (night.to - night.from).0
    };
    assert_eq!(minutes("2026-03-28T12:00:00", "2026-03-28"), 7 * 60);
    assert_eq!(minutes("2026-10-24T12:00:00", "2026-10-24"), 9 * 60);
    assert_eq!(minutes("2026-06-24T12:00:00", "2026-06-24"), 8 * 60);
}

#[test]
fn a_skipped_start_is_carried_forward_and_a_shift_within_the_skip_vanishes() {
    let day = || Days::Date(date("2026-03-29"));
    let rows = [(0, day(), "01:30", "08:00", 1), (1, day(), "01:30", "02:00", 1)];
    assert_eq!(told(&farm("2026-03-28T12:00:00", 2, &rows)), ["day-1 29T02:30..29T08:00"]);
}

#[test]
fn a_shift_that_ends_in_the_doubled_hour_ends_in_its_first() {
    let farm = farm("2026-10-24T12:00:00", 2, &[(1, Days::Date(date("2026-10-24")), "22:00", "01:30", 1)]);
    let [night] = stretches(&farm).try_into().unwrap();
    assert_eq!((night.to - night.from).0, 210);
    assert_eq!(farm.farm.clock.stamp(night.to).to_rfc3339(), "2026-10-25T01:30:00+01:00");
}

#[test]
fn an_absence_is_cut_out_of_its_own_operator_alone() {
    let mut farm = farm("2026-03-02T06:00:00", 1, &[(0, daily(), "07:00", "15:00", 2)]);
    let from = farm.farm.start + Minutes(3 * 60);
    farm.absences.push(Absence { crew: CrewId(0), operator: 2, from, to: from + Minutes(60) });
    assert_eq!(told(&farm), ["day-1 02T07:00..02T15:00", "day-2 02T07:00..02T09:00", "day-2 02T10:00..02T15:00"]);
    farm.absences[0].to = from + Minutes(1440);
    assert_eq!(told(&farm), ["day-1 02T07:00..02T15:00", "day-2 02T07:00..02T09:00"]);
}

#[test]
fn midnight_joins_stretches_that_adjoin_and_a_closed_day_parts_them() {
    let mut farm = farm("2026-03-02T07:00:00", 3, &[(0, daily(), "00:00", "00:00", 1)]);
    assert_eq!(told(&farm), ["day-1 02T07:00..05T07:00"]);
    farm.closures.push(Closure { date: date("2026-03-03"), note: None });
    assert_eq!(told(&farm), ["day-1 02T07:00..03T00:00", "day-1 04T00:00..05T07:00"]);
}

#[test]
fn a_closed_date_stops_the_shift_that_starts_on_it_and_not_the_one_that_runs_into_it() {
    let mut farm = farm("2026-03-02T12:00:00", 2, &[(1, daily(), "22:00", "06:00", 1)]);
    farm.closures.push(Closure { date: date("2026-03-03"), note: None });
    assert_eq!(told(&farm), ["night-1 02T22:00..03T06:00"]);
}

#[test]
fn overlapping_rows_of_a_crew_number_through_and_a_free_number_is_taken_again() {
    let rows =
        [(0, daily(), "07:00", "15:00", 2), (0, daily(), "14:30", "22:00", 1), (0, daily(), "15:00", "18:00", 1)];
    let told = told(&farm("2026-03-02T07:00:00", 1, &rows));
    assert_eq!(told, ["day-1 02T07:00..02T18:00", "day-2 02T07:00..02T15:00", "day-3 02T14:30..02T22:00"]);
}

#[test]
fn rows_of_one_start_number_in_table_order_and_crews_apart() {
    let rows =
        [(1, daily(), "07:00", "12:00", 1), (0, daily(), "07:00", "09:00", 1), (1, daily(), "07:00", "10:00", 1)];
    let told = told(&farm("2026-03-02T07:00:00", 1, &rows));
    assert_eq!(told, ["day-1 02T07:00..02T09:00", "night-1 02T07:00..02T12:00", "night-2 02T07:00..02T10:00"]);
}

#[test]
fn a_plan_made_in_mid_shift_names_people_as_the_one_of_the_morning_did() {
    let rows = [(0, daily(), "07:00", "15:00", 2), (0, daily(), "14:30", "22:00", 1)];
    let (morning, afternoon) = (farm("2026-03-02T07:00:00", 1, &rows), farm("2026-03-02T16:00:00", 1, &rows));
    assert!(told(&morning).contains(&"day-3 02T14:30..02T22:00".to_owned()));
    assert!(told(&afternoon).contains(&"day-3 02T16:00..02T22:00".to_owned()));
}

#[test]
fn unattended_is_what_no_crew_covers() {
    let rows = [(0, daily(), "07:00", "15:00", 2), (1, daily(), "14:00", "22:00", 1)];
    let farm = farm("2026-03-02T06:00:00", 1, &rows);
    let wall = |instant| farm.farm.clock.stamp(instant).format("%dT%H:%M").to_string();
    let gaps: Vec<_> = unattended(&farm).into_iter().map(|(from, to)| (wall(from), wall(to))).collect();
    let gap = |from: &str, to: &str| (from.to_owned(), to.to_owned());
    assert_eq!(gaps, [gap("02T06:00", "02T07:00"), gap("02T22:00", "03T06:00")]);
}

#[test]
fn a_farm_without_shifts_is_unattended_from_end_to_end() {
    let farm = farm("2026-03-02T06:00:00", 1, &[]);
    assert_eq!(unattended(&farm), [(farm.farm.start, farm.farm.horizon_end())]);
}

/// A row of a crew: on which days, from and to which quarter of an hour, and how many.
fn any_row() -> impl Strategy<Value = (u32, Days, u32, u32, u64)> {
    let days = prop_oneof![
        Just(daily()),
        Just(Days::Date(date("2026-03-28"))),
        prop::sample::subsequence(vec![chrono::Weekday::Mon, chrono::Weekday::Fri, chrono::Weekday::Sun], 1..3)
            .prop_map(Days::Weekly),
    ];
    (0..2_u32, days, 0..96_u32, 0..96_u32, 1..4_u64)
}

proptest! {
    /// Over a clock change, at any minute of any crew, as many operators are on shift as the rows of the minute say, and
    /// nobody is on shift twice.
    #[test]
    fn as_many_are_on_shift_as_the_rows_say(rows in prop::collection::vec(any_row(), 1..6), start in 0..48_u32) {
        let wall = |quarter: u32| format!("{:02}:{:02}", quarter / 4, quarter % 4 * 15);
        let texts: Vec<_> = rows.iter().map(|(c, d, from, to, n)| (*c, d.clone(), wall(*from), wall(*to), *n)).collect();
        let rows: Vec<_> = texts.iter().map(|(c, d, from, to, n)| (*c, d.clone(), from.as_str(), to.as_str(), *n)).collect();
        let farm = farm(&format!("2026-03-27T{}:00", wall(start * 2)), 4, &rows);
        let stretches = stretches(&farm);
        let occurrences: Vec<(CrewId, Occurrence)> = farm
            .shifts
            .iter()
            .flat_map(|row| dates(&farm, row).filter_map(|date| Some((row.crew, occurrence(&farm, row, date)?))))
            .collect();
        for minute in (0..4 * 1440).step_by(5) {
            let now = farm.farm.start + Minutes(minute);
            for crew in [0, 1].map(CrewId) {
                let on: Vec<u32> =
                    stretches.iter().filter(|s| s.crew == crew && s.from <= now && now < s.to).map(|s| s.operator).collect();
                let meant: u64 = occurrences
                    .iter()
                    .filter(|(c, o)| *c == crew && o.from <= now && now < o.to)
                    .map(|(_, o)| o.operators)
                    .sum();
                prop_assert_eq!(on.len() as u64, meant);
                prop_assert!(on.is_sorted_by(|a, b| a < b), "{:?}", on);
            }
        }
    }
}
