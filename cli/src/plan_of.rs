//! A plan read back, and the farm it was made for: the tables as they stand, or with the scenario kept beside the plan.

use crate::farms;
use crate::refusal::Refusal;
use platewright_model::plan_files::{self, PlanFolder};
use platewright_model::{Instance, scenario, tables};
use std::path::Path;

/// A plan and its farm.
pub struct PlanOf {
    /// The farm.
    pub instance: Instance,
    /// The plan as its files say it.
    pub folder: PlanFolder,
}

/// Reads a plan for a folder of tables, under a scenario of the folder where one is named.
///
/// # Errors
/// Unusable tables, an unusable scenario, or a plan that cannot be read.
pub fn read(tables_folder: &Path, scenario: Option<&str>, plan: &Path) -> Result<PlanOf, Refusal> {
    let named = farms::read(tables_folder, scenario).map_err(Refusal::tables(tables_folder))?.instance;
    let folder = plan_files::read(&named, plan).map_err(Refusal::tables(plan))?;
    let kept = if scenario.is_none() { scenario::kept(plan).map_err(Refusal::tables(plan))? } else { None };
    Ok(match kept.filter(|_| folder.plan.instance_digest != named.digest()) {
        None => PlanOf { instance: named, folder },
        Some(kept) => {
            let with = tables::read_with(tables_folder, &[kept.overlay]);
            PlanOf { instance: with.map_err(Refusal::tables(tables_folder))?, folder }
        }
    })
}
