//! The whole program, run as a user runs it: exit codes, streams, files.

mod calling;
mod checking;
mod farm;
mod floor;
mod planning;
mod starting;
