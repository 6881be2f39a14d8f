//! The commands.

pub mod check;
pub mod compare;
pub mod explain;
pub mod new;
pub mod plan;
pub mod plates;
pub mod quote;
pub mod regress;
