//! What the crew is paid for and what it is busy with, shift by shift.
//!
//! Shifts of one crew that run between the same wall times are told together. Paid minutes are those on shift between
//! the start and the end of the plan; busy minutes are those of loads, harvests and packing.

use crate::page::{Grid, Lean, Page};
use crate::span::Span;
use crate::wall::{Wall, clock_hours, percent};
use platewright_model::instance::CrewId;
use platewright_model::roster::{self, Stretch};
use platewright_model::{Count, Instance, Instant, Minutes, Plan};
use std::collections::{BTreeMap, HashMap};

/// One shift that took place: everybody of a crew who is on from one instant to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shift {
    /// Whose.
    pub crew: CrewId,
    /// When, clipped to the plan.
    pub span: Span,
    /// How many people.
    pub operators: Count,
    /// Operator minutes on shift.
    pub paid: Minutes,
    /// Operator minutes at work on a task.
    pub busy: Minutes,
}

impl Shift {
    /// Too short to say anything of how busy the crew is.
    pub fn is_stump(&self) -> bool {
        self.span.length() < Minutes(60)
    }

    /// Busy in millionths of paid.
    pub fn busy_share(&self) -> i64 {
        self.busy.0 * 1_000_000 / self.paid.0.max(1)
    }
}

/// The shifts of one crew between the same wall times.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrewHours {
    /// Whose.
    pub crew: CrewId,
    /// From when to when: `07:00-15:00`.
    pub times: String,
    /// The shifts, in order.
    pub shifts: Vec<Shift>,
    /// The sum of their paid minutes.
    pub paid: Minutes,
    /// The sum of their busy minutes.
    pub busy: Minutes,
}

impl CrewHours {
    /// The shift with the greatest busy share, the first of them; a shift that the plan's end cuts to less than an hour
    /// is none, because its share says nothing.
    pub fn busiest(&self) -> Option<&Shift> {
        self.shifts.iter().rev().filter(|s| !s.is_stump()).max_by_key(|s| s.busy_share())
    }
}

/// Counts the crew hours of a plan, by crew and then by when a shift first takes place.
pub fn crew_hours(instance: &Instance, plan: &Plan) -> Vec<CrewHours> {
    let span = Span::of_plan(instance, plan);
    let stretches = roster::stretches(instance);
    let busy = busy_by_stretch(instance, plan, &stretches);
    let wall = Wall::of(instance);

    let mut shifts: BTreeMap<(CrewId, Instant, Instant), Shift> = BTreeMap::new();
    for (stretch, busy) in stretches.iter().zip(busy) {
        let clipped = Span { from: stretch.from, to: stretch.to }.within(span);
        if clipped.is_empty() {
            continue;
        }
        let shift = shifts.entry((stretch.crew, stretch.from, stretch.to)).or_insert(Shift {
            crew: stretch.crew,
            span: clipped,
            operators: Count(0),
            paid: Minutes::ZERO,
            busy: Minutes::ZERO,
        });
        shift.operators += Count(1);
        shift.paid += clipped.length();
        shift.busy += busy;
    }

    let mut rows: Vec<CrewHours> = Vec::new();
    for ((crew, from, to), shift) in shifts {
        let times = times_of(instance, &stretches, wall, (crew, from, to));
        let row = match rows.iter_mut().find(|r| r.crew == crew && r.times == times) {
            Some(row) => row,
            None => {
                rows.push_mut(CrewHours { crew, times, shifts: Vec::new(), paid: Minutes::ZERO, busy: Minutes::ZERO })
            }
        };
        row.paid += shift.paid;
        row.busy += shift.busy;
        row.shifts.push(shift);
    }
    rows
}

/// The wall times of a shift. The plan's start may cut a shift short: it then takes the times of its like on other
/// days.
fn times_of(instance: &Instance, stretches: &[Stretch], wall: Wall, shift: (CrewId, Instant, Instant)) -> String {
    let (crew, from, to) = shift;
    if to - from > Minutes::DAY {
        return "round the clock".to_owned();
    }
    let uncut = stretches
        .iter()
        .find(|s| from == instance.farm.start && s.crew == crew && s.from > from && wall.time(s.to) == wall.time(to));
    format!("{}-{}", wall.time(uncut.map_or(from, |s| s.from)), wall.time(to))
}

