//! Where the printer hours of each day go, and their chart.

use super::table::{Pen, Value};
use chrono::{Days, NaiveTime};
use platewright_model::calendar::Wall;
use platewright_model::plan::Work;
use platewright_model::{Instance, Minutes, Plan};
use platewright_report::hours::{Split, printer_splits};
use platewright_report::span::Span;
use rust_xlsxwriter::{Chart, ChartLegendPosition, ChartSolidFill, ChartType, Worksheet, XlsxError};

/// The colours of [`Split::STACK`], from the bottom: what earns money is dark, what is lost stands out.
const COLOURS: [u32; 6] = [0x001F_4E5F, 0x0079_A8A9, 0x00A6_A08C, 0x00C9_7B3D, 0x0070_7070, 0x00E4_DFD2];

pub(super) fn write(sheet: &mut Worksheet, instance: &Instance, plan: &Plan, pen: Pen<'_>) -> Result<(), XlsxError> {
    let days = days(instance, Span::of_plan(instance, plan));
    let mut splits = vec![Split::default(); days.len()];
    for printer in printer_splits(instance, plan, &days) {
        splits.iter_mut().zip(&printer).for_each(|(all, split)| all.add(split));
    }
    let rows = days.iter().zip(splits).map(|(day, split)| {
        let begun = plan.tasks.iter().filter(|task| day.from <= task.from && task.from < day.to);
        let (mut loads, mut harvests, mut busy) = (0, 0, Minutes::ZERO);
        for task in begun {
            loads += i64::from(matches!(task.work, Work::Load { .. }));
            harvests += i64::from(matches!(task.work, Work::Harvest { .. }));
            busy += task.to - task.from;
        }
        let [a, b, c, d, e, f] = split.stacked().map(Value::Hours);
        [
            Value::Date(pen.clock.stamp(day.from).date_naive()),
            a,
            b,
            c,
            d,
            e,
            f,
            Value::Hours(split.total()),
            Value::Whole(loads),
            Value::Whole(harvests),
            Value::Hours(busy),
        ]
    });
    let [a, b, c, d, e, f] = Split::STACK.map(|name| (name, 10));
    let columns =
        [("date", 12), a, b, c, d, e, f, ("all", 10), ("loads", 10), ("harvests", 10), ("operator_hours", 15)];
    let last = pen.fill(sheet, "days", columns, rows)?;
    if last > 0 {
        // Below a short table, where it prints on the same page; beside a long one, where it is seen at once.
        let (row, column) = if last <= 30 { (last + 2, 0) } else { (1, 12) };
        sheet.insert_chart(row, column, &chart(last))?;
    }
    Ok(())
}

fn chart(last: u32) -> Chart {
    let mut chart = Chart::new(ChartType::ColumnStacked);
    chart.title().set_name("Printer hours of each day");
    chart.x_axis().set_num_format("d mmm");
    chart.y_axis().set_name("hours");
    chart.legend().set_position(ChartLegendPosition::Bottom);
    chart.set_width(860).set_height(420);
    for (column, colour) in (1..).zip(COLOURS) {
        chart
            .add_series()
            .set_name(("days", 0, column))
            .set_categories(("days", 1, 0, last, 0))
            .set_values(("days", 1, column, last, column))
            .set_gap(30)
            .set_format(ChartSolidFill::new().set_color(colour));
    }
    chart
}

/// The days of the wall clock that a stretch touches, the first and the last perhaps in part.
fn days(instance: &Instance, span: Span) -> Vec<Span> {
    let clock = instance.farm.clock;
    let mut days = Vec::new();
    let mut from = span.from;
    while from < span.to {
        let tomorrow = clock.stamp(from).date_naive().checked_add_days(Days::new(1));
        let next = tomorrow.map(|date| clock.instant(date.and_time(NaiveTime::MIN)));
        let to = match next {
            Some(Wall::Exists(next) | Wall::Skipped(next)) if next > from => next.min(span.to),
            _ => span.to,
        };
        days.push(Span { from, to });
        from = to;
    }
    days
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_cover_the_stretch_and_end_at_midnight() {
        let folder = tempfile::tempdir().unwrap();
        super::super::tests::farm(folder.path(), "2026-10-24T07:00");
        let instance = platewright_model::tables::read(folder.path()).unwrap();
        let span = Span { from: instance.farm.start, to: instance.farm.start + Minutes(3 * 1440) };
        let days = days(&instance, span);
        // The Sunday on which the clocks go back is an hour longer.
        let lengths: Vec<i64> = days.iter().map(|day| day.length().0).collect();
        assert_eq!(lengths, [17 * 60, 25 * 60, 24 * 60, 6 * 60]);
        assert!(days.windows(2).all(|pair| pair[0].to == pair[1].from));
    }
}
