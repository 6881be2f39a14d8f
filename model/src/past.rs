//! The state of the room at a moment, as the log leaves it.
//!
//! A plan made anew in mid-week is one plan from the farm's start on: what was done until its moment (`Plan::since`) is
//! in it as the log has it, what comes after is planned. So due dates, releases, lateness and makespan count from where
//! they always did, runs keep their names, which the log uses, and the checker needs nothing but the tables, the log and
//! the plan: it holds the past to the log and judges the rest by every rule.
//!
//! The other way, a folder of tables that begin at the moment, was looked at and left: a release tells copies loaded
//! before it from those loaded after, which stock and `running.csv` cannot; boxes packed half way, and a load that is
//! under way at the moment, have no place in the tables; and each new plan would have names of its own.
//!
//! Here the log's rows become facts about the plan's runs ([`fates`]) and about the room ([`room`]).

use crate::fault::{FaultCode, Faults};
use crate::instance::{Absence, Downtime, Instance, PartId, PlateOnGroup, PrinterId};
use crate::log::{Entry, Event};
use crate::log_file::NewRow;
use crate::plan::Plan;
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::{folder, words};
use crate::units::{Count, Instant, Minutes};
use std::collections::{BTreeMap, HashMap, HashSet};

/// What has happened to a run.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fate {
    /// When its load was done.
    pub loaded: Option<Instant>,
    /// When it came off its printer.
    pub ended: Option<Ended>,
}

/// How a run came off its printer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ended {
    /// When.
    pub at: Instant,
    /// The good copies of each of its parts; nothing where it failed.
    pub good: Option<Vec<(PartId, Count)>>,
}

/// The instance with the downtime and the absences that the log knows of at a moment. A printer that is down, nobody
/// knows until when, is taken to be down for another day from then on.
pub fn room(instance: &Instance, at: Instant) -> Instance {
    let mut room = instance.clone();
    let mut open: BTreeMap<PrinterId, (Instant, Option<Instant>, Option<String>)> = BTreeMap::new();
    for entry in so_far(instance, at) {
        match &entry.event {
            Event::Down { printer, until } => {
                if let Some(before) = open.insert(*printer, (entry.at, *until, entry.note.clone())) {
                    room.downtime.push(closed(*printer, before, Some(entry.at)));
                }
            }
            Event::Up { printer } => {
                if let Some(before) = open.remove(printer) {
                    room.downtime.push(closed(*printer, (before.0, Some(entry.at), before.2), None));
                }
            }
            Event::Absent { crew, operator, until } => {
                room.absences.push(Absence { crew: *crew, operator: *operator, from: entry.at, to: *until });
            }
            Event::Loaded { .. } | Event::Harvested { .. } | Event::Failed { .. } => {}
        }
    }
    let end = Some((at + Minutes::DAY).min(instance.farm.horizon_end()));
    room.downtime.extend(open.into_iter().map(|(printer, down)| closed(printer, down, end)));
    room.downtime.retain(|down| down.from < down.to);
    room
}

/// A stretch down, which ends when that is known, or else at `end`.
fn closed(printer: PrinterId, down: (Instant, Option<Instant>, Option<String>), end: Option<Instant>) -> Downtime {
    let (from, until, reason) = down;
    Downtime { printer, from, to: until.or(end).unwrap_or(from), reason }
}

/// The rows of the log up to a moment, in order of time.
fn so_far(instance: &Instance, at: Instant) -> impl Iterator<Item = &Entry> {
    instance.log.iter().filter(move |entry| entry.at <= at)
}

/// The plan with its runs on the printers that the log has them on, and what has happened to each of them by a moment.
///
/// # Errors
/// Rows of the log that speak of a run which the plan does not have, or count other copies than its plate holds.
pub fn fates(instance: &Instance, plan: &Plan, at: Instant) -> Result<(Plan, Vec<Fate>), Faults> {
    let mut findings = Findings::default();
    let mut plan = plan.clone();
    let mut fates = vec![Fate::default(); plan.runs.len()];
    let by_name: HashMap<String, usize> = (0..).zip(&plan.runs).map(|(n, run)| (run.run.clone(), n)).collect();
    for entry in so_far(instance, at) {
        let Some(name) = entry.event.run() else { continue };
        let row = At::file(FILE).row(entry.line);
        let Some(&n) = by_name.get(name) else {
            findings.add_once(row.column("run"), FaultCode::NotInPlan, name, |suggest| {
                let meant = words::did_you_mean(name, by_name.keys().map(String::as_str), suggest);
                let help = format!("{meant}Write the run's name as the plan has it, or name the plan that has it.");
                Wrong::new(FaultCode::NotInPlan, format!("The plan has no run \"{name}\"."), help)
            });
            continue;
        };
        match &entry.event {
            Event::Loaded { printer, .. } => {
                if plan.runs[n].load.is_none() {
                    let message = format!("Run {name} was on its printer at the start, and is loaded by this row.");
                    let help = "Delete the row; its harvest is all there is to log.";
                    findings.add(row.column("event"), Wrong::new(FaultCode::NotInPlan, message, help));
                }
                plan.runs[n].printer.clone_from(&instance.printers[printer.index()].name);
                fates[n].loaded = Some(entry.at);
            }
            Event::Failed { .. } => fates[n].ended = Some(Ended { at: entry.at, good: None }),
            Event::Harvested { printer, part, good, rejected, .. } => {
                if plan.runs[n].load.is_some() && fates[n].loaded.is_none() {
                    let message = format!("Run {name} is harvested, and no row before loads it.");
                    let help = "Add the row that loads it, or correct the run.";
                    findings.add(row.column("run"), Wrong::new(FaultCode::NeverLoaded, message, help));
                    continue;
                }
                let plate = instance.plates.iter().find(|plate| plate.name == plan.runs[n].plate);
                let Some(on) = plate.and_then(|plate| plate.on(instance.printers[printer.index()].group)) else {
                    let message = format!("The plate of run {name} does not run on this printer.");
                    let help = "Correct the printer, or list the plate for the printer's group.";
                    findings.add(row.column("printer"), Wrong::new(FaultCode::PlateNotOnGroup, message, help));
                    continue;
                };
                let ended = fates[n].ended.get_or_insert_with(|| Ended { at: entry.at, good: Some(on.copies.clone()) });
                match counted(instance, on, *part, *good, *rejected) {
                    Ok((part, good)) => {
                        let counts = ended.good.iter_mut().flatten().filter(|(of, _)| *of == part);
                        counts.for_each(|(_, count)| *count = good);
                    }
                    Err(wrong) => findings.add(row.column("good"), wrong),
                }
            }
            Event::Down { .. } | Event::Up { .. } | Event::Absent { .. } => {}
        }
    }
    match findings.finish(&folder::ORDER) {
        Some(faults) => Err(faults),
        None => Ok((plan, fates)),
    }
}

