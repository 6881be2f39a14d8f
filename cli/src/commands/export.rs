//! `export`: a plan or the tables in the files of other programs.

use crate::checked_plan;
use crate::exchange_args::ExportArgs;
use crate::exit::Exit;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_exchange::{calendar, plan_workbook, tables_workbook};
use platewright_model::{Instance, tables};
use platewright_solver::count_model;
use std::fs;
use std::path::Path;

/// Runs the command: everything is made before anything is written.
///
/// # Errors
/// Unusable tables, a plan that cannot be read or breaks rules, a file that cannot be written.
pub fn run(args: &ExportArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let wanted = [(&args.calendar, "ics"), (&args.plan_workbook, "xlsx"), (&args.workbook, "xlsx"), (&args.mps, "mps")];
    for (file, ending) in wanted {
        file.iter().try_for_each(|file| whole_file::approve(file, &[ending]))?;
    }
    let mut files: Vec<(&Path, Vec<u8>, String)> = Vec::new();
    if args.calendar.is_some() || args.plan_workbook.is_some() {
        let folder = args.plan.clone().unwrap_or_else(|| args.folder.join("plan"));
        let (instance, plan) = checked_plan::read(&args.folder, &folder)?;
        if let Some(file) = &args.calendar {
            let text = calendar::text(&instance, &plan);
            files.push((file, text.into_bytes(), "the plan's shifts and shipments as a calendar".to_owned()));
        }
        if let Some(file) = &args.plan_workbook {
            let bytes = plan_workbook::write(&instance, &plan).map_err(|error| too_large(&error.to_string()))?;
            files.push((file, bytes, "the plan as a workbook".to_owned()));
        }
    } else if args.plan.is_some() {
        return Err(Refusal::Call {
            message: "nothing that was asked for is made of a plan".to_owned(),
            help: "leave the plan's folder away, or ask for --calendar or --plan-workbook".to_owned(),
        });
    }
    if args.workbook.is_some() || args.mps.is_some() {
        let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
        if let Some(file) = &args.workbook {
            files.push((file, tables_as_workbook(&args.folder, &instance)?, "the tables as a workbook".to_owned()));
        }
        if let Some(file) = &args.mps {
            let (text, size) = model(&instance, args.slot.unwrap_or(30))?;
            files.push((file, text.into_bytes(), size));
        }
    }
    for (file, bytes, what) in files {
        whole_file::write(file, &bytes)?;
        voice.result(&format!("{}: {what}\n", shown(file)));
    }
    Ok(Exit::Done)
}

/// The workbook, believed only after it gave the same tables back.
fn tables_as_workbook(folder: &Path, instance: &Instance) -> Result<Vec<u8>, Refusal> {
    let names = std::iter::once("farm.toml").chain(tables::layout::tables().map(|table| table.file));
    let texts: Vec<_> = names.filter_map(|name| Some((name, fs::read_to_string(folder.join(name)).ok()?))).collect();
    let bytes = tables_workbook::write(instance, &texts).map_err(|error| too_large(&error.to_string()))?;
    if let Ok(draft) = tables_workbook::read(&bytes)
        && let Ok(back) = super::import::judged(&draft.files())?
        && super::import::says_the_same(&back, instance)
    {
        return Ok(bytes);
    }
    Err(Refusal::Call {
        message: "the workbook would not give the same tables back, so nothing was written".to_owned(),
        help: "look for names with characters that no spreadsheet keeps, and report it with the folder of tables"
            .to_owned(),
    })
}

fn model(instance: &Instance, slot: u16) -> Result<(String, String), Refusal> {
    let model = count_model::of(instance, slot).map_err(|refused| Refusal::Call {
        message: refused.to_string(),
        help: "name a longer slot with --slot, or a shorter horizon in farm.toml".to_owned(),
    })?;
    let said = format!(
        "the count model at slots of {slot} min: {} variables, {} rows",
        model.program.variables().len(),
        model.program.rows().len()
    );
    Ok((model.mps(), said))
}

fn too_large(why: &str) -> Refusal {
    Refusal::Call {
        message: format!("the workbook cannot be made: {why}"),
        help: "a sheet holds a million rows; split a larger farm".to_owned(),
    }
}
