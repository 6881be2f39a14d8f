//! The floor's log: what really happened, as the crew or their own scripts wrote it down.
//!
//! A row says what is over: a run *loaded* prints from that minute on, one *harvested* is off its printer and its copies
//! are counted, one *failed* is off its printer and gave nothing. A printer is *down* until it is *up* (or until the time
//! that the row expects), an operator *absent* until the time given. What no row says has not happened.
//!
//! The log belongs to the instance's folder but not to the instance's digest: it grows while a plan is carried out, and
//! the plan stays the plan of its tables. A plan that was made anew in mid-week says since when (`Plan::since`); rows up
//! to that minute are its past.

use crate::instance::{CrewId, PartId, PrinterId};
use crate::units::{Count, Instant};

/// A row of `log.csv`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// When it was over, or began in the case of `down` and `absent`.
    pub at: Instant,
    /// What happened.
    pub event: Event,
    /// The crew's words.
    pub note: Option<String>,
    /// The line in the file, from 1.
    pub line: u64,
}

/// What a row of the log says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// The run's load is done and its plate prints from here.
    Loaded {
        /// Where.
        printer: PrinterId,
        /// The run's name in the plan.
        run: String,
    },
    /// The run is off its printer.
    Harvested {
        /// Where it was.
        printer: PrinterId,
        /// The run's name in the plan.
        run: String,
        /// The part counted; none where the plate holds only one.
        part: Option<PartId>,
        /// Copies that are good; where not said, what is left of the plate's copies.
        good: Option<Count>,
        /// Copies that are not; where not said, what is left of the plate's copies.
        rejected: Option<Count>,
    },
    /// The run gave nothing and is off its printer.
    Failed {
        /// Where it was.
        printer: PrinterId,
        /// The run's name in the plan.
        run: String,
    },
    /// The printer is not to be touched from here on.
    Down {
        /// Which.
        printer: PrinterId,
        /// When it is expected back; where not said, each plan takes it to be down for another day.
        until: Option<Instant>,
    },
    /// The printer can be used again.
    Up {
        /// Which.
        printer: PrinterId,
    },
    /// An operator is not there.
    Absent {
        /// Whose crew.
        crew: CrewId,
        /// The number within the crew, from 1.
        operator: u32,
        /// Back from here.
        until: Instant,
    },
}

/// The word that each event has in the file, in the order in which they are listed.
pub const WORDS: [&str; 6] = ["loaded", "harvested", "failed", "down", "up", "absent"];

impl Event {
    /// The event's word in the file.
    pub fn word(&self) -> &'static str {
        match self {
            Event::Loaded { .. } => "loaded",
            Event::Harvested { .. } => "harvested",
            Event::Failed { .. } => "failed",
            Event::Down { .. } => "down",
            Event::Up { .. } => "up",
            Event::Absent { .. } => "absent",
        }
    }

    /// The run it is about.
    pub fn run(&self) -> Option<&str> {
        match self {
            Event::Loaded { run, .. } | Event::Harvested { run, .. } | Event::Failed { run, .. } => Some(run),
            Event::Down { .. } | Event::Up { .. } | Event::Absent { .. } => None,
        }
    }
}
