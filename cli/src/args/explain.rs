//! `explain`.

use super::Searching;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `explain`.
#[derive(Debug, ClapArgs)]
pub struct ExplainArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files [default: DIR/plan; without one the farm is planned first]
    #[arg(value_name = "PLAN_DIR")]
    pub plan: Option<PathBuf>,

    /// Say why, and leave out what one more of anything would gain, which takes a plan for each
    #[arg(long)]
    pub only_why: bool,

    /// Where to keep the plans behind the gains [default: DIR/explain]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    #[command(flatten)]
    pub searching: Searching,

    /// Print one JSON object on standard output instead of the explanation in words
    #[arg(long)]
    pub json: bool,
}
