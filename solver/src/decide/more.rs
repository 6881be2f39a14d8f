//! One more of something: what a farm could add, as changes laid over its tables.

use chrono::{NaiveTime, TimeDelta, Timelike, Weekday};
use platewright_model::instance::{Days, Instance, ShiftRow};
use platewright_model::overlay::{Overlay, Table};
use platewright_model::{Minutes, roster};

/// A short shift at a weekend.
const MORNING: i64 = 5 * 60;

/// Something that there could be more of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum More {
    /// Printers of a group.
    Printers {
        /// The group's name.
        group: String,
    },
    /// Operators on the shift of a row of `shifts.csv`.
    Operators {
        /// Its position in [`Instance::shifts`].
        row: usize,
    },
    /// Operators on a shift that is not there yet.
    Shift {
        /// Its crew.
        crew: String,
        /// Its days, as the table writes them.
        days: String,
        /// When it begins.
        from: NaiveTime,
        /// When it ends.
        to: NaiveTime,
        /// `a Saturday morning`.
        called: String,
    },
    /// Minutes less to load, or to harvest.
    Faster {
        /// The key of `farm.toml`: `load` or `harvest`.
        key: &'static str,
        /// What it says now.
        now: Minutes,
    },
}

impl More {
    /// Everything that there could be more of: printers of each group, operators on each shift of the week, short shifts
    /// at the weekend, a night shift, faster hands.
    pub fn of_each(instance: &Instance) -> Vec<More> {
        let mut all: Vec<More> = instance.groups.iter().map(|group| More::Printers { group: group.clone() }).collect();
        let weekly = |row: &&ShiftRow| matches!(row.days, Days::Weekly(_));
        let rows = (0..).zip(&instance.shifts).filter(|(_, row)| weekly(row));
        all.extend(rows.map(|(row, _)| More::Operators { row }));
        all.extend(weekend(instance));
        all.extend(night(instance));
        let handling = &instance.farm.handling;
        let faster = [("load", handling.load), ("harvest", handling.harvest)].into_iter().filter(|(_, now)| now.0 > 0);
        all.extend(faster.map(|(key, now)| More::Faster { key, now }));
        all
    }

    /// Whether it is bought or hired, and any number may be; a minute less is practice.
    pub fn is_counted(&self) -> bool {
        !matches!(self, More::Faster { .. })
    }

    /// So many more, laid over the tables. An operator more is a row more, so that those who are there keep their
    /// numbers.
    pub fn overlay(&self, instance: &Instance, count: u64) -> Overlay {
        let mut overlay = Overlay::new("more of something");
        let operators = count.to_string();
        match self {
            More::Printers { group } => {
                overlay.more_printers(group, count as usize);
            }
            More::Operators { row } => {
                if let Some(row) = instance.shifts.get(*row) {
                    let crew = instance.crews.get(row.crew.index()).map_or("", String::as_str);
                    shift(&mut overlay, crew, &days(&row.days), (row.from, row.to), &operators);
                }
            }
            More::Shift { crew, days, from, to, .. } => shift(&mut overlay, crew, days, (*from, *to), &operators),
            More::Faster { key, now } => {
                overlay.set(&format!("handling.{key}"), (now.0 - count as i64).max(0));
            }
        }
        overlay
    }

    /// So many more, in words.
    pub fn words(&self, instance: &Instance, count: u64) -> String {
        let many = |one: &str| if count == 1 { format!("1 more {one}") } else { format!("{count} more {one}s") };
        match self {
            More::Printers { group } => format!("{} of group {group}", many("printer")),
            More::Operators { row } => match instance.shifts.get(*row) {
                Some(row) => {
                    let crew = instance.crews.get(row.crew.index()).map_or("", String::as_str);
                    format!("{} on {crew} {} {}", many("operator"), days(&row.days), times(row.from, row.to))
                }
                None => many("operator"),
            },
            More::Shift { from, to, called, .. } if count == 1 => format!("{called}, {}", times(*from, *to)),
            More::Shift { from, to, called, .. } => format!("{called}, {}, {count} operators", times(*from, *to)),
            More::Faster { key, .. } => {
                format!("{count} {} less to {key}", if count == 1 { "minute" } else { "minutes" })
            }
        }
    }

