//! What the shifts ask of people, held beside two published rules. It is pointed out, never judged: which rules apply,
//! with which exceptions, and who works which shift, only the farm and its advisers know.
//!
//! From Directive 2003/88/EC of the European Parliament and of the Council: Article 3, eleven consecutive hours of rest
//! in each period of 24 hours; Article 4, a rest break where the working day is longer than six hours; Article 6, 48
//! hours on average for each seven-day period. From the US Fair Labor Standards Act, 29 U.S.C. 207(a): overtime beyond
//! 40 hours in a workweek, which is any fixed 168 hours.
//!
//! Everything is read off the shifts as `shifts.csv` lays them out up to the horizon, for the numbered operators of a
//! crew: whether `early-1` is one person all week is not known here. A period of 24 hours begins with each stretch on
//! shift; a week runs from Monday to Sunday by the farm's wall clock. Hours that the horizon cuts off are not counted.

use crate::page::{Grid, Lean, Page, clip};
use crate::span::Span;
use crate::wall::Wall;
use chrono::Datelike;
use platewright_model::instance::CrewId;
use platewright_model::{Instance, Instant, Minutes, roster};
use std::collections::BTreeMap;

/// Eleven hours.
const REST: Minutes = Minutes(11 * 60);
/// Six hours.
const UNBROKEN: Minutes = Minutes(6 * 60);
/// Forty hours; those beyond 48 are among those beyond 40.
const WEEK: Minutes = Minutes(40 * 60);

/// What the shifts of one crew ask of an operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Remark {
    /// Whose shifts.
    pub crew: CrewId,
    /// What is remarkable.
    pub about: About,
    /// The figure at its most remarkable: shortest rest, longest stretch, most hours in a week.
    pub minutes: Minutes,
    /// Where that first is so.
    pub from: Instant,
    /// How many of the crew's stretches, days or weeks there are like it, over all its operators.
    pub times: usize,
}

/// What can be remarked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// Rest of less than eleven hours in a period of 24.
    Rest,
    /// More than six hours without a break.
    Unbroken,
    /// More than 40 hours in a week.
    Week,
}

/// Everything remarkable, crew by crew.
pub fn remarks(instance: &Instance) -> Vec<Remark> {
    let mut of_operator: BTreeMap<(CrewId, u32), Vec<Span>> = BTreeMap::new();
    for stretch in roster::stretches(instance) {
        let spans = of_operator.entry((stretch.crew, stretch.operator)).or_default();
        spans.push(Span { from: stretch.from, to: stretch.to });
    }
    let mut found: BTreeMap<(CrewId, About), Remark> = BTreeMap::new();
    for ((crew, _), spans) in &of_operator {
        let rests = rests(spans).into_iter().filter(|(_, rest)| *rest < REST);
        let unbroken = spans.iter().map(|s| (s.from, s.length())).filter(|(_, length)| *length > UNBROKEN);
        let long_weeks = weeks(instance, spans).into_iter().filter(|(_, worked)| *worked > WEEK);
        let all = rests
            .map(|one| (About::Rest, one))
            .chain(unbroken.map(|one| (About::Unbroken, one)))
            .chain(long_weeks.map(|one| (About::Week, one)));
        for (about, (from, minutes)) in all {
            let remark = found.entry((*crew, about)).or_insert(Remark { crew: *crew, about, minutes, from, times: 0 });
            remark.times += 1;
            let worse = match about {
                About::Rest => minutes < remark.minutes,
                _ => minutes > remark.minutes,
            };
            if worse || (minutes == remark.minutes && from < remark.from) {
                (remark.minutes, remark.from) = (minutes, from);
            }
        }
    }
    found.into_values().collect()
}

/// For each stretch on shift, the longest rest in the 24 hours from its beginning.
fn rests(spans: &[Span]) -> Vec<(Instant, Minutes)> {
    let rest = |first: usize| {
        let from = spans[first].from;
        let day = Span { from, to: from + Minutes::DAY };
        let begins = spans.iter().skip(first + 1).map(|span| span.from).take_while(|begin| *begin < day.to);
        let gaps = spans[first..].iter().zip(begins.chain(std::iter::once(day.to)));
        gaps.map(|(span, until)| Span { from: span.to, to: until }.length()).max().map(|rest| (from, rest))
    };
    (0..spans.len()).filter_map(rest).collect()
}

/// The minutes on shift in each week from Monday to Sunday, with when the first of its stretches begins.
fn weeks(instance: &Instance, spans: &[Span]) -> Vec<(Instant, Minutes)> {
    let mut weeks: BTreeMap<(i32, u32), (Instant, Minutes)> = BTreeMap::new();
    for span in spans {
        // A shift over midnight on Sunday counts where it begins.
        let week = instance.farm.clock.stamp(span.from).iso_week();
        let worked = weeks.entry((week.year(), week.week())).or_insert((span.from, Minutes::ZERO));
        worked.1 += span.length();
    }
    weeks.into_values().collect()
}

/// The remarks in words, one sentence each; none where there is nothing to remark on.
pub fn sentences(instance: &Instance) -> Vec<String> {
    remarks(instance).iter().map(|remark| sentence(instance, remark)).collect()
}

