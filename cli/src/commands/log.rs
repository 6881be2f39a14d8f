//! `log`: append what happened on the floor to the folder's log, all of it or nothing.

use crate::args::{LogArgs, What};
use crate::exit::Exit;
use crate::objects::logged;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_model::log_file::{self, NewRow, NotAppended};
use platewright_model::{Clock, Instance, Instant, tables};

/// Runs the command.
///
/// # Errors
/// The tables or the log, with the new row in it, cannot be used; or the log cannot be written.
pub fn run(args: &LogArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    let time = match &args.at {
        Some(at) => at.clone(),
        None => wall(instance.farm.clock, Instant(chrono::Utc::now().timestamp().div_euclid(60))),
    };
    let rows = rows(args, &time)?;
    let after = log_file::append(&args.folder, &rows).map_err(|not| match not {
        NotAppended::Faults(faults) => Refusal::tables(&args.folder)(faults),
        NotAppended::System(error) => Refusal::Call {
            message: format!("the log of {} cannot be written: {error}", shown(&args.folder)),
            help: "make room, or make the folder writable; the log is as it was".to_owned(),
        },
    })?;
    if args.json {
        voice.object(&logged::logged(&rows, after.log.len()));
    } else {
        voice.result(&told(args, &time, rows.len()));
    }
    if args.what == What::Down
        && let Some(run) = held(&after, args.printer.as_deref().unwrap_or_default())
    {
        voice.note(&format!("{run} is still on the printer; if its plate is lost, log it as failed"));
    }
    Ok(Exit::Done)
}

/// A minute as the tables write it.
pub fn wall(clock: Clock, at: Instant) -> String {
    clock.stamp(at).format("%Y-%m-%dT%H:%M").to_string()
}

/// The rows of a call: one, but for the harvest of a plate of several parts.
fn rows(args: &LogArgs, time: &str) -> Result<Vec<NewRow>, Refusal> {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let row = NewRow {
        time: time.to_owned(),
        event: args.what.word().to_owned(),
        printer: text(&args.printer),
        run: text(&args.run),
        operator: text(&args.operator),
        until: text(&args.until),
        note: text(&args.note),
        ..NewRow::default()
    };
    let mut rows: Vec<NewRow> = Vec::new();
    let mut count = |said: &str, good: bool| {
        let (part, number) = said.rsplit_once('=').unwrap_or(("", said));
        let at = rows.iter().position(|row| row.part == part).unwrap_or_else(|| {
            rows.push(NewRow { part: part.to_owned(), ..row.clone() });
            rows.len() - 1
        });
        let cell = if good { &mut rows[at].good } else { &mut rows[at].rejected };
        if !cell.is_empty() {
            return Err(twice(said));
        }
        number.clone_into(cell);
        Ok(())
    };
    args.good.iter().try_for_each(|said| count(said, true))?;
    args.rejected.iter().try_for_each(|said| count(said, false))?;
    if rows.is_empty() {
        rows.push(row);
    }
    Ok(rows)
}

fn twice(said: &str) -> Refusal {
    Refusal::Call {
        message: format!("{said} counts a part that is counted already"),
        help: "count each part once: --good hub-body=1 --good hub-lid=1".to_owned(),
    }
}

fn held<'i>(instance: &'i Instance, printer: &str) -> Option<&'i str> {
    use platewright_model::log::Event;
    let id = instance.printers.iter().position(|p| p.name == printer)?;
    let mut holds = None;
    for entry in &instance.log {
        match &entry.event {
            Event::Loaded { printer, run } if printer.index() == id => holds = Some(run.as_str()),
            Event::Harvested { printer, .. } | Event::Failed { printer, .. } if printer.index() == id => holds = None,
            _ => {}
        }
    }
    holds
}

fn told(args: &LogArgs, time: &str, rows: usize) -> String {
    let about = [&args.run, &args.printer, &args.operator].into_iter().flatten().cloned().collect::<Vec<_>>();
    let rows = if rows == 1 { String::new() } else { format!(" ({rows} rows)") };
    format!("Logged {time}: {} {}{rows}\n", about.join(" on "), args.what.word())
}
