//! The commands.

pub mod check;
pub mod log;
pub mod new;
pub mod plan;
pub mod rehearse;
pub mod replan;
