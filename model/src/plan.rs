//! The plan: runs, the crew's tasks, who gets which parts, and what the plan says of itself.
//!
//! A plan speaks in names, not indices, because it is read back from files that anybody may have edited: the checker
//! resolves every name itself and says which one it does not know.

use crate::units::{Count, Instant, Minutes, WeightedMinutes};
use serde::{Deserialize, Serialize};

/// The format number written into `plan.json`; raised when a reader of the old files would misread the new.
pub const PLAN_FORMAT: u32 = 1;

/// A complete plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Digest of the instance it was made for ([`crate::Instance::digest`]).
    pub instance_digest: String,
    /// What was minimised.
    pub objective: Objective,
    /// For a plan made in mid-week, the moment from which it plans: what it has before is what the log says.
    pub since: Option<Instant>,
    /// Runs, in order of load start (running ones first), then printer.
    pub runs: Vec<Run>,
    /// The crew's work in order of start, then operator.
    pub tasks: Vec<Task>,
    /// Which source gives how many of a part to which shipment.
    pub allocation: Vec<Allocation>,
    /// One row per shipment, in the instance's order.
    pub shipments: Vec<ShipmentPlan>,
    /// What the plan states of itself.
    pub claims: Claims,
    /// For a plan made in mid-week, bags, trays and boxes that were begun by then and have their labels.
    pub labelled: Labelled,
}

/// Bags, trays and boxes whose labels are on them: a plan made anew leaves them their numbers.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Labelled {
    /// Bags and trays, with what was in them.
    pub lots: Vec<LabelledLot>,
    /// Boxes that were packed.
    pub boxes: Vec<LabelledBox>,
}

impl Labelled {
    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.lots.is_empty() && self.boxes.is_empty()
    }
}

/// A bag or tray.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelledLot {
    /// Its number, as on its label.
    pub number: String,
    /// The part's name.
    pub part: String,
    /// What was in it.
    pub pieces: Vec<LabelledPieces>,
}

/// Pieces in a bag or tray.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelledPieces {
    /// The run's name, or `stock`.
    pub source: String,
    /// The shipment that they are for; none: for the shelf.
    pub shipment: Option<String>,
    /// How many.
    pub count: u64,
}

/// A box.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LabelledBox {
    /// Its number, as on its label.
    pub number: String,
    /// The shipment's name.
    pub shipment: String,
    /// The kit's name.
    pub kit: String,
    /// The how manieth box of its row, from 1.
    pub place: u64,
}

/// What is minimised; each starts with the weighted lateness past due dates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Objective {
    /// Then the makespan, the sum of ready times, the number of runs.
    #[default]
    Soonest,
    /// Then the idle printer minutes.
    LeastIdle,
}

impl Objective {
    /// The word used on the command line and in files.
    pub fn word(self) -> &'static str {
        match self {
            Objective::Soonest => "soonest",
            Objective::LeastIdle => "least-idle",
        }
    }

    /// The objective of a word, if it is one.
    pub fn from_word(word: &str) -> Option<Objective> {
        [Objective::Soonest, Objective::LeastIdle].into_iter().find(|o| o.word() == word)
    }
}

/// One execution of a plate on one printer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Unique name, `R0001` and so on; never `stock`.
    pub run: String,
    /// The printer's name.
    pub printer: String,
    /// The plate's name.
    pub plate: String,
    /// The load; none for a run from `running.csv`.
    pub load: Option<Load>,
    /// Printed and cooled.
    pub ready: Instant,
    /// Harvest start.
    pub harvest_from: Instant,
    /// Harvest end; parts are usable from here, plus their finish minutes.
    pub harvest_to: Instant,
    /// The operator who harvests.
    pub harvester: String,
}

/// The load of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Load {
    /// Load start, changeover included.
    pub from: Instant,
    /// Load end and print start.
    pub print_from: Instant,
    /// The operator who loads.
    pub loader: String,
}

