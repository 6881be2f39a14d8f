//! `compare`.

use super::Searching;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `compare`.
#[derive(Debug, ClapArgs)]
#[command(mut_arg("time_limit", |limit| {
    limit.help("Stop searching after so many seconds for each scenario and keep the best plan so far [default: no limit]")
}))]
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

    #[command(flatten)]
    pub searching: Searching,

    /// Print one JSON object on standard output instead of the page
    #[arg(long)]
    pub json: bool,
}
