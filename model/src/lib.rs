//! The farm, the order book and the plan: what every other part of platewright reads and none of them redefines.
//!
//! Data flows one way. [`tables`] reads a folder of tables into an immutable, validated [`Instance`]; a planner turns
//! that into a [`Plan`]; [`plan_files`] writes the plan and reads it back. Nothing in here plans or judges a plan:
//! the rules are only named ([`Rule`]), so that planners and the checker can each match on all of them.

pub mod calendar;
pub mod fault;
pub mod instance;
pub mod kits;
pub mod log;
pub mod log_file;
pub mod overlay;
pub mod past;
pub mod plan;
pub mod plan_files;
pub mod rehearsal;
pub mod roster;
pub mod rule;
pub mod scenario;
pub mod spares;
pub mod tables;
pub mod units;

pub use calendar::Clock;
pub use fault::{Fault, FaultCode, Faults};
pub use instance::Instance;
pub use overlay::Overlay;
pub use plan::Plan;
pub use rule::Rule;
pub use units::{Count, Instant, Minutes, Weight, WeightedMinutes};
