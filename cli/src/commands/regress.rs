//! `regress`: plan saved instances again and say what got better or worse since they were recorded.

use crate::args::RegressArgs;
use crate::exit::Exit;
use crate::farms::Farm;
use crate::interrupt;
use crate::objects::regressed;
use crate::progress::CountLine;
use crate::refusal::{Refusal, shown};
use crate::side_by_side::{self, Search};
use crate::voice::Voice;
use crate::whole_file;
use platewright_checker as checker;
use platewright_model::tables;
use platewright_report::regression::{self, Case, FILE, Reached, Verdict};
use platewright_solver::Answer;
use std::fs;
use std::path::{Path, PathBuf};

/// An instance with what was recorded of it.
struct Saved {
    folder: PathBuf,
    was: Option<Reached>,
}

/// Runs the command.
///
/// # Errors
/// No instance under the folders, an `expected.toml` that cannot be read, or recorded tables that cannot be used.
pub fn run(args: &RegressArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let (saved, farms) = gather(&args.folders, voice)?;
    let cases = planned(args, &saved, &farms, voice);
    if args.record {
        for (saved, case) in saved.iter().zip(&cases).filter(|(_, case)| case.verdict != Verdict::Invalid) {
            let file = saved.folder.join(FILE);
            whole_file::write(&file, case.now.text())?;
        }
    }
    if args.json {
        voice.object(&regressed::cases(&cases));
    } else {
        voice.result(&regression::page(&cases));
    }
    let failed = cases.iter().any(|case| match args.record {
        true => case.verdict == Verdict::Invalid,
        false => case.verdict.fails(),
    });
    Ok(if failed { Exit::No } else { Exit::Done })
}

/// Every instance under the folders. One whose tables cannot be used and that was never recorded is left out: it is kept
/// for being broken.
fn gather(folders: &[PathBuf], voice: &mut Voice) -> Result<(Vec<Saved>, Vec<Farm>), Refusal> {
    let (mut saved, mut farms, mut broken) = (Vec::new(), Vec::new(), 0);
    let mut found = Vec::new();
    folders.iter().try_for_each(|folder| find(folder, &mut found))?;
    found.sort();
    found.dedup();
    for folder in found {
        let name = called(&folder, folders);
        let was = recorded(&folder)?;
        match tables::read(&folder) {
            Ok(instance) => {
                farms.push(Farm { name, about: None, overlay: None, instance });
                saved.push(Saved { folder, was });
            }
            Err(faults) if was.is_some() => return Err(Refusal::tables(&folder)(faults)),
            Err(_) => broken += 1,
        }
    }
    if broken > 0 {
        voice.note(&format!("{broken} folders have tables that cannot be used and no {FILE}; they are left out"));
    }
    if farms.is_empty() {
        return Err(Refusal::Call {
            message: "there is no instance that can be planned".to_owned(),
            help: "name a folder with a farm.toml in it, or in a folder below".to_owned(),
        });
    }
    Ok((saved, farms))
}

/// The folder as seen from the one folder that was named; in full where several were, or where it is that one.
fn called(folder: &Path, named: &[PathBuf]) -> String {
    let within = named.first().filter(|_| named.len() == 1).and_then(|root| folder.strip_prefix(root).ok());
    shown(within.filter(|path| !path.as_os_str().is_empty()).unwrap_or(folder))
}

/// Folders with a `farm.toml`, however deep; what lies below one belongs to it.
fn find(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), Refusal> {
    if folder.join("farm.toml").is_file() {
        found.push(folder.to_owned());
        return Ok(());
    }
    let entries = fs::read_dir(folder).map_err(|error| Refusal::Call {
        message: format!("{} cannot be read: {error}", shown(folder)),
        help: "name a folder that holds instances".to_owned(),
    })?;
    for entry in entries.filter_map(Result::ok) {
        // A link could lead round in a circle.
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        if is_folder && !entry.file_name().to_string_lossy().starts_with('.') {
            find(&entry.path(), found)?;
        }
    }
    Ok(())
}

fn recorded(folder: &Path) -> Result<Option<Reached>, Refusal> {
    let file = folder.join(FILE);
    if !file.exists() {
        return Ok(None);
    }
    let unreadable = |why: String| Refusal::Call {
        message: format!("{} cannot be used: {why}", shown(&file)),
        help: "delete it and record the instance anew with --record".to_owned(),
    };
    let text = fs::read_to_string(&file).map_err(|error| unreadable(error.to_string()))?;
    Reached::read(&text).map(Some).map_err(unreadable)
}

fn planned(args: &RegressArgs, saved: &[Saved], farms: &[Farm], voice: &Voice) -> Vec<Case> {
    let line = CountLine::new("planning", farms.len(), voice.is_quiet());
    let search = Search {
        engine: args.searching.engine.into(),
        time_limit: args.searching.time_limit,
        seed: args.searching.seed,
        stop: interrupt::watched(),
        done: &|name| line.one_more(name),
    };
    let answers = side_by_side::alone(farms, &search);
    line.clear();
    let case = |((saved, farm), answer): ((&Saved, &Farm), Answer)| {
        let (now, holds) = match &answer {
            Answer::Plan(plan) => (Reached::plan(plan), checker::check(&farm.instance, plan).holds()),
            Answer::None { proven, .. } => (Reached::none(*proven), true),
        };
        let verdict = if holds { Verdict::of(&now, saved.was.as_ref()) } else { Verdict::Invalid };
        Case { name: farm.name.clone(), now, was: saved.was, verdict }
    };
    saved.iter().zip(farms).zip(answers).map(case).collect()
}
