//! `replan`.

use crate::args::ReplanArgs;
use crate::exit::Exit;
use crate::refusal::Refusal;
use crate::voice::Voice;

/// Runs the command.
pub fn run(_args: &ReplanArgs, _voice: &mut Voice) -> Result<Exit, Refusal> {
    Ok(Exit::NoPlan)
}
