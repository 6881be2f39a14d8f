//! The whole program, run as a user runs it: exit codes, streams, files.

mod calling;
mod checking;
mod comparing;
mod deciding;
mod farm;
mod floor;
mod planning;
mod regressing;
mod exchanging;
mod reporting;
mod starting;
