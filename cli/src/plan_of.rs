//! A plan read back, and the farm it was made for: the tables as they stand, or with the scenario kept beside the plan.

use crate::farms;
use crate::refusal::Refusal;
use platewright_model::overlay::Overlay;
use platewright_model::plan_files::{self, PlanFolder};
use platewright_model::{Instance, scenario, tables};
use std::path::Path;

/// A plan, its farm and what is other there than in the tables.
pub struct PlanOf {
    /// The farm.
    pub instance: Instance,
    /// The plan as its files say it.
    pub folder: PlanFolder,
    /// The changes it was made under.
    pub overlays: Vec<Overlay>,
}

/// Reads a plan for a folder of tables.
///
/// # Errors
/// Unusable tables, an unusable scenario, or a plan that cannot be read.
pub fn read(tables_folder: &Path, plan: &Path) -> Result<PlanOf, Refusal> {
    let as_they_stand = tables::read(tables_folder).map_err(Refusal::tables(tables_folder))?;
    let folder = plan_files::read(&as_they_stand, plan).map_err(Refusal::tables(plan))?;
    let kept = scenario::kept(plan).map_err(Refusal::tables(plan))?;
    Ok(match kept.filter(|_| folder.plan.instance_digest != as_they_stand.digest()) {
        None => PlanOf { instance: as_they_stand, folder, overlays: Vec::new() },
        Some(kept) => {
            let overlays = vec![kept.overlay];
            let instance = tables::read_with(tables_folder, &overlays).map_err(Refusal::tables(tables_folder))?;
            PlanOf { instance, folder, overlays }
        }
    })
}

/// Reads a plan for a folder of tables under one of its scenarios, whatever is kept beside the plan.
///
/// # Errors
/// As for [`read`].
pub fn read_under(tables_folder: &Path, plan: &Path, scenario: &str) -> Result<PlanOf, Refusal> {
    let farm = farms::read(tables_folder, Some(scenario)).map_err(Refusal::tables(tables_folder))?;
    let folder = plan_files::read(&farm.instance, plan).map_err(Refusal::tables(plan))?;
    Ok(PlanOf { instance: farm.instance, folder, overlays: farm.overlay.into_iter().collect() })
}