    /// A name for a folder.
    pub fn name(&self, instance: &Instance) -> String {
        let name = match self {
            More::Printers { group } => format!("printers-{group}"),
            More::Operators { row } => {
                let crew = instance.shifts.get(*row).and_then(|row| instance.crews.get(row.crew.index()));
                format!("operators-{}-{}", crew.map_or("", String::as_str), row + 1)
            }
            More::Shift { called, .. } => called.clone(),
            More::Faster { key, .. } => format!("faster-{key}"),
        };
        name.chars().map(|c| if c.is_alphanumeric() || c == '-' { c } else { '-' }).collect()
    }
}

fn shift(overlay: &mut Overlay, crew: &str, days: &str, (from, to): (NaiveTime, NaiveTime), operators: &str) {
    let (from, to) = (from.format("%H:%M").to_string(), to.format("%H:%M").to_string());
    let to = if to == "00:00" { "24:00".to_owned() } else { to };
    let row = [("crew", crew), ("days", days), ("from", &from), ("to", &to), ("operators", operators)];
    overlay.add(Table::Shifts, row);
}

fn times(from: NaiveTime, to: NaiveTime) -> String {
    format!("{}-{}", from.format("%H:%M"), to.format("%H:%M"))
}

/// Days as the table writes them.
fn days(days: &Days) -> String {
    match days {
        Days::Date(date) => date.format("%Y-%m-%d").to_string(),
        Days::Weekly(week) if week.len() == 7 => "daily".to_owned(),
        Days::Weekly(week) => {
            let row = week.windows(2).all(|w| w[0].succ() == w[1]);
            match week.as_slice() {
                [first, .., last] if row && week.len() > 2 => format!("{first}-{last}"),
                _ => week.iter().map(Weekday::to_string).collect::<Vec<_>>().join(","),
            }
        }
    }
}

/// On Saturday and on Sunday: a morning where nobody is there, else hours after those that are.
fn weekend(instance: &Instance) -> Vec<More> {
    let Some(first) = instance.shifts.first() else { return Vec::new() };
    let Some(crew) = instance.crews.get(first.crew.index()) else { return Vec::new() };
    let on = |day: Weekday| {
        instance.shifts.iter().filter(move |row| matches!(&row.days, Days::Weekly(week) if week.contains(&day)))
    };
    let mut found = Vec::new();
    for (day, called) in [(Weekday::Sat, "Saturday"), (Weekday::Sun, "Sunday")] {
        let ends: Vec<NaiveTime> = on(day).map(|row| row.to).collect();
        let over_midnight = on(day).any(|row| row.to <= row.from);
        let (from, part) = match ends.iter().max() {
            _ if over_midnight => continue,
            None => (first.from, "morning"),
            Some(last) => (*last, "afternoon"),
        };
        let (to, days_later) = from.overflowing_add_signed(TimeDelta::minutes(MORNING));
        if days_later == 0 {
            let called = format!("a {called} {part}");
            found.push(More::Shift { crew: crew.clone(), days: day.to_string(), from, to, called });
        }
    }
    found
}

/// The usual night of the weekdays, as a shift of a crew of its own.
fn night(instance: &Instance) -> Option<More> {
    let zone = &instance.farm.clock;
    let wall = |at| zone.stamp(at).time();
    let (from, to) = roster::unattended(instance).into_iter().find(|(from, to)| {
        *from > instance.farm.start && *to < instance.farm.horizon_end() && *to - *from < Minutes(900)
    })?;
    let (from, to) = (wall(from), wall(to));
    let crew = (1..).map(|n| if n == 1 { "night".to_owned() } else { format!("night{n}") });
    let crew = crew.into_iter().find(|name| !instance.crews.contains(name))?;
    let is_night = from.hour() >= 16 || from.hour() < 4;
    is_night.then_some(More::Shift {
        crew,
        days: "Mon-Fri".to_owned(),
        from,
        to,
        called: "a night shift Mon-Fri".to_owned(),
    })
}
