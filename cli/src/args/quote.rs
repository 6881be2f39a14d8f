//! `quote`.

use super::Searching;
use clap::{ArgGroup, Args as ClapArgs};
use std::path::PathBuf;

/// `quote`.
#[derive(Debug, ClapArgs)]
#[command(group = ArgGroup::new("order").required(true).args(["add", "kit"]))]
pub struct QuoteArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The order as a table like shipments.csv: one shipment, a row for each kit
    #[arg(long, value_name = "FILE", conflicts_with_all = ["quantity", "per_box", "name"])]
    pub add: Option<PathBuf>,

    /// The kit that is asked for
    #[arg(long, value_name = "NAME", requires = "quantity")]
    pub kit: Option<String>,

    /// How many of it
    #[arg(long, value_name = "N", requires = "kit")]
    pub quantity: Option<String>,

    /// Kits in a box; left out, nothing is packed
    #[arg(long, value_name = "N", requires = "kit")]
    pub per_box: Option<String>,

    /// What to call the shipment [default: order]
    #[arg(long, value_name = "NAME", requires = "kit")]
    pub name: Option<String>,

    /// The wished date, such as 2026-03-09T18:00 in the farm's zone; it stands in for the one in FILE
    #[arg(long, value_name = "TIME")]
    pub due: Option<String>,

    /// Grams on a spool, for counting spools
    #[arg(long, value_name = "GRAMS", default_value_t = 1000, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub spool: u32,

    /// Where to keep the plans behind the answer [default: DIR/quote]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    #[command(flatten)]
    pub searching: Searching,

    /// Print one JSON object on standard output instead of the answer in words
    #[arg(long)]
    pub json: bool,
}
