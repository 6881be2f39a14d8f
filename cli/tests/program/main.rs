//! The whole program, run as a user runs it: exit codes, streams, files.

mod calling;
mod checking;
mod farm;
mod mid_week;
mod planning;
mod starting;
