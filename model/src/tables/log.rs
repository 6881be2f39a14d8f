//! `log.csv`: what happened on the floor.
//!
//! Rows may stand in any order, since two people write at once; they are judged in order of time, and of rows of one
//! minute as they stand. What a table alone can know is asked here: a printer holds one plate at a time, so nothing is
//! loaded onto a plate, and nothing is harvested that was not loaded. Whether a run is one of the plan, and whether its
//! counts are those of its plate, is asked where plan and log meet.

use super::cells::Cells;
use super::findings::{Findings, Wrong};
use super::printers::Printers;
use super::sheet::{Row, Sheet, Spec};
use super::{limits, words};
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::instance::{CrewId, PartId, PrinterId, Running};
use crate::log::{Entry, Event, WORDS};
use crate::tables::names::Names;
use crate::units::Instant;
use std::collections::{HashMap, HashSet};

/// The log's file.
pub(crate) static LOG: Spec = Spec {
    file: "log.csv",
    required: &["time", "event"],
    optional: &["printer", "run", "part", "good", "rejected", "operator", "until", "note"],
    may_be_empty: true,
};

/// What the log refers to.
pub(super) struct Known<'k> {
    pub(super) printers: &'k Printers,
    pub(super) parts: &'k Names,
    pub(super) crews: &'k [String],
    pub(super) running: &'k [Running],
    pub(super) clock: Option<Clock>,
}

/// Reads the log; the entries come in order of time.
pub(super) fn read(sheet: &Sheet, known: &Known<'_>, findings: &mut Findings) -> Vec<Entry> {
    let mut entries: Vec<Entry> = sheet.rows().filter_map(|row| read_row(row, known, findings)).collect();
    entries.sort_by_key(|entry| entry.at);
    if !findings.any_in(&[LOG.file]) {
        contradictions(&entries, known, findings);
    }
    entries
}

fn read_row(row: Row<'_>, known: &Known<'_>, findings: &mut Findings) -> Option<Entry> {
    let mut cells = row.cells(findings);
    let at = cells.instant("time", known.clock);
    let word = cells.name("event");
    let note = cells.note("note");
    let word = word?;
    let event = match word.as_str() {
        "loaded" | "harvested" | "failed" => run_event(row, &word, known, &mut cells),
        "down" => {
            let printer = printer(known, &mut cells);
            let until = until(row, at, known, &mut cells);
            stray(row, &word, &["run", "part", "good", "rejected", "operator"], &mut cells);
            printer.map(|printer| Event::Down { printer, until })
        }
        "up" => {
            let printer = printer(known, &mut cells);
            stray(row, &word, &["run", "part", "good", "rejected", "operator", "until"], &mut cells);
            printer.map(|printer| Event::Up { printer })
        }
        "absent" => absent(row, at, known, &mut cells),
        _ => {
            let meant = words::did_you_mean(&word, WORDS, true);
            let help = format!("{meant}An event is one of {}.", words::listed(WORDS));
            let wrong = Wrong::new(FaultCode::UnknownWord, format!("\"{word}\" is not an event."), help);
            cells.findings.add(cells.at("event"), wrong);
            None
        }
    };
    Some(Entry { at: at?, event: event?, note, line: row.line.in_table().unwrap_or_default() })
}

fn run_event(row: Row<'_>, word: &str, known: &Known<'_>, cells: &mut Cells<'_, '_>) -> Option<Event> {
    let printer = printer(known, cells);
    let run = needed(row, "run", word, cells);
    if word != "harvested" {
        stray(row, word, &["part", "good", "rejected", "operator", "until"], cells);
        let (printer, run) = (printer?, run?);
        return Some(if word == "loaded" { Event::Loaded { printer, run } } else { Event::Failed { printer, run } });
    }
    stray(row, word, &["operator", "until"], cells);
    let part = cells.optional_name("part");
    let part = part.and_then(|name| known.parts.find(&name, cells.at("part"), cells.findings)).map(PartId);
    let good = cells.optional_count("good", limits::COUNTED);
    let rejected = cells.optional_count("rejected", limits::COUNTED);
    Some(Event::Harvested { printer: printer?, run: run?, part, good, rejected })
}

