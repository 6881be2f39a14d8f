//! What can be asked on the command line.

mod compare;
mod explain;
mod mid_week;
mod plates;
mod quote;
mod regress;
mod searching;

pub use compare::CompareArgs;
pub use explain::ExplainArgs;
pub use mid_week::{LogArgs, RehearseArgs, ReplanArgs, What};
pub use plates::PlatesArgs;
pub use quote::QuoteArgs;
pub use regress::RegressArgs;
pub use searching::Searching;

use crate::exchange_args::{ExportArgs, ImportArgs};
use crate::floor_args::{LabelsArgs, LedgerArgs, PackingArgs, SheetsArgs};
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
    /// Say when an order could be ready, and what it would take to have it by a wished date
    Quote(QuoteArgs),
    /// Say why a plan ends when it does, and what one more of anything would gain
    Explain(ExplainArgs),
    /// Show which other plates of a part are worth cutting, and choose among them by planning
    Plates(PlatesArgs),
    /// Set scenarios side by side: what each promises, takes and costs
    Compare(CompareArgs),
    /// Plan saved instances again and say what got better or worse
    Regress(RegressArgs),
    /// Write a plan or the tables for other programs: a calendar, workbooks, a model for other solvers
    Export(ExportArgs),
    /// Make a folder of tables from a workbook
    Import(ImportArgs),
    /// Make the plan's page for a browser: printers, parts, hours, crew and the coming shift
    Report(ReportArgs),
    /// Print a crew's sheet for a shift: rounds, boxes, what to leave on, what to hand over
    Sheets(SheetsArgs),
    /// Say which runs fill which bag, tray and box, and trace lots both ways
    Ledger(LedgerArgs),
    /// Print a packing list for each shipment
    Packing(PackingArgs),
    /// Make a page of labels for bags, trays and boxes
    Labels(LabelsArgs),
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
#[command(mut_arg("time_limit", |limit| {
    limit.help("Stop searching after so many seconds and keep the best plan so far [default: no limit]")
}))]
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

    #[command(flatten)]
    pub searching: Searching,

    /// Search on so many threads at once; the plan is the same on any number [default: two]
    #[arg(long, value_name = "N")]
    pub threads: Option<NonZero<usize>>,

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

    /// The scenario that the plan was made under, a file in `scenarios/`
    #[arg(long, value_name = "NAME")]
    pub scenario: Option<String>,

    /// Print one JSON object on standard output instead of the findings in words
    #[arg(long)]
    pub json: bool,
}

/// `report`.
#[derive(Debug, ClapArgs)]
pub struct ReportArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files
    #[arg(value_name = "PLAN_DIR")]
    pub plan: PathBuf,

    /// Where to write the page [default: PLAN_DIR/report.html]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
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