fn sentence(instance: &Instance, remark: &Remark) -> String {
    let crew = instance.crews.get(remark.crew.index()).map_or("", String::as_str);
    let (minutes, from) = (hours(remark.minutes), Wall::of(instance).say(remark.from));
    let times = if remark.times == 1 { "once".to_owned() } else { format!("{} times", remark.times) };
    match remark.about {
        About::Rest => format!(
            "Crew {crew}: as little as {minutes} of rest in the 24 hours from {from}; under 11 h {times} (Directive \
             2003/88/EC, Article 3)."
        ),
        About::Unbroken => format!(
            "Crew {crew}: up to {minutes} on shift without a break, from {from}; over 6 h {times} (Directive \
             2003/88/EC, Article 4)."
        ),
        About::Week => format!(
            "Crew {crew}: up to {minutes} in a week for one operator, from {from}; over 40 h {times} (beyond 48 h on \
             average Directive 2003/88/EC, Article 6; beyond 40 h overtime under the US FLSA)."
        ),
    }
}

/// Hours, however many: `60 h`, `52 h 30 min`.
fn hours(minutes: Minutes) -> String {
    match minutes.0 % 60 {
        0 => format!("{} h", minutes.0 / 60),
        rest => format!("{} h {rest:02} min", minutes.0 / 60),
    }
}

/// The remarks on the shifts of several ways to staff the room: a row for each crew with something remarkable.
pub(crate) fn section<'i>(instances: impl Iterator<Item = (&'i str, &'i Instance)>, page: &mut Page) {
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("crew", Lean::Left),
        ("rest in 24 h", Lean::Right),
        ("without a break", Lean::Right),
        ("in a week", Lean::Right),
    ]);
    let mut any = false;
    for (name, instance) in instances {
        let remarks = remarks(instance);
        let mut crews: Vec<CrewId> = remarks.iter().map(|remark| remark.crew).collect();
        crews.dedup();
        for crew in crews {
            let figure = |about: About| {
                let remark = remarks.iter().find(|remark| remark.crew == crew && remark.about == about);
                remark.map(|remark| hours(remark.minutes)).unwrap_or_default()
            };
            let crew = instance.crews.get(crew.index()).map_or("", String::as_str);
            let figures = [About::Rest, About::Unbroken, About::Week].map(figure);
            let [rest, unbroken, week] = figures;
            grid.row([name.to_owned(), clip(crew, 20), rest, unbroken, week]);
            any = true;
        }
    }
    if !any {
        return;
    }
    page.heading("Working time");
    page.say(
        "The shortest rest under 11 h, the longest stretch over 6 h and the longest week over 40 h of one operator.",
    );
    page.table(&grid.without_columns_of(""));
    page.say(
        "Directive 2003/88/EC speaks of 11 h of rest in 24 h (Article 3), of a break beyond 6 h (Article 4) and of 48 h \
         a week on average (Article 6); the US FLSA of overtime beyond 40 h in a workweek. This is pointed out, not \
         judged: ask the rules where you work.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};
    use chrono::{NaiveTime, Weekday};
    use platewright_model::Count;
    use platewright_model::instance::{Days, ShiftRow};

    const WEEKDAYS: [Weekday; 5] = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];

    /// The sample with these shifts, each from and to an hour on weekdays; crew 0.
    fn with_shifts(shifts: &[(u32, u32)], days: &[Weekday]) -> Instance {
        let mut instance = sample::instance();
        let hour = |h: u32| NaiveTime::from_hms_opt(h % 24, 0, 0).unwrap();
        let row = |(from, to): (u32, u32)| ShiftRow {
            crew: CrewId(0),
            days: Days::Weekly(days.to_vec()),
            from: hour(from),
            to: hour(to),
            operators: Count(1),
        };
        instance.shifts = shifts.iter().copied().map(row).collect();
        instance.farm.horizon_days = 7;
        instance
    }

    fn found(instance: &Instance) -> Vec<(About, i64, usize)> {
        remarks(instance).iter().map(|r| (r.about, r.minutes.0, r.times)).collect()
    }

    #[test]
    fn forty_hours_with_breaks_are_not_remarkable() {
        assert_eq!(found(&with_shifts(&[(8, 12), (13, 17)], &WEEKDAYS)), []);
    }

    #[test]
    fn each_rule_is_remarked_on_beyond_its_figure_and_not_at_it() {
        // 07:00 to 13:00 is six hours; one more is remarkable, on each of five days.
        assert_eq!(found(&with_shifts(&[(7, 13)], &WEEKDAYS)), []);
        assert_eq!(found(&with_shifts(&[(7, 14)], &WEEKDAYS)), [(About::Unbroken, 420, 5)]);
        // 07:00 to 13:00 and 14:00 to 20:00 leave eleven hours, and 60 in the week.
        let twelve = with_shifts(&[(7, 13), (14, 20)], &WEEKDAYS);
        assert_eq!(found(&twelve), [(About::Week, 3600, 1)]);
        // An hour later to bed: ten hours of rest in each 24, but for those that begin on Friday afternoon.
        let thirteen = with_shifts(&[(7, 13), (15, 21)], &WEEKDAYS);
        assert_eq!(found(&thirteen)[0], (About::Rest, 600, 9));
        assert_eq!(found(&with_shifts(&[(8, 12), (13, 18)], &WEEKDAYS)), [(About::Week, 2700, 1)]);
    }

    #[test]
    fn the_remark_says_where_and_how_often() {
        let told = sentences(&with_shifts(&[(7, 14)], &WEEKDAYS));
        assert_eq!(
            told,
            [
                "Crew day: up to 7 h on shift without a break, from Mon 2 Mar 07:00; over 6 h 5 times (Directive 2003/88/EC, \
              Article 4)."
            ]
        );
    }

    #[test]
    fn adjoining_shifts_of_one_operator_are_one_stretch() {
        let all_day = with_shifts(&[(7, 15), (15, 23)], &[Weekday::Mon]);
        assert_eq!(remarks(&all_day)[0].minutes, Minutes(8 * 60));
        assert_eq!(remarks(&all_day)[0].from, at(0, 7, 0));
    }
}
