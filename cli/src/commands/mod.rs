//! The commands.

pub mod check;
pub mod new;
pub mod plan;
