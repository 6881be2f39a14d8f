//! What can be asked of `export` and `import`.

use clap::{ArgGroup, Args as ClapArgs};
use std::path::PathBuf;

/// `export`.
#[derive(Debug, ClapArgs)]
#[command(group = ArgGroup::new("what").args(["calendar", "plan_workbook", "workbook", "mps"]).required(true).multiple(true))]
pub struct ExportArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files, for what is made of a plan [default: DIR/plan]
    #[arg(value_name = "PLAN_DIR")]
    pub plan: Option<PathBuf>,

    /// Write the plan's shifts with their loads, and the shipments, as a calendar (.ics)
    #[arg(long, value_name = "FILE")]
    pub calendar: Option<PathBuf>,

    /// Write the plan as a workbook (.xlsx): runs, tasks, shipments, parts, bags and boxes, hours with a chart
    #[arg(long, value_name = "FILE")]
    pub plan_workbook: Option<PathBuf>,

    /// Write the tables as a workbook (.xlsx), to be filled in and read back with `import`
    #[arg(long, value_name = "FILE")]
    pub workbook: Option<PathBuf>,

    /// Write the tables as a mixed-integer model (.mps) that other solvers read; its optimum is a bound on every plan
    #[arg(long, value_name = "FILE")]
    pub mps: Option<PathBuf>,

    /// Minutes in a slot of the model: the fewer, the larger and the tighter; with 1 it is exact [default: 30]
    #[arg(long, value_name = "MINUTES", requires = "mps", value_parser = clap::value_parser!(u16).range(1..=1440))]
    pub slot: Option<u16>,
}

/// `import`.
#[derive(Debug, ClapArgs)]
pub struct ImportArgs {
    /// The workbook, with a sheet for each table as `export --workbook` writes it
    #[arg(value_name = "FILE")]
    pub workbook: PathBuf,

    /// The folder to make; it must not exist yet, or be empty
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Write over the tables that are in the folder, leaving everything else there alone
    #[arg(long)]
    pub replace: bool,
}
