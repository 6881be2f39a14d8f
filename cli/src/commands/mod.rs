//! The commands.

pub mod check;
pub mod export;
pub mod import;
pub mod new;
pub mod plan;
