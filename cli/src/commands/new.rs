//! `new`: a folder of commented tables that plans as it stands, made whole or not at all.

use crate::args::NewArgs;
use crate::exit::Exit;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use std::fs;
use std::io;
use std::path::Path;

macro_rules! tables {
    ($($name:literal),* $(,)?) => {
        [$(($name, include_str!(concat!("../../templates/", $name)))),*]
    };
}

const TABLES: [(&str, &str); 11] = tables![
    "farm.toml",
    "printers.csv",
    "downtime.csv",
    "parts.csv",
    "plates.csv",
    "kits.csv",
    "shipments.csv",
    "shifts.csv",
    "closures.csv",
    "stock.csv",
    "running.csv",
];

/// Runs the command.
///
/// # Errors
/// The folder holds something already, or cannot be made.
pub fn run(args: &NewArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let folder = &args.folder;
    if fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(Refusal::Call {
            message: format!("{} holds something already", shown(folder)),
            help: "name a folder that does not exist yet, or an empty one".to_owned(),
        });
    }
    make(folder).map_err(|error| Refusal::Call {
        message: format!("{} cannot be made: {error}", shown(folder)),
        help: "name a folder where you may write".to_owned(),
    })?;
    voice.result(&told(folder));
    Ok(Exit::Done)
}

/// Writes all tables into a hidden folder first, on the same disk, and then only renames.
pub(super) fn make(folder: &Path) -> io::Result<()> {
    let is_new = !folder.exists();
    fs::create_dir_all(folder)?;
    fill(folder).inspect_err(|_| {
        // The failure itself is what the user needs to hear of.
        TABLES.iter().for_each(|(name, _)| drop(fs::remove_file(folder.join(name))));
        if is_new {
            drop(fs::remove_dir(folder));
        }
    })
}

fn fill(folder: &Path) -> io::Result<()> {
    let filled = tempfile::Builder::new().prefix(".platewright-new-").tempdir_in(folder)?;
    for (name, text) in TABLES {
        fs::write(filled.path().join(name), text)?;
    }
    for (name, _) in TABLES {
        fs::rename(filled.path().join(name), folder.join(name))?;
    }
    filled.close()
}

fn told(folder: &Path) -> String {
    let folder = shown(folder);
    format!(
        "{folder} now holds the tables of a small farm, each with comments that say what goes where.\n\
         \n\
         Plan it as it stands:\n    platewright plan {folder}\n\
         \n\
         Then make it yours: farm.toml first, printers.csv and shifts.csv, then parts,\n\
         plates and kits, and last what is to be shipped. Mistakes in the tables are all\n\
         listed at once, with file, row and column.\n"
    )
}
