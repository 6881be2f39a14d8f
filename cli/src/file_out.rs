//! One file for another program, written whole or not at all.

use crate::refusal::{Refusal, shown};
use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Whether the file's name ends as its kind does, told before anything is made: a slip of the hand cannot put a calendar
/// over a table.
///
/// # Errors
/// The name ends otherwise.
pub fn approve(file: &Path, ending: &str) -> Result<(), Refusal> {
    if file.extension().and_then(OsStr::to_str).is_some_and(|own| own.eq_ignore_ascii_case(ending)) {
        return Ok(());
    }
    Err(Refusal::Call {
        message: format!("{} does not end with .{ending}", shown(file)),
        help: format!("name a file that does, such as farm.{ending}"),
    })
}

/// Writes the file.
///
/// # Errors
/// It cannot be written; what was there before is then untouched.
pub fn write(file: &Path, bytes: &[u8]) -> Result<(), Refusal> {
    put(file, bytes).map_err(|error| Refusal::Call {
        message: format!("{} cannot be written: {error}", shown(file)),
        help: "name a file in a folder where you may write".to_owned(),
    })
}

fn put(file: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.map_or_else(|| PathBuf::from("."), Path::to_owned);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".platewright-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut written = builder.tempfile_in(folder)?;
    written.write_all(bytes)?;
    written.as_file().sync_all()?;
    written.persist(file).map(drop).map_err(|error| error.error)
}
