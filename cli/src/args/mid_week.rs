//! The commands about what happens on the floor: `log`, `replan`, `rehearse`.

use super::seconds;
use clap::{Args as ClapArgs, ValueEnum};
use std::num::NonZero;
use std::path::PathBuf;
use std::time::Duration;

/// `log`.
#[derive(Debug, ClapArgs)]
pub struct LogArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// What happened
    #[arg(value_enum, value_name = "EVENT")]
    pub what: What,

    /// When it was over (or began, for down and absent), in the farm's time, as 2026-03-02T07:03 [default: now]
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,

    /// Where
    #[arg(long, value_name = "PRINTER")]
    pub printer: Option<String>,

    /// Which run of the plan
    #[arg(long, value_name = "RUN")]
    pub run: Option<String>,

    /// Good copies of a harvest; for a plate of several parts once for each, as hub-body=1
    #[arg(long, value_name = "[PART=]COUNT")]
    pub good: Vec<String>,

    /// Rejected copies of a harvest, likewise; what is not said follows from the plate
    #[arg(long, value_name = "[PART=]COUNT")]
    pub rejected: Vec<String>,

    /// Who is absent
    #[arg(long, value_name = "OPERATOR")]
    pub operator: Option<String>,

    /// Until when somebody is absent, or a printer is expected to be down
    #[arg(long, value_name = "TIME")]
    pub until: Option<String>,

    /// Why, or anything worth knowing
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,

    /// Print one JSON object on standard output instead of a line
    #[arg(long)]
    pub json: bool,
}

/// What can be logged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum What {
    /// A run's load is done and its plate prints
    Loaded,
    /// A run is off its printer and its copies are counted
    Harvested,
    /// A run is off its printer and gave nothing
    Failed,
    /// A printer is not to be used
    Down,
    /// A printer can be used again
    Up,
    /// An operator is not there
    Absent,
}

impl What {
    /// The word in the log.
    pub fn word(self) -> &'static str {
        match self {
            What::Loaded => "loaded",
            What::Harvested => "harvested",
            What::Failed => "failed",
            What::Down => "down",
            What::Up => "up",
            What::Absent => "absent",
        }
    }
}

/// `replan`.
#[derive(Debug, ClapArgs)]
pub struct ReplanArgs {
    /// The folder with the farm's tables and its log
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files
    #[arg(value_name = "PLAN_DIR")]
    pub plan: PathBuf,

    /// The moment from which to plan, in the farm's time, as 2026-03-03T09:30; what the log says up to it is the past
    #[arg(long, value_name = "TIME")]
    pub at: String,

    /// Where to write the new plan's files [default: PLAN_DIR]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    /// What a changed run in the coming shift must be worth, in minutes by which shipments are ready sooner
    #[arg(long, value_name = "MINUTES", default_value_t = 30)]
    pub price: u32,

    /// Keep to the old plan as far as it goes and search for no other
    #[arg(long)]
    pub keep: bool,

    /// Stop searching for another plan after so many seconds [default: after a set amount of work]
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub time_limit: Option<Duration>,

    /// First write into the log, as done, what the plan had until that moment and the log does not mention
    #[arg(long)]
    pub as_planned: bool,

    /// Print one JSON object on standard output instead of what changed in words
    #[arg(long)]
    pub json: bool,
}

/// `rehearse`.
#[derive(Debug, ClapArgs)]
pub struct RehearseArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files
    #[arg(value_name = "PLAN_DIR")]
    pub plan: PathBuf,

    /// How many times
    #[arg(long, value_name = "N", default_value_t = 1000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub times: u64,

    /// Where the dice start: the same seed gives the same figures
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true)]
    pub seed: u64,

    /// On how many processors at once [default: all]; the figures do not depend on it
    #[arg(long, value_name = "N")]
    pub threads: Option<NonZero<usize>>,

    /// Write the plan's page with what the rehearsals showed into this file
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,

    /// The chance to be in time that every shipment should have, such as 0.9; the exit code is 1 where one has less
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub target: Option<f64>,

    /// Print one JSON object on standard output instead of the findings in words
    #[arg(long)]
    pub json: bool,
}

fn share(word: &str) -> Result<f64, String> {
    let share: f64 = word.parse().map_err(|_| "write a share, such as 0.9".to_owned())?;
    if (0.0..=1.0).contains(&share) { Ok(share) } else { Err("a share is between 0 and 1, such as 0.9".to_owned()) }
}
