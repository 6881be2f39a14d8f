//! `report`: the plan's page for a browser, made from a plan that holds.

use crate::args::ReportArgs;
use crate::checked_plan;
use crate::commands::plan::PAGE;
use crate::exit::Exit;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_report::html::plan::{Extras, page};

/// Runs the command.
///
/// # Errors
/// Unusable tables, a plan that cannot be read or breaks rules, or a file that cannot be written.
pub fn run(args: &ReportArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let file = args.out.clone().unwrap_or_else(|| args.plan.join(PAGE));
    whole_file::approve(&file, whole_file::PAGE)?;
    let (instance, plan) = checked_plan::read(&args.folder, &args.plan)?;
    whole_file::write(&file, page(&instance, &plan, &Extras::of(&instance, &plan)))?;
    voice.result(&format!("{}\n", shown(&file)));
    voice.note("open it in a browser; it holds everything and asks nothing of any network");
    Ok(Exit::Done)
}
