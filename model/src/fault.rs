//! What is wrong with a folder of tables: every fault at once, each with where it is, what was read and what to do.

use std::fmt;

/// A stable code per kind of fault, shown as `T001`-style codes; the full list is this enum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FaultCode {
    /// A file that must be there is not.
    MissingFile,
}

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What kind.
    pub code: FaultCode,
    /// The file's name within the folder.
    pub file: String,
    /// The line in the file, from 1, as an editor counts.
    pub row: Option<u64>,
    /// The column's or key's name.
    pub column: Option<String>,
    /// What is wrong, with the user's own word.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// All faults of a folder, at least one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for fault in &self.0 {
            writeln!(f, "{}", fault.message)?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}
