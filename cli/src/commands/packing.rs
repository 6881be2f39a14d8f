//! `packing`: a packing list for each shipment.

use crate::checked_plan;
use crate::commands::ledger;
use crate::exit::Exit;
use crate::floor_args::PackingArgs;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_report::ledger::{html, told};

/// Runs the command.
///
/// # Errors
/// Unusable tables or plan, a shipment that there is not, or a page that cannot be written.
pub fn run(args: &PackingArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    args.html.iter().try_for_each(|file| whole_file::approve(file, whole_file::PAGE))?;
    let (instance, plan) = checked_plan::read(&args.of.folder, &args.of.plan)?;
    let ledger = ledger::of(&instance, &plan)?;
    let all: Vec<&str> = instance.shipments.iter().map(|shipment| shipment.name.as_str()).collect();
    let shipments: Vec<&str> = match &args.shipment {
        None => all,
        Some(name) if all.contains(&name.as_str()) => vec![name.as_str()],
        Some(name) => {
            return Err(Refusal::Call {
                message: format!("there is no shipment {name}"),
                help: format!("the shipments are {}", all.join(", ")),
            });
        }
    };
    match &args.html {
        Some(file) => {
            whole_file::write(
                file,
                html::packing_lists(&instance, &plan, &ledger, &shipments, args.paper.map(Into::into)),
            )?;
            voice.note(&format!("the page is {}; print it from a browser", shown(file)));
        }
        None => {
            let lists: Vec<String> =
                shipments.iter().map(|name| told::packing_list(&instance, &plan, &ledger, name)).collect();
            voice.result(&lists.join("\n\n"));
        }
    }
    Ok(Exit::Done)
}
