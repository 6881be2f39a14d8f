//! What ends a command before it has an answer.

use crate::exit::Exit;
use crate::objects::unusable;
use crate::voice::Voice;
use platewright_checker::Breach;
use platewright_exchange::tables_workbook::SheetFaults;
use platewright_model::Faults;
use platewright_report::page::plain;
use std::path::{Path, PathBuf};

/// So many breaches are told where they are not what was asked for.
const SOME: usize = 5;

/// Why a command ends early.
#[derive(Debug)]
pub enum Refusal {
    /// The tables of a folder cannot be used.
    Tables {
        /// Which folder.
        folder: PathBuf,
        /// Everything wrong with it.
        faults: Faults,
    },
    /// A workbook cannot be used.
    Workbook {
        /// Which file.
        file: PathBuf,
        /// Everything wrong with it.
        faults: SheetFaults,
    },
    /// What was asked for cannot be done.
    Call {
        /// What is wrong.
        message: String,
        /// What to do.
        help: String,
    },
    /// What was asked for is made of plans that hold, and this one breaks rules.
    PlanBroken {
        /// The plan's folder.
        folder: PathBuf,
        /// What it breaks.
        breaches: Vec<Breach>,
    },
    /// The planner made a plan that the checker refuses: a mistake in the program, not in the tables.
    NotBelieved(Vec<Breach>),
}

impl Refusal {
    /// The tables of this folder cannot be used.
    pub fn tables(folder: &Path) -> impl FnOnce(Faults) -> Refusal {
        let folder = folder.to_owned();
        |faults| Refusal::Tables { folder, faults }
    }

    /// Says why, and how the command ends.
    pub fn tell(&self, voice: &mut Voice, json: bool) -> Exit {
        match self {
            Refusal::Tables { folder, faults } => {
                let count = faults.0.len();
                let faults_found = if count == 1 { "1 fault".to_owned() } else { format!("{count} faults") };
                voice.error(&format!("{} cannot be used: {faults_found}", shown(folder)));
                voice.message(&format!("\n{faults}\n"));
                if json {
                    voice.object(&unusable::of_tables(faults));
                }
                Exit::Unusable
            }
            Refusal::Workbook { file, faults } => {
                let count = faults.0.len();
                let faults_found = if count == 1 { "1 fault".to_owned() } else { format!("{count} faults") };
                voice.error(&format!("{} cannot be used: {faults_found}", shown(file)));
                voice.message(&format!("\n{faults}\n"));
                Exit::Unusable
            }
            Refusal::Call { message, help } => {
                voice.error(message);
                voice.hint(help);
                if json {
                    voice.object(&unusable::of_call_with_help(message, help));
                }
                Exit::Unusable
            }
            Refusal::PlanBroken { folder, breaches } => {
                let message = format!("the plan in {} breaks rules, so nothing is made of it", shown(folder));
                voice.error(&message);
                let first = breaches.iter().take(SOME);
                first.for_each(|breach| voice.message(&format!("    {}\n", plain(&breach.to_string()))));
                if breaches.len() > SOME {
                    voice.message(&format!("    and {} more\n", breaches.len() - SOME));
                }
                voice.hint("see `platewright check` for all of it, and plan again where the tables have changed");
                if json {
                    voice.object(&unusable::broken(&message, breaches));
                }
                Exit::No
            }
            Refusal::NotBelieved(breaches) => {
                let message = "the planner made a plan that the checker refuses, so nothing was written; this is a \
                               mistake in platewright, not in the tables";
                voice.error(message);
                breaches.iter().for_each(|breach| voice.message(&format!("    {}\n", plain(&breach.to_string()))));
                voice.hint("report it with the folder of tables; `--engine quick` may make a plan meanwhile");
                if json {
                    voice.object(&unusable::not_believed(message, breaches));
                }
                Exit::NoPlan
            }
        }
    }
}

/// A path as a message shows it.
pub fn shown(path: &Path) -> String {
    plain(&path.display().to_string())
}
