//! A file of the user's own choosing, written whole or not at all.

use crate::refusal::{Refusal, shown};
use std::ffi::OsStr;
use std::io::{self, Write};
use std::path::Path;

/// What a page for the browser may be called.
pub const PAGE: &[&str] = &["html", "htm"];

/// Whether the file's name ends as its kind does, told before anything is made: a slip of the hand cannot put a page or a
/// calendar over a table.
///
/// # Errors
/// The name ends otherwise.
pub fn approve(file: &Path, endings: &[&str]) -> Result<(), Refusal> {
    let own = file.extension().and_then(OsStr::to_str).unwrap_or_default();
    if endings.iter().any(|ending| own.eq_ignore_ascii_case(ending)) {
        return Ok(());
    }
    let ending = endings.first().copied().unwrap_or_default();
    Err(Refusal::Call {
        message: format!("{} does not end with .{ending}", shown(file)),
        help: format!("name a file that does, such as farm.{ending}"),
    })
}

/// Writes a file beside its place and renames it.
///
/// # Errors
/// It cannot be written; what was there before is then untouched.
pub fn write(file: &Path, bytes: impl AsRef<[u8]>) -> Result<(), Refusal> {
    put(file, bytes.as_ref()).map_err(|error| not_written(file, &error))
}

/// What to say where it cannot be written.
pub fn not_written(file: &Path, error: &io::Error) -> Refusal {
    Refusal::Call {
        message: format!("{} cannot be written: {error}", shown(file)),
        help: "make room, or name a place where you may write; what was there before is untouched".to_owned(),
    }
}

fn put(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".platewright-");
    // As readable as any other file that the user makes.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut written = builder.tempfile_in(folder)?;
    written.write_all(bytes)?;
    written.as_file().sync_all()?;
    written.persist(file).map(drop).map_err(|error| error.error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_and_one_that_cannot_be_is_kept() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheet.html");
        for text in ["one", "two"] {
            write(&file, text).unwrap();
            assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
        }
        assert!(write(&folder.path().join("nowhere/sheet.html"), "x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn only_a_file_of_its_kind_is_written_over() {
        assert!(approve(Path::new("sheet.HTM"), PAGE).is_ok());
        assert!(approve(Path::new("parts.csv"), PAGE).is_err() && approve(Path::new("page"), PAGE).is_err());
    }
}
