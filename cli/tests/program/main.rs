//! The whole program, run as a user runs it: exit codes, streams, files.

mod calling;
mod checking;
mod comparing;
mod deciding;
mod exchanging;
mod farm;
mod floor;
mod mid_week;
mod mid_week_rules;
mod planning;
mod regressing;
mod reporting;
mod starting;
