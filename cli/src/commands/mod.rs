//! The commands.

pub mod check;
pub mod export;
pub mod import;
pub mod labels;
pub mod ledger;
pub mod new;
pub mod packing;
pub mod plan;
pub mod report;
pub mod sheets;
