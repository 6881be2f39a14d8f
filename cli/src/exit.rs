//! How a command ends.

use std::process::ExitCode;

/// The exit codes, the same for every command.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// The answer is no: a rule is broken.
    No = 1,
    /// The input or the call is unusable.
    Unusable = 2,
    /// No plan exists, or none was found in the limit.
    NoPlan = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}
