//! What the whole-program and outside checks share.
//!
//! Instances are written as folders of tables, as a planner would ([`tables`]), by seeded generators ([`weeks`],
//! [`benches`], [`kit_runs`]) or from the numbers of a machine-scheduling case ([`machines`]). A [`trial`] plans one in this
//! process and believes nothing: every plan is checked, every figure compared, every file read back. [`program`] runs
//! the program itself, [`published`] reads the cases of others, [`outside`] calls the tools that are not ours.

pub mod benches;
pub mod calendar;
pub mod chance;
pub mod kit_runs;
pub mod machines;
pub mod mixed_weeks;
pub mod outside;
pub mod program;
pub mod published;
pub mod tables;
pub mod trial;
pub mod verdict;
pub mod weeks;
