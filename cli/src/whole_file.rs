//! A file written whole or not at all.

use crate::refusal::{Refusal, shown};
use std::io::{self, Write};
use std::path::Path;

/// Writes a file beside its place and renames it; what was there before stays where that fails.
pub fn write(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new().prefix(".platewright-").tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

/// What to say where it cannot be written.
pub fn not_written(path: &Path, error: &io::Error) -> Refusal {
    Refusal::Call {
        message: format!("{} cannot be written: {error}", shown(path)),
        help: "make room, or name a place where you may write; what was there before is untouched".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_and_one_that_cannot_be_is_kept() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        write(&path, "one").unwrap();
        write(&path, "two").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "two");
        assert!(write(&folder.path().join("none/a.csv"), "x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
