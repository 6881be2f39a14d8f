//! `compare`: plan the tables as they stand and under each scenario, keep every plan, and set them side by side.

use crate::args::CompareArgs;
use crate::asking::Kept;
use crate::exit::Exit;
use crate::farms::{self, Farm};
use crate::interrupt;
use crate::objects::compared;
use crate::out_folder;
use crate::progress::CountLine;
use crate::refusal::{Refusal, shown};
use crate::side_by_side::{self, Search};
use crate::voice::Voice;
use crate::whole_file;
use platewright_model::overlay::Overlay;
use platewright_report::comparison::{self, Comparison, Entry};
use platewright_report::html::plan::{Extras, compared as side_by_side_piece, page};
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// Unusable tables or scenarios, an out folder that cannot be written, or a plan that the checker refuses.
pub fn run(args: &CompareArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    if let Some(file) = &args.html {
        whole_file::approve(file, whole_file::PAGE)?;
    }
    let farms = farms::with_scenarios(&args.folder, &args.scenario).map_err(Refusal::tables(&args.folder))?;
    let out = args.out.clone().unwrap_or_else(|| args.folder.join("compare"));
    farms.iter().try_for_each(|farm| out_folder::approve(&args.folder, &out.join(&farm.name)))?;

    let overlays: Vec<Option<Overlay>> = farms.iter().map(|farm| farm.overlay.clone()).collect();
    let comparison = Comparison::new(planned(args, farms, voice));
    for (entry, overlay) in comparison.entries.iter().zip(&overlays) {
        let Ok(plan) = &entry.outcome else { continue };
        let about = entry.about.as_deref().unwrap_or(&entry.name);
        let kept = Kept { instance: &entry.instance, plan, overlays: overlay.as_slice(), about, others: Vec::new() };
        kept.write(&out.join(&entry.name))?;
    }
    if let Some(file) = &args.csv {
        let text = comparison::csv(&comparison).map_err(|error| whole_file::not_written(file, &error.into()))?;
        whole_file::write(file, text)?;
    }
    if let Some(file) = &args.html {
        write_page(file, &comparison)?;
    }
    if args.json {
        voice.object(&compared::comparison(&comparison));
    } else {
        voice.result(&comparison::page(&comparison));
    }
    let any = comparison.figures.iter().any(Option::is_some);
    if any {
        voice.note(&format!("the plans are in {}, each in a folder named as its scenario", shown(&out)));
    }
    Ok(if any { Exit::Done } else { Exit::NoPlan })
}

/// The page of the first scenario that has a plan, with all of them side by side.
fn write_page(file: &Path, comparison: &Comparison) -> Result<(), Refusal> {
    let planned = comparison.entries.iter().find_map(|entry| Some((entry, entry.outcome.as_ref().ok()?)));
    let Some((entry, plan)) = planned else { return Ok(()) };
    let mut extras = Extras::of(&entry.instance, plan);
    extras.additions.push(side_by_side_piece(comparison));
    whole_file::write(file, page(&entry.instance, plan, &extras))
}

fn planned(args: &CompareArgs, farms: Vec<Farm>, voice: &Voice) -> Vec<Entry> {
    let line = CountLine::new("planning", farms.len(), voice.is_quiet());
    let search = Search {
        engine: args.searching.engine.into(),
        time_limit: args.searching.time_limit,
        seed: args.searching.seed,
        stop: interrupt::watched(),
        done: &|name| line.one_more(name),
    };
    let entries = side_by_side::plan(farms, &search);
    line.clear();
    entries
}
