//! `sheets`: what a crew does in its shift, on a terminal or on a page to print.

use crate::checked_plan;
use crate::commands::ledger;
use crate::exit::Exit;
use crate::floor_args::SheetsArgs;
use crate::objects::sheets as object;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_model::{Instance, Plan};
use platewright_report::sheet::shift::{self, Asked, CrewShift};
use platewright_report::sheet::{self, Sheet, html, text};

/// Runs the command.
///
/// # Errors
/// Unusable tables or plan, a shift that there is not, or a page that cannot be written.
pub fn run(args: &SheetsArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    args.html.iter().try_for_each(|file| whole_file::approve(file, whole_file::PAGE))?;
    let (instance, plan) = checked_plan::read(&args.of.folder, &args.of.plan)?;
    let ledger = ledger::of(&instance, &plan)?;
    let shifts = match &args.shift {
        Some(words) => vec![find(&instance, &plan, words)?],
        None => shift::shifts(&instance, &plan),
    };
    let sheets: Vec<Sheet> = shifts.iter().map(|shift| sheet::sheet(&instance, &plan, &ledger, shift)).collect();
    let sheets: Vec<Sheet> = match &args.shift {
        Some(_) => sheets,
        None => sheets.into_iter().filter(|sheet| !sheet.is_idle()).collect(),
    };
    match &args.html {
        Some(file) => {
            whole_file::write(file, html::page(&instance, &ledger, &sheets, args.paper.map(Into::into)))?;
            let told: Vec<String> =
                sheets.iter().map(|s| format!("{}: {}\n", text::title(&instance, s), text::amount(s))).collect();
            if !args.json {
                voice.result(&told.concat());
            }
            voice.note(&format!("the page is {}; print it from a browser", shown(file)));
        }
        None if args.json => {}
        None => {
            let told: Vec<String> = sheets.iter().map(|sheet| text::text(&instance, &ledger, sheet)).collect();
            voice.result(&told.join("\n\n"));
        }
    }
    if args.json {
        voice.object(&object::of(&instance, &ledger, &sheets));
    }
    Ok(Exit::Done)
}

/// The shift of `DATE/CREW`.
///
/// # Errors
/// The words say no shift of this plan.
pub fn find(instance: &Instance, plan: &Plan, words: &str) -> Result<CrewShift, Refusal> {
    let all = shift::shifts(instance, plan);
    let crews = instance.crews.join(", ");
    let name = |shift: &CrewShift| {
        format!("{}/{}", shift.date, instance.crews.get(shift.crew.index()).map_or("", String::as_str))
    };
    let (message, help) = match shift::find(instance, plan, words) {
        Asked::Found(shift) => return Ok(shift),
        Asked::NotAShift => {
            let example = all.first().map_or_else(|| "2026-03-02/early".to_owned(), name);
            (
                format!("{words} is no shift"),
                format!("write the date on which it begins and the crew, such as {example}"),
            )
        }
        Asked::NoSuchCrew(crew) => (format!("there is no crew {crew}"), format!("the crews are {crews}")),
        Asked::NotOn(date, crew) => {
            let dates: Vec<String> =
                all.iter().filter(|shift| shift.crew == crew).map(|shift| shift.date.to_string()).collect();
            let crew = instance.crews.get(crew.index()).map_or("", String::as_str);
            let help = match dates.len() {
                0 => "the plan ends before its first shift".to_owned(),
                _ => format!("until the plan ends it has shifts on {}", dates.join(", ")),
            };
            (format!("no shift of {crew} begins on {date}"), help)
        }
    };
    Err(Refusal::Call { message, help })
}
