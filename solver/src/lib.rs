//! Plans and the proof of how good they are.
//!
//! The instance is compiled once into whole minutes from the start ([`problem`]). A plan is then found as a set of
//! printer histories ([`history`]), kept consistent with one another minute by minute ([`room`], [`floor`]), improved
//! against deadlines, and turned back into names, tasks and figures ([`finish`], [`assemble`]). The bound comes from
//! columns that are whole printer histories, priced at minute resolution.

pub mod after;
pub mod assemble;
pub mod assignment;
pub mod columns;
pub mod complete;
pub mod count_model;
pub mod days;
pub mod decide;
pub mod demand;
pub mod dispatch;
pub mod dive;
pub mod division;
pub mod engine;
pub mod finish;
pub mod floor;
pub mod follow;
mod growing;
pub mod history;
pub mod improve;
pub mod in_step;
pub mod mix;
pub mod problem;
pub mod rehearse;
pub mod replan;
pub mod room;
pub mod schedule;
pub mod sequence;
pub mod spares;
pub mod whole;

pub use engine::{Answer, EngineChoice, Progress, Request, allow_threads, solve};
