//! A plan read back from its folder and believed only after the checker has passed it.

use crate::commands::check;
use crate::refusal::Refusal;
use platewright_model::{Instance, Plan, plan_files, tables};
use std::path::Path;

/// The instance, and a plan for it that keeps every rule. Where `plan.json` is missing the plan claims what the checker
/// counts, and no bound.
///
/// # Errors
/// Unusable tables, a plan that cannot be read, or one that breaks rules.
pub fn read(tables: &Path, plan: &Path) -> Result<(Instance, Plan), Refusal> {
    let instance = tables::read(tables).map_err(Refusal::tables(tables))?;
    let folder = plan_files::read(&instance, plan).map_err(Refusal::tables(plan))?;
    let verdict = check::judge(&instance, &folder);
    if verdict.holds() {
        let plan = if folder.has_claims {
            folder.plan
        } else {
            check::claiming_nothing_but_tables(&folder.plan, &verdict.figures)
        };
        Ok((instance, plan))
    } else {
        Err(Refusal::PlanBroken { folder: plan.to_owned(), breaches: verdict.breaches })
    }
}
