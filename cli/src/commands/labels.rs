//! `labels`: sheets of labels for bags, trays and boxes, each with its number as a code.

use crate::checked_plan;
use crate::commands::{ledger, sheets};
use crate::exit::Exit;
use crate::floor_args::{LabelKind, LabelsArgs};
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_report::labels::{self, Grid, Kind, Stock};
use platewright_report::ledger::words::many;

/// Runs the command.
///
/// # Errors
/// Unusable tables or plan, labels that do not fit the sheet, or a page that cannot be written.
pub fn run(args: &LabelsArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    whole_file::approve(&args.html, whole_file::PAGE)?;
    let stock = Stock { paper: args.paper.into(), label: args.size, gap: args.gap };
    let grid = Grid::of(&stock).map_err(|misfit| Refusal::Call { message: misfit.to_string(), help: misfit.help() })?;
    let (instance, plan) = checked_plan::read(&args.of.folder, &args.of.plan)?;
    let ledger = ledger::of(&instance, &plan)?;
    let shift = args.shift.as_deref().map(|words| sheets::find(&instance, &plan, words)).transpose()?;
    let kinds: Vec<Kind> = match &args.only[..] {
        [] => Kind::ALL.to_vec(),
        only => only.iter().map(|kind| (*kind).into()).collect(),
    };
    let labels = labels::labels(&instance, &plan, &ledger, &kinds, shift.as_ref());
    let count = labels.len();
    whole_file::write(&args.html, labels::page(&instance, &labels, &grid, args.skip))?;
    voice.result(&format!(
        "{} on {}, {} to a sheet of {}.\n",
        many(count, "label", "labels"),
        many(grid.sheets(count, args.skip), "sheet", "sheets"),
        grid.per_sheet(),
        stock.paper.name()
    ));
    voice.note(&format!("the page is {}; print it from a browser at 100 %, without margins", shown(&args.html)));
    Ok(Exit::Done)
}

impl From<LabelKind> for Kind {
    fn from(kind: LabelKind) -> Kind {
        match kind {
            LabelKind::Bags => Kind::Bag,
            LabelKind::Trays => Kind::Tray,
            LabelKind::Boxes => Kind::Box,
        }
    }
}
