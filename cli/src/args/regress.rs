//! `regress`.

use super::Searching;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `regress`.
#[derive(Debug, ClapArgs)]
#[command(mut_arg("time_limit", |limit| {
    limit.help("Stop searching after so many seconds for each instance and keep the best plan so far [default: no limit]")
}))]
pub struct RegressArgs {
    /// Folders with saved instances, however deep: every folder with a farm.toml is one
    #[arg(value_name = "DIR", required = true)]
    pub folders: Vec<PathBuf>,

    /// Write what is reached into the expected.toml of every instance
    #[arg(long)]
    pub record: bool,

    #[command(flatten)]
    pub searching: Searching,

    /// Print one JSON object on standard output instead of the page
    #[arg(long)]
    pub json: bool,
}
