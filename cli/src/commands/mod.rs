//! The commands.

pub mod check;
pub mod compare;
pub mod explain;
pub mod export;
pub mod import;
pub mod labels;
pub mod ledger;
pub mod new;
pub mod packing;
pub mod plan;
pub mod plates;
pub mod quote;
pub mod regress;
pub mod report;
pub mod sheets;
