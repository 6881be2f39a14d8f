//! Printer hours by group and day, as columns and as a table.

use crate::hours::{Split, printer_splits};
use crate::html::axis::{cut, say_dates};
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::span::Span;
use platewright_model::{Instance, Minutes, Plan};

/// The columns of one group.
#[derive(Debug)]
pub(super) struct GroupDays {
    pub(super) name: String,
    pub(super) printers: usize,
    /// One per day, from the first.
    pub(super) columns: Vec<Day>,
}

/// One column: shares of the group's printer minutes of that day, from the bottom up, in per cent. The pieces' names are
/// their classes, too.
#[derive(Debug)]
pub(super) struct Day {
    pub(super) label: String,
    pub(super) shares: [(&'static str, f64); 6],
}

/// What one column stands for, each group's columns, the table, and the hours of every printer over all.
#[derive(Debug)]
pub(super) struct Days {
    pub(super) each: &'static str,
    pub(super) groups: Vec<GroupDays>,
    pub(super) table: Table,
    pub(super) printers: Vec<Split>,
}

impl Days {
    pub(super) fn of(instance: &Instance, plan: &Plan) -> Days {
        let (each, spans) = cut(instance, Span::of_plan(instance, plan));
        let splits = printer_splits(instance, plan, &spans);
        let mut sums = vec![vec![Split::default(); spans.len()]; instance.groups.len()];
        let mut counts = vec![0; instance.groups.len()];
        for (printer, of_days) in instance.printers.iter().zip(&splits) {
            let group = printer.group.index();
            counts.iter_mut().skip(group).take(1).for_each(|count| *count += 1);
            let sums = sums.get_mut(group).into_iter().flatten();
            sums.zip(of_days).for_each(|(sum, split)| sum.add(split));
        }
        let groups = instance.groups.iter().zip(counts).zip(&sums);
        Days {
            each,
            groups: groups
                .map(|((name, printers), sums)| GroupDays {
                    name: shown(name),
                    printers,
                    columns: spans.iter().zip(sums).map(|(span, split)| day(instance, *span, split)).collect(),
                })
                .collect(),
            table: table(instance, each, &spans, &sums),
            printers: splits
                .iter()
                .map(|of_days| {
                    let mut whole = Split::default();
                    of_days.iter().for_each(|split| whole.add(split));
                    whole
                })
                .collect(),
        }
    }
}

fn day(instance: &Instance, span: Span, split: &Split) -> Day {
    let total = split.total().0.max(1) as f64;
    let share = |minutes: Minutes| (minutes.0 as f64 / total * 10_000.0).round() / 100.0;
    let mut shares = Split::STACK.map(|state| (state, 0.0));
    for (place, minutes) in shares.iter_mut().zip(split.stacked()) {
        place.1 = share(minutes);
    }
    Day { label: say_dates(instance, span), shares }
}

fn table(instance: &Instance, each: &str, spans: &[Span], sums: &[Vec<Split>]) -> Table {
    let heads = [each, "group", "#printing", "#cooling", "#handled", "#blocked", "#down", "#empty", "#total"];
    let mut table = Table::new(format!("Printer hours by {each} and group, in hours:minutes"), &heads);
    for (position, span) in spans.iter().enumerate() {
        for (name, of_group) in instance.groups.iter().zip(sums) {
            let Some(split) = of_group.get(position) else { continue };
            let mut cells = vec![Cell::Head(say_dates(instance, *span)), Cell::name(name)];
            cells.extend(split.stacked().map(Cell::hours));
            cells.push(Cell::hours(split.total()));
            table.row(cells);
        }
    }
    let mut whole = vec![Cell::Head("all".to_owned()), Cell::Words("all".to_owned())];
    let mut total = Split::default();
    sums.iter().flatten().for_each(|split| total.add(split));
    whole.extend(total.stacked().map(Cell::hours));
    whole.push(Cell::hours(total.total()));
    table.row(whole);
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hours::printer_hours;
    use crate::sample;

    #[test]
    fn days_and_printers_add_up_to_the_plans_hours() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let days = Days::of(&instance, &plan);
        assert_eq!((days.each, days.groups.len(), days.groups[0].columns.len()), ("day", 2, 3));
        let mut whole = Split::default();
        days.printers.iter().for_each(|split| whole.add(split));
        let hours = printer_hours(&instance, &plan).total;
        assert_eq!(whole, hours);
        assert_eq!(days.table.rows.last().unwrap()[8], Cell::hours(hours.total()));
        // Monday of the large printer: 600 of 1,020 minutes printing.
        assert_eq!(days.groups[1].columns[0].shares[0], ("printing", 58.82));
    }
}
