//! What the tables look like, for whoever writes them in another form.

use super::sheet::Spec;
use super::{bills, folder, log, opening, parts, plates, printers, shifts, shipments};

/// A table's file and columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// The file's name within the folder.
    pub file: &'static str,
    /// Columns that must be there.
    pub required: &'static [&'static str],
    /// Columns that may be left out.
    pub optional: &'static [&'static str],
    /// Whether the folder needs the file.
    pub must_be_there: bool,
}

impl Layout {
    /// Every column, in the order of the documentation.
    pub fn columns(&self) -> impl Iterator<Item = &'static str> {
        self.required.iter().chain(self.optional).copied()
    }
}

/// Every table of a folder, in the order in which faults are told; the log is the last. `farm.toml` is no table.
pub fn tables() -> [Layout; 11] {
    let specs: [&'static Spec; 11] = [
        &printers::PRINTERS,
        &printers::DOWNTIME,
        &parts::PARTS,
        &plates::PLATES,
        &bills::KITS,
        &shipments::SHIPMENTS,
        &shifts::SHIFTS,
        &shifts::CLOSURES,
        &opening::STOCK,
        &opening::RUNNING,
        &log::LOG,
    ];
    specs.map(|spec| Layout {
        file: spec.file,
        required: spec.required,
        optional: spec.optional,
        must_be_there: folder::REQUIRED.contains(&spec.file),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_a_folder_but_the_farm_is_a_table() {
        let files: Vec<&str> = tables().iter().map(|table| table.file).collect();
        let wanted: Vec<&str> = folder::ORDER.into_iter().filter(|file| *file != folder::FARM).collect();
        assert_eq!(files, wanted);
    }
}