/// One stretch of one operator's work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// `CREW-1` … `CREW-n`.
    pub operator: String,
    /// What is done.
    pub work: Work,
    /// Start.
    pub from: Instant,
    /// End.
    pub to: Instant,
}

/// What a task is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Work {
    /// Load a run, with its changeover.
    Load {
        /// The run's name.
        run: String,
        /// The printer's name.
        printer: String,
    },
    /// Harvest a run.
    Harvest {
        /// The run's name.
        run: String,
        /// The printer's name.
        printer: String,
    },
    /// Pack one box.
    Pack {
        /// The shipment's name.
        shipment: String,
        /// The kit's name: together they name the shipment's row.
        kit: String,
    },
}

/// A row of `allocation.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Allocation {
    /// A run, or stock.
    pub source: Source,
    /// The part's name.
    pub part: String,
    /// The shipment's name.
    pub shipment: String,
    /// How many copies go into the shipment; 0 only where the row has spares.
    pub count: Count,
    /// How many more are kept for it, in case others fail or are rejected. They are surplus if nothing does.
    pub spare: Count,
}

/// Where parts come from.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Source {
    /// `stock.csv`.
    Stock,
    /// The named run.
    Run(String),
}

impl Source {
    /// The word for stock where a run's name may stand; runs are never called so.
    pub const STOCK: &str = "stock";

    /// As in the plan's `allocation.csv`: the run's name, or `stock`.
    pub fn name(&self) -> &str {
        match self {
            Source::Stock => Source::STOCK,
            Source::Run(run) => run,
        }
    }
}

/// A row of the plan's `shipments.csv`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShipmentPlan {
    /// The shipment's name.
    pub shipment: String,
    /// When its parts are usable and its boxes are packed.
    pub ready: Instant,
    /// The due date, if it has one.
    pub due: Option<Instant>,
    /// How late, unweighted; 0 where it is in time or has no due date.
    pub late: Minutes,
}

/// What is known of how good the plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Bound equals value, for lateness and for the objective.
    Optimal,
    /// A valid plan, its distance from the best bounded by the gap.
    Feasible,
}

impl Outcome {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Optimal => "optimal",
            Outcome::Feasible => "feasible",
        }
    }
}

/// The figures a plan states of itself; the checker recomputes all that follow from the plan, and holds the bounds
/// against them.
#[derive(Debug, Clone, PartialEq)]
pub struct Claims {
    /// Optimal or feasible.
    pub outcome: Outcome,
    /// The objective's own figure after lateness: makespan or idle printer minutes.
    pub value: Minutes,
    /// A proven lower bound on `value` among plans no later past due.
    pub bound: Minutes,
    /// From the start to the last shipment's ready time.
    pub makespan: Minutes,
    /// Weighted lateness over all shipments.
    pub late: WeightedMinutes,
    /// A proven lower bound on `late`.
    pub late_bound: WeightedMinutes,
    /// Idle printer minutes.
    pub idle: Minutes,
    /// Parts made or in stock that no shipment takes.
    pub surplus_parts: Count,
    /// How many runs, those from `running.csv` included.
    pub runs: Count,
    /// Operator minutes over all tasks.
    pub operator_minutes: Minutes,
    /// Which engine made it: `exact`, `quick` or `complete` …
    pub engine: String,
    /// The seed given.
    pub seed: u64,
    /// Why the search ended where it did, where a person should know: a time limit, an interruption, a fallback.
    pub notes: Vec<String>,
    /// What one more of something is worth, in plain words; empty where nothing was priced.
    pub prices: Vec<String>,
}

impl Claims {
    /// Value less bound, over value; 0 where the value is 0.
    pub fn gap(&self) -> f64 {
        if self.value.0 <= 0 { 0.0 } else { (self.value.0 - self.bound.0) as f64 / self.value.0 as f64 }
    }
}
