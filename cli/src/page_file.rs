//! A page written to a file, whole or not at all.

use crate::refusal::{Refusal, shown};
use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Whether a page may go there, told before it is made: a page is a `.html` file, so that a slip of the hand cannot put
/// one over a table or a plan.
///
/// # Errors
/// The name ends otherwise.
pub fn approve(file: &Path) -> Result<(), Refusal> {
    let ending = file.extension().and_then(OsStr::to_str).unwrap_or_default();
    if ending.eq_ignore_ascii_case("html") || ending.eq_ignore_ascii_case("htm") {
        return Ok(());
    }
    Err(Refusal::Call {
        message: format!("{} is no name for a page", shown(file)),
        help: "end the name with .html".to_owned(),
    })
}

/// Writes the page.
///
/// # Errors
/// The file cannot be written; what was there before is then untouched.
pub fn write(file: &Path, page: &str) -> Result<(), Refusal> {
    put(file, page).map_err(|error| Refusal::Call {
        message: format!("{} cannot be written: {error}", shown(file)),
        help: "name a file in a folder where you may write".to_owned(),
    })
}

fn put(file: &Path, page: &str) -> std::io::Result<()> {
    let folder = file
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .map_or_else(|| PathBuf::from("."), Path::to_owned);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".platewright-");
    // As readable as any other file that the user makes.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut written = builder.tempfile_in(folder)?;
    written.write_all(page.as_bytes())?;
    written.as_file().sync_all()?;
    written.persist(file).map_err(|error| error.error)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_page_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("sheet.html");
        for text in ["one", "two"] {
            write(&file, text).unwrap();
            assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
        }
        assert!(approve(&file).is_ok() && approve(&folder.path().join("parts.csv")).is_err());
        assert!(write(&folder.path().join("nowhere/sheet.html"), "x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
