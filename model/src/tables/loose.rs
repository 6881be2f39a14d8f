//! A table that stands alone, such as an order in the form of `shipments.csv`: its rows as text, to be laid over a
//! folder's.

use super::findings::Findings;
use super::sheet::Sheet;
use super::{folder, overlaid};
use crate::fault::Faults;
use crate::overlay::Table;
use std::path::Path;

/// A row as its columns and their text, blank cells left out.
pub type LooseRow = Vec<(&'static str, String)>;

/// Reads the rows of a file that has the columns of a table; what the cells say is judged when they are laid over a
/// folder.
///
/// # Errors
/// All faults of the file: it cannot be read, has an unknown column, no rows, or a row of another width than its header.
pub fn loose_rows(table: Table, path: &Path) -> Result<Vec<LooseRow>, Faults> {
    let mut findings = Findings::default();
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let spec = overlaid::spec(table);
    let text = folder::read_text(parent, &name, &mut findings);
    let sheet = text.map_or_else(|| Sheet::absent(spec), |text| Sheet::read(spec, &text, &mut findings));
    let cells = |row: super::sheet::Row<'_>| {
        let cell = |column| Some((column, row.text(column).filter(|text| !text.is_empty())?.to_owned()));
        spec.columns().filter_map(cell).collect()
    };
    let rows = sheet.rows().map(cells).collect();
    match findings.finish(&[]) {
        None => Ok(rows),
        Some(Faults(mut faults)) => {
            faults.iter_mut().for_each(|fault| fault.file.clone_from(&name));
            Err(Faults(faults))
        }
    }
}
