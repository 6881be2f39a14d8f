//! What people in the trade reckon in their heads. Common practice, no source.

use platewright_model::plan::Outcome;
use platewright_solver::EngineChoice::{Auto, Quick};
use platewright_tests::tables::Tables;
use platewright_tests::trial::{Ask, Found, Trial};

const WEEK: i64 = 168 * 60;

/// Fifty alike printers, one plate, so many of its part; handling takes no time and somebody is there within `shifts`.
fn room(name: &str, copies: i64, minutes: i64, quantity: i64, shifts: &[(&str, &str)], days: i64) -> Trial {
    room_from(name, "2026-01-05T07:00", copies, minutes, quantity, shifts, days)
}

fn room_from(
    name: &str,
    start: &str,
    copies: i64,
    minutes: i64,
    quantity: i64,
    shifts: &[(&str, &str)],
    days: i64,
) -> Trial {
    let mut tables = Tables::new(name, "Etc/UTC", start, days);
    tables.section("handling", &[("load", &0), ("harvest", &0)]);
    for number in 1..=50 {
        tables.row("printers", &[("printer", &format!("P{number:02}")), ("group", &"bench")]);
    }
    tables.row("parts", &[("part", &"piece"), ("material", &"PLA")]);
    let plate: [(&str, &dyn ToString); 5] =
        [("plate", &"plate"), ("group", &"bench"), ("part", &"piece"), ("copies", &copies), ("minutes", &minutes)];
    tables.row("plates", &plate);
    tables.row("kits", &[("kit", &"piece-alone"), ("item", &"piece"), ("quantity", &1)]);
    tables.row("shipments", &[("shipment", &"all"), ("kit", &"piece-alone"), ("quantity", &quantity)]);
    for (from, to) in shifts {
        let row: [(&str, &dyn ToString); 5] =
            [("crew", &"crew"), ("days", &"daily"), ("from", from), ("to", to), ("operators", &50)];
        tables.row("shifts", &row);
    }
    Trial::new(name, &tables)
}

const ALWAYS: [(&str, &str); 1] = [("00:00", "24:00")];

/// The least makespan, proven.
fn best(name: &str, copies: i64, minutes: i64, quantity: i64, shifts: &[(&str, &str)]) -> i64 {
    let claims = room(name, copies, minutes, quantity, shifts, 20).must_plan(Ask::soonest(Auto)).claims;
    assert_eq!(claims.outcome, Outcome::Optimal, "{name}: {claims:?}");
    claims.value.0
}

/// 303 minutes round the clock, handling left out: 33 whole loads a week on each of fifty printers, 1,650 parts, said in
/// the trade as "about 1,700". One more is not to be had.
#[test]
fn a_week_of_303_minutes_is_1650_parts() {
    assert_eq!(WEEK / 303, 33);
    let claims = room("1,650 parts", 1, 303, 1650, &ALWAYS, 20).must_plan(Ask::soonest(Quick)).claims;
    assert_eq!(claims.value.0, 33 * 303);
    assert!(claims.value.0 <= WEEK);
    let one_more = room("1,651 parts within a week", 1, 303, 1651, &ALWAYS, 7).plan(Ask::soonest(Auto));
    assert!(matches!(one_more, Found::Nothing { .. }), "{one_more:?}");
}

/// At three loads a day 150 a day, and 1,050 in seven days: somebody is there for a minute at three times of the day.
#[test]
fn three_loads_a_day_are_1050_in_seven_days() {
    let three = [("07:00", "07:01"), ("13:00", "13:01"), ("20:00", "20:01")];
    let day = room("three loads a day", 1, 303, 150, &three, 20).must_plan(Ask::soonest(Quick)).claims;
    assert_eq!(day.value.0, 1440);
    let week = room("three loads a day for a week", 1, 303, 1050, &three, 20).must_plan(Ask::soonest(Quick)).claims;
    assert_eq!(week.value.0, WEEK);
    let more = room("and one more", 1, 303, 1051, &three, 20).must_plan(Ask::soonest(Quick)).claims;
    assert_eq!(more.value.0, WEEK + 6 * 60);
}

/// A 10-up plate of 71 minutes gives 500 at a time, and 1,000 in under three hours; a 25-up plate 1,250 from one load.
#[test]
fn many_at_a_time() {
    assert_eq!(best("500 at a time", 10, 71, 500, &ALWAYS), 71);
    assert!(best("1,000", 10, 71, 1000, &ALWAYS) < 180);
    assert_eq!(best("1,250 from one load", 25, 180, 1250, &ALWAYS), 180);
    assert_eq!(best("one more takes another load", 25, 180, 1251, &ALWAYS), 360);
}

/// 2,000 of a 10-up plate of 133 minutes take more than eight hours.
#[test]
fn two_thousand_take_more_than_a_shift() {
    assert!(best("2,000", 10, 133, 2000, &ALWAYS) > 480);
}

/// A plate of 607 minutes is loaded in the evening and ready in the morning.
#[test]
fn ten_hours_are_a_night() {
    let evening_and_morning = [("21:00", "22:00"), ("07:00", "09:00")];
    let night = room_from("a night", "2026-01-05T21:00", 25, 607, 25, &evening_and_morning, 20);
    // At 07:07 the crew of the morning is there.
    assert_eq!(night.must_plan(Ask::soonest(Auto)).claims.value.0, 607);
    let alone = room_from("nobody in the morning", "2026-01-05T21:00", 25, 607, 25, &evening_and_morning[..1], 20);
    assert_eq!(alone.must_plan(Ask::soonest(Auto)).claims.value.0, 1440);
}
