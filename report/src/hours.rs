//! Where the printer hours went: every minute of every printer, from the start to the end of the plan, is exactly one
//! of printing, cooling, blocked, handled, down and empty, so that the columns add up to the total.
//!
//! Downtime comes first: a ready plate that waits through it counts as down, as it does for idle printer minutes.

use crate::page::{Grid, Lean, Page};
use crate::phases::{Phases, phases};
use crate::span::Span;
use crate::wall::{Wall, clock_hours, percent};
use platewright_model::instance::GroupId;
use platewright_model::{Instance, Instant, Minutes, Plan};

/// Printer minutes by what they were spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Split {
    /// Printing.
    pub printing: Minutes,
    /// Printed and not yet ready.
    pub cooling: Minutes,
    /// Ready and not yet harvested.
    pub blocked: Minutes,
    /// Being loaded, with the changeover, or harvested.
    pub handled: Minutes,
    /// In downtime.
    pub down: Minutes,
    /// Nothing on it.
    pub empty: Minutes,
}

impl Split {
    /// What charts stack, from the bottom up.
    pub const STACK: [&str; 6] = ["printing", "cooling", "handled", "blocked", "down", "empty"];

    /// The minutes of each of [`Split::STACK`].
    pub fn stacked(&self) -> [Minutes; 6] {
        [self.printing, self.cooling, self.handled, self.blocked, self.down, self.empty]
    }

    /// All of it.
    pub fn total(&self) -> Minutes {
        self.printing + self.cooling + self.blocked + self.handled + self.down + self.empty
    }

    /// Adds another's minutes to it.
    pub fn add(&mut self, other: &Split) {
        self.printing += other.printing;
        self.cooling += other.cooling;
        self.blocked += other.blocked;
        self.handled += other.handled;
        self.down += other.down;
        self.empty += other.empty;
    }
}

/// A group's share of the printer hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GroupHours {
    /// Which group.
    pub group: GroupId,
    /// How many printers it has.
    pub printers: usize,
    /// Its printer minutes.
    pub split: Split,
}

/// All printer hours of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrinterHours {
    /// The stretch they were counted in.
    pub span: Span,
    /// One entry per group, in the instance's order.
    pub groups: Vec<GroupHours>,
    /// The sum over the groups.
    pub total: Split,
}

/// A hundred thousand hours: past this the table has no room for minutes.
const TOO_LONG_FOR_MINUTES: Minutes = Minutes(6_000_000);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Printing,
    Cooling,
    Blocked,
    Handled,
    Down,
}

/// Counts the printer hours of a plan.
pub fn printer_hours(instance: &Instance, plan: &Plan) -> PrinterHours {
    let span = Span::of_plan(instance, plan);
    let mut groups: Vec<GroupHours> = (0..)
        .zip(&instance.groups)
        .map(|(i, _)| GroupHours { group: GroupId(i), printers: 0, split: Split::default() })
        .collect();
    for (printer, splits) in instance.printers.iter().zip(printer_splits(instance, plan, &[span])) {
        if let Some(group) = groups.get_mut(printer.group.index()) {
            group.printers += 1;
            splits.iter().for_each(|split| group.split.add(split));
        }
    }
    let mut total = Split::default();
    groups.iter().for_each(|g| total.add(&g.split));
    PrinterHours { span, groups, total }
}

