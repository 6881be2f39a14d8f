//! The studies as a page shows them.

use super::fit::{Fit, Unfit};
use super::room::UsualDay;
use super::{Layout, Study};
use crate::page::{Grid, Lean, Page};
use crate::wall::percent;
use platewright_model::{Instance, Minutes};

/// A section for each part and group, and before them what a shift and a night are.
pub fn studies_section(instance: &Instance, studies: &[Study], page: &mut Page) {
    let day = UsualDay::of(instance);
    page.blank();
    page.say(&format!(
        "Printing minutes are a line through the known plates, and other counts are read off it, rounded up. A shift: \
         runs that end one after the other within {}, the usual staffed stretch. A night: how much of {} a run prints \
         when it is loaded in the last minute before.",
        day.staffed,
        day.night
            .map_or_else(|| "no night at all, since somebody is always there,".to_owned(), |night| night.to_string())
    ));
    for study in studies.iter().filter(|s| s.fit.is_ok()) {
        let (part, group) = names(instance, study);
        page.heading(&format!("{part} on {group}"));
        if let Ok(fit) = &study.fit {
            page.say(&line(study, fit));
        }
        page.table(&table(instance, study, day));
        if study.layouts.iter().any(|l| l.stretched) {
            page.say("~ outside the counts that are known: the line is stretched, so try one before relying on it.");
        }
    }
    let without: Vec<String> = studies.iter().filter_map(|s| unfit(instance, s)).collect();
    if !without.is_empty() {
        page.heading("No line");
        without.iter().for_each(|words| page.item(words));
    }
}

fn names<'a>(instance: &'a Instance, study: &Study) -> (&'a str, &'a str) {
    let part = instance.parts.get(study.part.index()).map_or("", |p| p.name.as_str());
    let group = instance.groups.get(study.group.index()).map_or("", String::as_str);
    (part, group)
}

/// The line in words, and how well it fits.
fn line(study: &Study, fit: &Fit) -> String {
    let known: Vec<String> =
        study.known.iter().map(|(_, copies, minutes)| format!("{copies} in {}", minutes.0)).collect();
    let formula = format!("{:.1} minutes and {:.2} for each copy, from {}", fit.fixed, fit.per_copy, listed(&known));
    let judged = match fit.deviation() {
        None => "two counts give a line, and nothing to judge it by".to_owned(),
        Some(deviation) => format!(
            "the known plates lie within {:.1} minutes of the line, with a standard deviation of {deviation:.1}",
            fit.worst()
        ),
    };
    let held =
        if fit.held { "; it is held at no minutes for no copies, where the plates would put it below" } else { "" };
    format!("{formula}: {judged}{held}.")
}

pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn table(instance: &Instance, study: &Study, day: UsualDay) -> Grid {
    let mut grid = Grid::new([
        ("copies", Lean::Right),
        ("plate", Lean::Left),
        ("minutes", Lean::Right),
        ("per part", Lean::Right),
        ("at risk", Lean::Right),
        ("a shift", Lean::Right),
        ("a night", Lean::Right),
        ("harvests/1000", Lean::Right),
    ]);
    for layout in &study.layouts {
        grid.row([
            layout.copies.to_string(),
            layout.plate.clone().map_or_else(|| "to be cut".to_owned(), |plate| crate::page::clip(&plate, 16)),
            format!("{}{}", if layout.stretched { "~" } else { "" }, layout.minutes.0),
            format!("{:.1}", layout.per_part()),
            layout.copies.to_string(),
            in_a_shift(layout, day),
            layout.in_a_night(instance, day).map_or_else(
                || if day.night.is_some() { "not allowed".to_owned() } else { String::new() },
                |printed| percent(printed, day.night.unwrap_or(Minutes::DAY)),
            ),
            layout.harvests_per_thousand().to_string(),
        ]);
    }
    grid.without_columns_of("")
}

fn in_a_shift(layout: &Layout, day: UsualDay) -> String {
    match layout.in_a_shift(day) {
        0 => "no".to_owned(),
        runs => runs.to_string(),
    }
}

fn unfit(instance: &Instance, study: &Study) -> Option<String> {
    let (part, group) = names(instance, study);
    Some(match study.fit.as_ref().err()? {
        Unfit::TooFew => format!("{part} on {group}: one count is known, two are needed."),
        Unfit::NotRising => format!("{part} on {group}: more copies do not take more minutes; see plates.csv."),
    })
}
