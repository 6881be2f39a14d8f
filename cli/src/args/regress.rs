//! `regress`.

use super::{Engine, seconds};
use clap::Args as ClapArgs;
use std::path::PathBuf;
use std::time::Duration;

/// `regress`.
#[derive(Debug, ClapArgs)]
pub struct RegressArgs {
    /// Folders with saved instances, however deep: every folder with a farm.toml is one
    #[arg(value_name = "DIR", required = true)]
    pub folders: Vec<PathBuf>,

    /// Write what is reached into the expected.toml of every instance
    #[arg(long)]
    pub record: bool,

    /// How to search
    #[arg(long, value_enum, default_value_t = Engine::Auto)]
    pub engine: Engine,

    /// Stop searching after so many seconds for each instance and keep the best plan so far [default: no limit]
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub time_limit: Option<Duration>,

    /// Where the search's random choices start
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true)]
    pub seed: u64,

    /// Print one JSON object on standard output instead of the page
    #[arg(long)]
    pub json: bool,
}