/// What each printer, in the instance's order, does in each of some stretches, which must be in order and apart.
pub fn printer_splits(instance: &Instance, plan: &Plan, spans: &[Span]) -> Vec<Vec<Split>> {
    let mut occupied: Vec<Vec<(Span, State)>> = vec![Vec::new(); instance.printers.len()];
    for run in phases(instance, plan) {
        if let Some(of_printer) = occupied.get_mut(run.printer.index()) {
            of_printer.extend(states(&run));
        }
    }
    let mut down: Vec<Vec<(Span, State)>> = vec![Vec::new(); instance.printers.len()];
    for row in &instance.downtime {
        if let Some(of_printer) = down.get_mut(row.printer.index()) {
            of_printer.push((Span { from: row.from, to: row.to }, State::Down));
        }
    }
    let both = down.iter_mut().zip(&mut occupied);
    both.map(|(down, occupied)| {
        down.sort_by_key(|(s, _)| (s.from, s.to));
        occupied.sort_by_key(|(s, _)| (s.from, s.to));
        let (mut down, mut occupied) = (&down[..], &occupied[..]);
        spans
            .iter()
            .map(|&span| {
                (down, occupied) = (from_on(down, span.from), from_on(occupied, span.from));
                split(span, down, occupied)
            })
            .collect()
    })
    .collect()
}

/// The stretches, in order of their beginning, without those at their head that end before an instant.
fn from_on(stretches: &[(Span, State)], from: Instant) -> &[(Span, State)] {
    let over = stretches.iter().take_while(|(s, _)| s.to <= from).count();
    stretches.get(over..).unwrap_or_default()
}

fn states(run: &Phases) -> [(Span, State); 5] {
    [
        (run.load, State::Handled),
        (run.printing, State::Printing),
        (run.cooling, State::Cooling),
        (run.blocked, State::Blocked),
        (run.harvest, State::Handled),
    ]
}

/// Walks the stretches of one printer once, giving each minute to the first that claims it, downtime before runs.
fn split(span: Span, down: &[(Span, State)], occupied: &[(Span, State)]) -> Split {
    let mut counted = Split::default();
    let mut cursor = span.from;
    let mut next_down = down.iter().take_while(|(d, _)| d.from < span.to).peekable();
    for &(stretch, state) in occupied.iter().take_while(|(o, _)| o.from < span.to) {
        while let Some((downtime, _)) = next_down.next_if(|(d, _)| d.from < stretch.to) {
            let before = Span { from: cursor.max(stretch.from), to: downtime.from };
            count(&mut counted, span, &mut cursor, before, state);
            count(&mut counted, span, &mut cursor, *downtime, State::Down);
        }
        count(&mut counted, span, &mut cursor, stretch, state);
    }
    for (downtime, _) in next_down {
        count(&mut counted, span, &mut cursor, *downtime, State::Down);
    }
    counted.empty = span.length() - counted.total();
    counted
}

fn count(counted: &mut Split, span: Span, cursor: &mut Instant, stretch: Span, state: State) {
    let left = stretch.within(Span { from: (*cursor).min(span.to), to: span.to });
    if left.is_empty() {
        return;
    }
    *cursor = left.to;
    let of_state = match state {
        State::Printing => &mut counted.printing,
        State::Cooling => &mut counted.cooling,
        State::Blocked => &mut counted.blocked,
        State::Handled => &mut counted.handled,
        State::Down => &mut counted.down,
    };
    *of_state += left.length();
}

