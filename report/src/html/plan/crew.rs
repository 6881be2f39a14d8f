//! The crew's busy share by half hour and by shift.
//!
//! Half hours are those of the wall clock; in the night in which the clocks go back, two elapsed half hours share one
//! place in the table.

use crate::crew::crew_hours;
use crate::html::axis::{say_date, say_dates};
use crate::html::table::{Cell, Table};
use crate::span::Span;
use crate::wall::{Wall, percent};
use chrono::{NaiveDate, Timelike};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::BTreeMap;

/// So many days are shown half hour by half hour; the table of shifts has all.
const MOST_DAYS: usize = 62;
const HALF_HOUR: i64 = 30;

/// Operator minutes in a half hour.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct HalfHour {
    on_shift: i64,
    busy: i64,
}

/// Days by half hours.
#[derive(Debug, Default)]
pub(super) struct Grid {
    /// The full hours at its head: `7`.
    pub(super) hours: Vec<u32>,
    pub(super) days: Vec<GridDay>,
    /// Whether there are more days than shown.
    pub(super) cut: bool,
}

/// A day of half hours; one without anybody on shift holds nothing.
#[derive(Debug)]
pub(super) struct GridDay {
    pub(super) date: String,
    /// The busy share in whole per cent.
    pub(super) cells: Vec<Option<i64>>,
}

/// The busy share of all operators on shift, by half hour.
pub(super) fn grid(instance: &Instance, plan: &Plan) -> Grid {
    let counted = half_hours(instance, plan);
    let staffed = || counted.iter().filter(|(_, half)| half.on_shift > 0).map(|((_, slot), _)| *slot);
    let (Some(first), Some(last)) = (staffed().min(), staffed().max()) else { return Grid::default() };
    // Whole hours at both ends.
    let (first, last) = (first / 2 * 2, last / 2 * 2 + 1);
    let mut dates: Vec<NaiveDate> = counted.keys().map(|(date, _)| *date).collect();
    dates.dedup();
    let cut = dates.len() > MOST_DAYS;
    dates.truncate(MOST_DAYS);
    let share = |half: &HalfHour| (half.on_shift > 0).then(|| (100 * half.busy + half.on_shift / 2) / half.on_shift);
    let days = dates.into_iter().map(|date| GridDay {
        date: say_date(instance, date),
        cells: (first..=last).map(|slot| counted.get(&(date, slot)).and_then(share)).collect(),
    });
    Grid { hours: (first / 2..=last / 2).collect(), days: days.collect(), cut }
}

/// Operator minutes by date and half hour of the day, from the first day of the plan to its last.
fn half_hours(instance: &Instance, plan: &Plan) -> BTreeMap<(NaiveDate, u32), HalfHour> {
    let span = Span::of_plan(instance, plan);
    let minutes_past = i64::from(instance.farm.clock.stamp(span.from).minute()) % HALF_HOUR;
    let origin = span.from - Minutes(minutes_past);
    let length = (span.to - origin).0.max(0).div_euclid(HALF_HOUR) as usize + 1;
    let mut halves = vec![HalfHour::default(); length];
    let mut spread = |from: Instant, to: Instant, add: fn(&mut HalfHour, i64)| {
        let stretch = Span { from, to }.within(span);
        let mut at = stretch.from;
        while at < stretch.to {
            let slot = (at - origin).0.div_euclid(HALF_HOUR);
            let until = (origin + Minutes((slot + 1) * HALF_HOUR)).min(stretch.to);
            if let Some(half) = halves.get_mut(slot as usize) {
                add(half, (until - at).0);
            }
            at = until;
        }
    };
    for stretch in roster::stretches(instance) {
        spread(stretch.from, stretch.to, |half, minutes| half.on_shift += minutes);
    }
    for task in &plan.tasks {
        spread(task.from, task.to, |half, minutes| half.busy += minutes);
    }
    let mut by_day: BTreeMap<(NaiveDate, u32), HalfHour> = BTreeMap::new();
    for (slot, half) in (0..).zip(halves) {
        let stamp = instance.farm.clock.stamp(origin + Minutes(slot * HALF_HOUR));
        let place = by_day.entry((stamp.date_naive(), stamp.hour() * 2 + stamp.minute() / 30)).or_default();
        place.on_shift += half.on_shift;
        place.busy += half.busy;
    }
    by_day
}

/// Every shift with its people, hours and busy share.
pub(super) fn shifts(instance: &Instance, plan: &Plan) -> Table {
    let wall = Wall::of(instance);
    let heads = ["day", "crew", "from", "to", "#people", "#paid", "#busy", "#share"];
    let mut table = Table::new("Every shift until the plan ends, in hours:minutes", &heads);
    let mut shifts: Vec<_> = crew_hours(instance, plan).into_iter().flat_map(|row| row.shifts).collect();
    shifts.sort_by_key(|shift| (shift.span.from, shift.crew, shift.span.to));
    for shift in shifts {
        let first_minute = Span { from: shift.span.from, to: shift.span.from + Minutes(1) };
        table.row([
            Cell::Head(say_dates(instance, first_minute)),
            Cell::name(instance.crews.get(shift.crew.index()).map_or("", String::as_str)),
            Cell::Words(wall.time(shift.span.from)),
            Cell::Words(wall.time(shift.span.to)),
            Cell::figure(shift.operators),
            Cell::hours(shift.paid),
            Cell::hours(shift.busy),
            Cell::Figure(percent(shift.busy, shift.paid)),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn half_hours_add_up_to_the_crews_hours() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let rows = crew_hours(&instance, &plan);
        let halves = half_hours(&instance, &plan);
        assert_eq!(halves.values().map(|h| h.on_shift).sum::<i64>(), rows.iter().map(|r| r.paid.0).sum::<i64>());
        assert_eq!(halves.values().map(|h| h.busy).sum::<i64>(), rows.iter().map(|r| r.busy.0).sum::<i64>());
    }

    #[test]
    fn the_grid_spans_the_staffed_hours() {
        let instance = sample::instance();
        let grid = grid(&instance, &sample::plan(&instance));
        assert_eq!(grid.hours, (7..=16).collect::<Vec<_>>());
        assert_eq!(
            grid.days.iter().map(|d| d.date.as_str()).collect::<Vec<_>>(),
            ["Mon 2 Mar", "Tue 3 Mar", "Wed 4 Mar"]
        );
        // Monday: three minutes of a load from 07:00, four of a harvest from 08:10.
        assert_eq!(grid.days[0].cells[..4], [Some(10), Some(0), Some(13), Some(0)]);
        // Wednesday ends with the four minutes in which somebody harvests.
        assert_eq!(grid.days[2].cells[..2], [Some(100), None]);
    }

    /// Sunday 25 October 2026 in Lisbon has 01:00 to 02:00 twice.
    #[test]
    fn an_hour_that_comes_twice_has_one_place() {
        let mut instance = sample::instance();
        let plan = sample::plan(&instance);
        instance.farm.start = sample::at(236, 23, 0);
        instance.shifts[0].from = chrono::NaiveTime::MIN;
        instance.shifts[0].to = chrono::NaiveTime::MIN;
        let mut plan = plan;
        plan.runs.clear();
        plan.shipments[0].ready = instance.farm.start + Minutes(6 * 60);
        let halves = half_hours(&instance, &plan);
        let date = NaiveDate::from_ymd_opt(2026, 10, 25).unwrap();
        assert_eq!(halves.get(&(date, 2)).map(|h| h.on_shift), Some(60));
        assert_eq!(halves.get(&(date, 4)).map(|h| h.on_shift), Some(30));
    }
}
