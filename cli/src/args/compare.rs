//! `compare`.

use super::{Engine, seconds};
use clap::Args as ClapArgs;
use std::path::PathBuf;
use std::time::Duration;

/// `compare`.
#[derive(Debug, ClapArgs)]
pub struct CompareArgs {
    /// The folder with the farm's tables and its scenarios, files in `scenarios/`
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Compare this scenario; may be given several times [default: all that the folder has]
    #[arg(long, value_name = "NAME")]
    pub scenario: Vec<String>,

    /// Where to keep the plans, each in a folder named as its scenario [default: DIR/compare]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    /// Write the comparison as a table for a spreadsheet
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,

    /// Write the page of the first plan, with the scenarios side by side, into this file
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,

    /// How to search
    #[arg(long, value_enum, default_value_t = Engine::Auto)]
    pub engine: Engine,

    /// Stop searching after so many seconds for each scenario and keep the best plan so far [default: no limit]
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub time_limit: Option<Duration>,

    /// Where the search's random choices start: the same seed gives the same plans
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true)]
    pub seed: u64,

    /// Print one JSON object on standard output instead of the page
    #[arg(long)]
    pub json: bool,
}
