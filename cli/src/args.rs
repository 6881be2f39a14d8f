//! What can be asked on the command line.

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use platewright_model::plan;
use platewright_solver as solver;
use std::num::NonZero;
use std::path::PathBuf;
use std::time::Duration;

/// Plans a print farm: which plate runs on which printer when, who loads and harvests it, when each shipment is ready,
/// and how far that is from the best possible.
#[derive(Debug, Parser)]
#[command(
    name = "platewright",
    version,
    max_term_width = 100,
    after_help = "Start with `platewright new my-farm`, then `platewright plan my-farm`.",
    after_long_help = "Start with `platewright new my-farm`, then `platewright plan my-farm`.\n\n\
        Exit codes: 0 done; 1 the answer is no (a rule is broken); 2 the input or the call is unusable; 3 no plan \
        exists, or none was found in the limit."
)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// Say nothing but errors (and the object of --json)
    #[arg(long, short, global = true, display_order = 900)]
    pub quiet: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a folder of tables that plans as it stands, to be filled in with a farm of one's own
    New(NewArgs),
    /// Plan the work of a folder of tables and write the plan
    Plan(PlanArgs),
    /// Check a plan against the tables it was made for, rule by rule
    Check(CheckArgs),
    /// Write down what happened on the floor: a run loaded, harvested or failed, a printer down or up, somebody absent
    Log(LogArgs),
    /// Plan the rest of the week anew from what the log says, keeping what the crew already knows
    Replan(ReplanArgs),
    /// Live through a plan many times, with failures, rejects and delays, and see how its dates hold
    Rehearse(RehearseArgs),
}

/// `new`.
#[derive(Debug, ClapArgs)]
pub struct NewArgs {
    /// The folder to make; it must not exist yet, or be empty
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

/// `plan`.
#[derive(Debug, ClapArgs)]
pub struct PlanArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Where to write the plan's files [default: DIR/plan]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    /// What counts after lateness past due dates, which always counts first
    #[arg(long, value_enum, default_value_t = Objective::Soonest)]
    pub objective: Objective,

    /// How to search
    #[arg(long, value_enum, default_value_t = Engine::Auto)]
    pub engine: Engine,

    /// Stop searching after so many seconds and keep the best plan so far [default: no limit]
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true)]
    pub time_limit: Option<Duration>,

    /// Where the search's random choices start: the same seed gives the same plan
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true)]
    pub seed: u64,

    /// Print one JSON object on standard output instead of the summary
    #[arg(long)]
    pub json: bool,
}

/// `check`.
#[derive(Debug, ClapArgs)]
pub struct CheckArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files
    #[arg(value_name = "PLAN_DIR")]
    pub plan: PathBuf,

    /// Print one JSON object on standard output instead of the findings in words
    #[arg(long)]
    pub json: bool,
}

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

    /// Stop searching for another plan after so many seconds
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_negative_numbers = true, default_value = "20")]
    pub time_limit: Duration,

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

    /// The chance to be in time that every shipment should have, such as 0.9; the exit code is 1 where one has less
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub target: Option<f64>,

    /// Print one JSON object on standard output instead of the findings in words
    #[arg(long)]
    pub json: bool,
}

/// What is minimised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Objective {
    /// The last shipment is ready as soon as can be
    Soonest,
    /// The printers stand idle as little as can be
    LeastIdle,
}

impl From<Objective> for plan::Objective {
    fn from(objective: Objective) -> plan::Objective {
        match objective {
            Objective::Soonest => plan::Objective::Soonest,
            Objective::LeastIdle => plan::Objective::LeastIdle,
        }
    }
}

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Engine {
    /// Exact, with the quick plan where that is better or all there is
    Auto,
    /// A proven bound, and a plan close to it
    Exact,
    /// A plan at once, by living through the minutes; no bound to speak of
    Quick,
}

impl From<Engine> for solver::EngineChoice {
    fn from(engine: Engine) -> solver::EngineChoice {
        match engine {
            Engine::Auto => solver::EngineChoice::Auto,
            Engine::Exact => solver::EngineChoice::Exact,
            Engine::Quick => solver::EngineChoice::Quick,
        }
    }
}

fn share(word: &str) -> Result<f64, String> {
    let share: f64 = word.parse().map_err(|_| "write a share, such as 0.9".to_owned())?;
    if (0.0..=1.0).contains(&share) { Ok(share) } else { Err("a share is between 0 and 1, such as 0.9".to_owned()) }
}

fn seconds(word: &str) -> Result<Duration, String> {
    let seconds: f64 = word.parse().map_err(|_| "write a number of seconds, such as 30".to_owned())?;
    if seconds <= 0.0 {
        return Err("the limit must be more than 0 seconds".to_owned());
    }
    Duration::try_from_secs_f64(seconds).map_err(|_| "write a number of seconds, such as 30".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definitions_are_consistent() {
        Args::command().debug_assert();
    }

    #[test]
    fn a_time_limit_is_a_positive_number_of_seconds() {
        assert_eq!(seconds("1.5"), Ok(Duration::from_millis(1500)));
        for word in ["0", "-3", "soon", "", "nan", "inf", "1e300"] {
            assert!(seconds(word).is_err(), "{word}");
        }
    }

    #[test]
    fn the_words_are_those_of_the_files() {
        for objective in Objective::value_variants() {
            let word = objective.to_possible_value().map(|v| v.get_name().to_owned());
            assert_eq!(word.as_deref(), Some(plan::Objective::from(*objective).word()));
        }
    }
}