fn whole_hours(minutes: Minutes) -> String {
    ((minutes.0 + 30) / 60).to_string()
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let hours = printer_hours(instance, plan);
    if hours.span.is_empty() {
        return;
    }
    let wall = Wall::of(instance);
    page.heading("Printer hours");
    let rounded = hours.total.total() >= TOO_LONG_FOR_MINUTES;
    page.say(&format!(
        "From {} to {}, {}. Blocked: ready, waiting to be harvested. Handled: load, changeover and harvest. The \
         columns add up to the total{}.",
        wall.say(hours.span.from),
        wall.say(hours.span.to),
        if rounded { "in whole hours" } else { "in hours:minutes" },
        if rounded { ", save for rounding" } else { "" },
    ));
    let right = Lean::Right;
    let mut grid = Grid::new([
        ("group", Lean::Left),
        ("printing", right),
        ("cooling", right),
        ("blocked", right),
        ("handled", right),
        ("down", right),
        ("empty", right),
        ("total", right),
    ]);
    let cells = |name: String, split: &Split, say: &dyn Fn(Minutes) -> String| {
        let Split { printing, cooling, blocked, handled, down, empty } = *split;
        [name, say(printing), say(cooling), say(blocked), say(handled), say(down), say(empty), say(split.total())]
    };
    let figure: &dyn Fn(Minutes) -> String = if rounded { &whole_hours } else { &clock_hours };
    for group in &hours.groups {
        let name = instance.groups.get(group.group.index()).map_or("", String::as_str);
        grid.row(cells(format!("{name} ({})", group.printers), &group.split, figure));
    }
    if hours.groups.len() > 1 {
        grid.row(cells(format!("all ({})", instance.printers.len()), &hours.total, figure));
    }
    let total = hours.total.total();
    grid.row(cells("share".to_owned(), &hours.total, &|minutes| percent(minutes, total)));
    page.table(&grid);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};
    use platewright_model::instance::{Downtime, PrinterId};

    fn minutes(split: Split) -> [i64; 6] {
        [split.printing, split.cooling, split.blocked, split.handled, split.down, split.empty].map(|m| m.0)
    }

    #[test]
    fn every_printer_minute_is_counted_once() {
        let instance = sample::instance();
        let hours = printer_hours(&instance, &sample::plan(&instance));
        assert_eq!(hours.span, Span { from: at(0, 7, 0), to: at(2, 7, 4) });
        let [small, large] = hours.groups[..] else { panic!("two groups") };
        assert_eq!((small.printers, large.printers), (2, 1));
        // A1: on at the start, printed at 07:50, ready at 08:00, harvested 08:10 to 08:14; A2: down until noon.
        assert_eq!(minutes(small.split), [50, 10, 10, 4, 300, 2 * 2884 - 374]);
        // B1: twice 3 + 600 + 4, blocked from 17:03 and from 17:07 to 07:00.
        assert_eq!(minutes(large.split), [1200, 0, 837 + 833, 14, 0, 0]);
        assert_eq!(hours.total.total(), Minutes(3 * 2884));
    }

    #[test]
    fn stretches_add_up_to_the_whole() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let days = [(at(0, 7, 0), at(1, 0, 0)), (at(1, 0, 0), at(2, 0, 0)), (at(2, 0, 0), at(2, 7, 4))];
        let splits = printer_splits(&instance, &plan, &days.map(|(from, to)| Span { from, to }));
        // B1 on Monday: loaded 07:00 to 07:03, printing until 17:03, blocked until midnight.
        assert_eq!(minutes(splits[2][0]), [600, 0, 417, 3, 0, 0]);
        let mut whole = Split::default();
        splits.iter().flatten().for_each(|split| whole.add(split));
        assert_eq!(whole, printer_hours(&instance, &plan).total);
    }

    #[test]
    fn a_plate_that_waits_through_downtime_is_down() {
        let mut instance = sample::instance();
        let plan = sample::plan(&instance);
        for (from, to) in [(at(0, 20, 0), at(0, 22, 0)), (at(0, 21, 0), at(0, 23, 0)), (at(3, 0, 0), at(4, 0, 0))] {
            instance.downtime.push(Downtime { printer: PrinterId(2), from, to, reason: None });
        }
        let large = printer_hours(&instance, &plan).groups[1].split;
        assert_eq!(minutes(large), [1200, 0, 837 + 833 - 180, 14, 180, 0]);
    }

    #[test]
    fn the_total_holds_for_plans_that_overlap_or_name_the_unknown() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.runs[2].load.as_mut().unwrap().from = at(0, 9, 0);
        plan.runs[1].printer = "nowhere".into();
        let hours = printer_hours(&instance, &plan);
        assert_eq!(hours.total.total(), Minutes(3 * 2884));
        assert!(minutes(hours.total).iter().all(|m| *m >= 0));
    }
}