fn absent(row: Row<'_>, at: Option<Instant>, known: &Known<'_>, cells: &mut Cells<'_, '_>) -> Option<Event> {
    stray(row, "absent", &["printer", "run", "part", "good", "rejected"], cells);
    let operator = needed(row, "operator", "absent", cells);
    if row.text("until").is_none_or(str::is_empty) {
        let message = "An absence needs the time until which it lasts.";
        cells.findings.add(cells.at("until"), Wrong::new(FaultCode::BlankCell, message, "Write the end of the shift."));
    }
    let until = until(row, at, known, cells);
    let operator = operator?;
    let named = operator.rsplit_once('-').and_then(|(crew, number)| {
        let crew = known.crews.iter().position(|name| name == crew)?;
        Some((CrewId(crew as u32), number.parse::<u32>().ok().filter(|n| *n > 0)?))
    });
    let Some((crew, operator)) = named else {
        let help = format!("Operators are called CREW-1, CREW-2 …; the crews are {}.", {
            words::listed(known.crews.iter().map(String::as_str))
        });
        let wrong = Wrong::new(FaultCode::UnknownWord, format!("\"{operator}\" is no operator."), help);
        cells.findings.add(cells.at("operator"), wrong);
        return None;
    };
    Some(Event::Absent { crew, operator, until: until? })
}

fn printer(known: &Known<'_>, cells: &mut Cells<'_, '_>) -> Option<PrinterId> {
    let name = cells.name("printer")?;
    known.printers.names.find(&name, cells.at("printer"), cells.findings).map(PrinterId)
}

/// A cell that this kind of row cannot do without.
fn needed(row: Row<'_>, column: &'static str, word: &str, cells: &mut Cells<'_, '_>) -> Option<String> {
    if row.text(column).is_none_or(str::is_empty) {
        let message = format!("A row with the event {word} needs its {column}.");
        cells.findings.add(cells.at(column), Wrong::new(FaultCode::BlankCell, message, "Fill it in."));
        return None;
    }
    cells.optional_name(column)
}

fn until(row: Row<'_>, at: Option<Instant>, known: &Known<'_>, cells: &mut Cells<'_, '_>) -> Option<Instant> {
    let until = cells.optional_instant("until", known.clock)?;
    if at.is_some_and(|at| until <= at) {
        let message = format!("It ends {} and begins no sooner.", row.text("until").unwrap_or_default());
        let wrong = Wrong::new(FaultCode::EndBeforeStart, message, "Write a time after the row's own.");
        cells.findings.add(cells.at("until"), wrong);
        return None;
    }
    Some(until)
}

/// Cells that mean nothing on this kind of row.
fn stray(row: Row<'_>, word: &str, columns: &[&'static str], cells: &mut Cells<'_, '_>) {
    for column in columns {
        if let Some(text) = row.text(column).filter(|text| !text.is_empty()) {
            let message = format!("The event {word} has no {column}, and the cell says \"{text}\".");
            let wrong = Wrong::new(FaultCode::StrayCell, message, "Leave the cell blank, or correct the event.");
            cells.findings.add(cells.at(column), wrong);
        }
    }
}