fn busy_by_stretch(instance: &Instance, plan: &Plan, stretches: &[Stretch]) -> Vec<Minutes> {
    let mut of_operator: HashMap<String, Vec<usize>> = HashMap::new();
    for (index, stretch) in stretches.iter().enumerate() {
        let name = roster::operator_name(instance, stretch.crew, stretch.operator);
        of_operator.entry(name).or_default().push(index);
    }
    // An operator's stretches follow one another, so those that a task touches lie together. All indices are of `stretches`.
    of_operator.values_mut().for_each(|of| of.sort_by_key(|&index| stretches[index].from));
    let mut busy = vec![Minutes::ZERO; stretches.len()];
    for task in &plan.tasks {
        let task_span = Span { from: task.from, to: task.to };
        let theirs = of_operator.get(&task.operator).map_or(&[][..], Vec::as_slice);
        let first = theirs.partition_point(|&index| stretches[index].to <= task.from);
        for &index in theirs[first..].iter().take_while(|&&index| stretches[index].from < task.to) {
            let stretch = &stretches[index];
            busy[index] += task_span.within(Span { from: stretch.from, to: stretch.to }).length();
        }
    }
    busy
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let rows = crew_hours(instance, plan);
    if rows.is_empty() {
        return;
    }
    let wall = Wall::of(instance);
    page.heading("Crew hours");
    page.say("Paid: on shift until the plan ends. Busy: loading, harvesting and packing. In hours:minutes.");
    let mut grid = Grid::new([
        ("crew", Lean::Left),
        ("shift", Lean::Left),
        ("shifts", Lean::Right),
        ("paid", Lean::Right),
        ("busy", Lean::Right),
        ("share", Lean::Right),
        ("busiest", Lean::Left),
    ]);
    for row in &rows {
        let crew = instance.crews.get(row.crew.index()).cloned().unwrap_or_default();
        let busiest = row.busiest().map_or_else(String::new, |shift| {
            format!("{} from {}", percent(shift.busy, shift.paid), wall.say(shift.span.from))
        });
        grid.row([
            crew,
            row.times.clone(),
            row.shifts.len().to_string(),
            clock_hours(row.paid),
            clock_hours(row.busy),
            percent(row.busy, row.paid),
            busiest,
        ]);
    }
    page.table(&grid);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};
    use chrono::{NaiveTime, Weekday};
    use platewright_model::instance::{Days, ShiftRow};

    #[test]
    fn shifts_are_paid_until_the_plan_ends_and_busy_with_their_tasks() {
        let instance = sample::instance();
        let rows = crew_hours(&instance, &sample::plan(&instance));
        let [row] = &rows[..] else { panic!("one row: {rows:?}") };
        assert_eq!(row.times, "07:00-17:00");
        let paid: Vec<i64> = row.shifts.iter().map(|s| s.paid.0).collect();
        let busy: Vec<i64> = row.shifts.iter().map(|s| s.busy.0).collect();
        assert_eq!((paid, busy), (vec![600, 600, 4], vec![7, 7, 4]));
        assert_eq!((row.paid, row.busy), (Minutes(1204), Minutes(18)));
        // Wednesday's four minutes are all busy, and say nothing.
        assert_eq!(row.busiest().unwrap().span.from, at(0, 7, 0));
    }

    #[test]
    fn a_shift_under_way_at_the_start_is_told_with_its_like() {
        let mut instance = sample::instance();
        instance.shifts[0].from = NaiveTime::from_hms_opt(6, 0, 0).unwrap();
        let rows = crew_hours(&instance, &sample::plan(&instance));
        assert_eq!(rows.iter().map(|r| (r.times.as_str(), r.shifts.len())).collect::<Vec<_>>(), [("06:00-17:00", 3)]);
    }

    #[test]
    fn other_times_of_the_same_crew_are_a_row_of_their_own() {
        let mut instance = sample::instance();
        let five_to_nine = |h| NaiveTime::from_hms_opt(h, 0, 0).unwrap();
        instance.shifts.push(ShiftRow {
            days: Days::Weekly(vec![Weekday::Tue]),
            from: five_to_nine(18),
            to: five_to_nine(21),
            operators: Count(2),
            ..instance.shifts[0].clone()
        });
        let rows = crew_hours(&instance, &sample::plan(&instance));
        let [_, evening] = &rows[..] else { panic!("two rows: {rows:?}") };
        assert_eq!(
            (evening.times.as_str(), evening.paid, evening.shifts[0].operators),
            ("18:00-21:00", Minutes(360), Count(2))
        );
    }
}