const FILE: &str = "log.csv";

/// Rows that say of everything the plan had until a moment, and the log does not mention, that it went as planned: runs
/// loaded and harvested in their minutes, all copies good. Left out is what the log makes impossible: a run on a printer
/// that the log has down, or occupied, at that minute.
pub fn as_planned(instance: &Instance, plan: &Plan, at: Instant) -> Vec<NewRow> {
    let time = |at: Instant| instance.farm.clock.stamp(at).format("%Y-%m-%dT%H:%M").to_string();
    let room = room(instance, at);
    let down = |printer: &str, from: Instant, to: Instant| {
        let id = instance.printers.iter().position(|p| p.name == printer);
        room.downtime.iter().any(|d| Some(d.printer.index()) == id && d.from < to && from < d.to)
    };
    let mentioned = |run: &str, loading: bool| {
        instance
            .log
            .iter()
            .any(|entry| entry.event.run() == Some(run) && matches!(entry.event, Event::Loaded { .. }) == loading)
    };
    let mut runs: Vec<_> = plan.runs.iter().collect();
    runs.sort_by_key(|run| (run.load.as_ref().map(|load| load.from), run.harvest_from));
    // From a printer's first run that did not go as planned on, nothing on it is known.
    let mut stopped: HashSet<&str> = HashSet::new();
    let mut rows = Vec::new();
    let mut row = |event: &str, printer: &str, run: &str, when: Instant, note: &str| {
        rows.push((
            when,
            NewRow {
                time: time(when),
                event: event.to_owned(),
                printer: printer.to_owned(),
                run: run.to_owned(),
                note: note.to_owned(),
                ..NewRow::default()
            },
        ));
    };
    const NOTE: &str = "taken to have gone as planned";
    for run in runs {
        if stopped.contains(run.printer.as_str()) {
            continue;
        }
        let mut loaded = run.load.is_none() || mentioned(&run.run, true);
        let late = instance.log.iter().any(|entry| {
            entry.event.run() == Some(&run.run)
                && matches!(entry.event, Event::Loaded { .. })
                && run.load.as_ref().is_some_and(|load| load.print_from != entry.at)
        });
        if let Some(load) = run.load.as_ref().filter(|load| !loaded && load.print_from <= at)
            && !down(&run.printer, load.from, run.ready)
        {
            row("loaded", &run.printer, &run.run, load.print_from, NOTE);
            loaded = true;
        }
        if !mentioned(&run.run, false) {
            if loaded && !late && run.harvest_to <= at && !down(&run.printer, run.harvest_from, run.harvest_to) {
                row("harvested", &run.printer, &run.run, run.harvest_to, NOTE);
            } else {
                stopped.insert(&run.printer);
            }
        }
    }
    rows.sort_by_key(|row| row.0);
    rows.into_iter().map(|row| row.1).collect()
}

/// Which part a row counts, and how many of it are good.
fn counted(
    instance: &Instance,
    on: &PlateOnGroup,
    part: Option<PartId>,
    good: Option<Count>,
    rejected: Option<Count>,
) -> Result<(PartId, Count), Wrong> {
    let name = |part: PartId| instance.parts[part.index()].name.as_str();
    let parts = || words::listed(on.copies.iter().map(|(part, _)| name(*part)).collect::<Vec<_>>());
    let wrong = |message: String, help: String| Err(Wrong::new(FaultCode::WrongCount, message, help));
    let of = match part {
        Some(part) => on.copies.iter().find(|(of, _)| *of == part),
        None if on.copies.len() == 1 || (good.is_none() && rejected.is_none()) => on.copies.first(),
        None => {
            let message = "The plate holds several parts, and the row does not say which it counts.".to_owned();
            return wrong(message, format!("Write a row for each part: {}.", parts()));
        }
    };
    let Some(&(part, copies)) = of else {
        return wrong("The plate does not hold this part.".to_owned(), format!("It holds {}.", parts()));
    };
    let (good, rejected) = match (good, rejected) {
        (Some(good), Some(rejected)) => (good.0, rejected.0),
        (Some(good), None) => (good.0, copies.0.saturating_sub(good.0)),
        (None, Some(rejected)) => (copies.0.saturating_sub(rejected.0), rejected.0),
        (None, None) => (copies.0, 0),
    };
    if good + rejected != copies.0 {
        let message = format!("{good} good and {rejected} rejected are not the {copies} {} of the plate.", name(part));
        return wrong(message, "Count again; what is not good is rejected.".to_owned());
    }
    Ok((part, Count(good)))
}