/// A printer as the rows so far leave it.
#[derive(Default, Clone)]
struct State<'e> {
    /// The run on it and the line that put it there (none: it was there at the start, under whatever name).
    holds: Option<(Option<&'e str>, u64)>,
    /// The run just harvested, at which minute, and the parts counted: a plate of several parts has a row for each.
    cleared: Option<(&'e str, Instant, HashSet<Option<PartId>>)>,
    /// The line that took it down, and until when that one expects.
    down: Option<(u64, Option<Instant>)>,
}

/// What rows say against each other, in order of time.
fn contradictions(entries: &[Entry], known: &Known<'_>, findings: &mut Findings) {
    let mut states: Vec<State<'_>> = vec![State::default(); known.printers.list.len()];
    for running in known.running {
        states[running.printer.index()].holds = Some((None, 0));
    }
    let mut loaded: HashMap<&str, u64> = HashMap::new();
    for entry in entries {
        let wrong = match &entry.event {
            Event::Loaded { printer, run } => {
                let state = &mut states[printer.index()];
                let name = &known.printers.list[printer.index()].name;
                let wrong = match (state.holds, loaded.get(run.as_str())) {
                    (_, Some(first)) => Some(twice(run, *first)),
                    (Some((on, line)), _) => Some(still_holds(name, on, line)),
                    _ => None,
                };
                if wrong.is_none() {
                    state.holds = Some((Some(run), entry.line));
                    loaded.insert(run, entry.line);
                }
                wrong
            }
            Event::Harvested { printer, run, part, .. } => {
                let name = &known.printers.list[printer.index()].name;
                harvested(&mut states[printer.index()], name, run, entry.at, *part)
            }
            Event::Failed { printer, run } => {
                let name = &known.printers.list[printer.index()].name;
                let state = &mut states[printer.index()];
                let wrong = takes_off(state, name, run, "failed");
                if wrong.is_none() {
                    state.holds = None;
                    state.cleared = None;
                }
                wrong
            }
            Event::Down { printer, until } => {
                let state = &mut states[printer.index()];
                let name = &known.printers.list[printer.index()].name;
                match state.down.filter(|(_, until)| until.is_none_or(|until| until > entry.at)) {
                    Some((line, _)) => Some(Wrong::new(
                        FaultCode::DownTwice,
                        format!("{name} is already down by row {line}."),
                        "Delete one of the rows, or log when it came up in between.",
                    )),
                    None => {
                        state.down = Some((entry.line, *until));
                        None
                    }
                }
            }
            Event::Up { printer } => {
                let name = &known.printers.list[printer.index()].name;
                match states[printer.index()].down.take() {
                    Some(_) => None,
                    None => Some(Wrong::new(
                        FaultCode::NotDown,
                        format!("{name} comes up and no row took it down."),
                        "Add the row with which it went down, or delete this one.",
                    )),
                }
            }
            Event::Absent { .. } => None,
        };
        if let Some(wrong) = wrong {
            findings.add(super::findings::At::file(LOG.file).row(entry.line), wrong);
        }
    }
}

fn harvested<'e>(state: &mut State<'e>, name: &str, run: &'e str, at: Instant, part: Option<PartId>) -> Option<Wrong> {
    if let Some((cleared, when, parts)) = &mut state.cleared
        && *cleared == run
        && *when == at
        && state.holds.is_none()
    {
        // The same harvest, another of its parts.
        let several = part.is_some() && !parts.contains(&None);
        return (!several || !parts.insert(part)).then(|| {
            let message = format!("Run {run} is harvested twice.");
            let help = "Keep one row for each part of the plate, with the part's name.";
            Wrong::new(FaultCode::LoggedTwice, message, help)
        });
    }
    let wrong = takes_off(state, name, run, "harvested");
    if wrong.is_none() {
        state.holds = None;
        state.cleared = Some((run, at, HashSet::from([part])));
    }
    wrong
}

/// What is wrong with taking this run off this printer.
fn takes_off(state: &State<'_>, name: &str, run: &str, word: &str) -> Option<Wrong> {
    let message = match state.holds {
        Some((None, _)) => return None,
        Some((Some(on), _)) if on == run => return None,
        Some((Some(on), line)) => {
            format!("Run {run} is {word} on {name}, which holds {on} since row {line}.")
        }
        None => format!("Run {run} is {word} on {name}, and no row before loads it there."),
    };
    let help = "Correct the run, the printer or the time, or add the row that loads it.";
    Some(Wrong::new(FaultCode::NeverLoaded, message, help))
}

fn twice(run: &str, first: u64) -> Wrong {
    let message = format!("Run {run} is already loaded by row {first}.");
    Wrong::new(FaultCode::LoggedTwice, message, "A run is loaded once; give the run its own name, or delete one row.")
}

fn still_holds(name: &str, on: Option<&str>, line: u64) -> Wrong {
    let message = match on {
        Some(on) => format!("{name} still holds {on}, loaded by row {line}."),
        None => format!("{name} still holds what running.csv says was on it at the start."),
    };
    let help = "Log that one as harvested or failed first, or correct the printer or the time.";
    Wrong::new(FaultCode::StillHolds, message, help)
}
