//! How to search, for commands that plan more than once.

use super::{Engine, seconds};
use clap::Args as ClapArgs;
use std::time::Duration;

/// The options that say how to search.
#[derive(Debug, ClapArgs)]
pub struct Searching {
    /// How to search
    #[arg(long, value_enum, default_value_t = Engine::Auto)]
    pub engine: Engine,

    /// Stop searching after so many seconds in all and answer from what was found [default: no limit]
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub time_limit: Option<Duration>,

    /// Where the search's random choices start: the same seed gives the same answer
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true)]
    pub seed: u64,
}
