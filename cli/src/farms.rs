//! The farm of a folder: as its tables stand, or as a scenario would have it.

use platewright_model::overlay::Overlay;
use platewright_model::scenario::{self, AS_IT_STANDS};
use platewright_model::{Faults, Instance, tables};
use std::path::Path;

/// A farm with what it is called in a comparison.
pub struct Farm {
    /// The scenario's name, or that of the tables as they stand.
    pub name: String,
    /// What the scenario is about.
    pub about: Option<String>,
    /// What the scenario changes.
    pub overlay: Option<Overlay>,
    /// The farm.
    pub instance: Instance,
}

/// The farm under a scenario, or as it stands where none is named.
///
/// # Errors
/// All faults of the scenario, else all of the tables with it.
pub fn read(folder: &Path, name: Option<&str>) -> Result<Farm, Faults> {
    match name {
        None | Some(AS_IT_STANDS) => {
            Ok(Farm { name: AS_IT_STANDS.to_owned(), about: None, overlay: None, instance: tables::read(folder)? })
        }
        Some(name) => {
            let scenario = scenario::read(folder, name)?;
            let instance = tables::read_with(folder, std::slice::from_ref(&scenario.overlay))?;
            Ok(Farm { name: scenario.name, about: scenario.about, overlay: Some(scenario.overlay), instance })
        }
    }
}

/// The farm as it stands, then under each of these scenarios, or under all that the folder has where none is named.
///
/// # Errors
/// All faults of all scenarios.
pub fn with_scenarios(folder: &Path, wanted: &[String]) -> Result<Vec<Farm>, Faults> {
    // Faults of the tables themselves would be told again under each scenario.
    let mut farms = vec![read(folder, None)?];
    let mut names = if wanted.is_empty() { scenario::names(folder) } else { wanted.to_vec() };
    let mut seen = vec![AS_IT_STANDS.to_owned()];
    names.retain(|name| {
        let is_new = !seen.contains(name);
        seen.push(name.clone());
        is_new
    });
    let mut faults = Vec::new();
    for name in names {
        match read(folder, Some(&name)) {
            Ok(farm) => farms.push(farm),
            Err(found) => faults.extend(found.0),
        }
    }
    if faults.is_empty() { Ok(farms) } else { Err(Faults(faults)) }
}
