//! Replaces a set of files whole or not at all.
//!
//! Every file is first written in full beside its place, under a name of its own, and only then are the places taken one
//! after the other. Where one cannot be taken, those before it get back what they held. Files that were staged or set
//! aside vanish with the values that stand for them.

use std::fs;
use std::io::{Error, Result, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Writes all files into the folder, which is made where it is missing.
///
/// # Errors
/// What the system says, with the file's name; the files that were there before are then untouched.
pub fn all(folder: &Path, files: &[(&'static str, Vec<u8>)]) -> Result<()> {
    fs::create_dir_all(folder).map_err(|error| about(folder, &error))?;
    let staged = stage_all(folder, files)?;
    take_places(staged, |file, place| file.persist(place).map(drop).map_err(|error| error.error))?;
    // The names themselves are on disk once the folder is; where a system cannot do that, nothing is lost but speed.
    let _ = fs::File::open(folder).and_then(|folder| folder.sync_all());
    Ok(())
}

/// Side by side, because each waits for the disk. Where one cannot be staged, none is.
fn stage_all(folder: &Path, files: &[(&'static str, Vec<u8>)]) -> Result<Vec<Staged>> {
    std::thread::scope(|scope| {
        let stages: Vec<_> =
            files.iter().map(|(name, bytes)| scope.spawn(move || stage(folder, name, bytes))).collect();
        stages.into_iter().map(|stage| stage.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect()
    })
}

/// A file written in full, and the place it is to take.
struct Staged {
    file: NamedTempFile,
    place: PathBuf,
    /// A copy of what holds the place now.
    before: Option<NamedTempFile>,
}

fn stage(folder: &Path, name: &str, bytes: &[u8]) -> Result<Staged> {
    let place = folder.join(name);
    let named = |error: Error| about(&place, &error);
    let before = match fs::symlink_metadata(&place) {
        Ok(held) if held.is_dir() => return Err(named(Error::other("a folder has this name"))),
        Ok(_) => {
            let copy = beside(folder).map_err(named)?;
            fs::copy(&place, copy.path()).map_err(named)?;
            Some(copy)
        }
        Err(_) => None,
    };
    let mut file = beside(folder).map_err(named)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(named)?;
    Ok(Staged { file, place, before })
}

/// A new file in the folder, as readable as any other that the user makes.
fn beside(folder: &Path) -> Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".platewright-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// Puts every staged file into its place by `put`; where one fails, all places are as before.
fn take_places(staged: Vec<Staged>, put: impl Fn(NamedTempFile, &Path) -> Result<()>) -> Result<()> {
    let mut taken: Vec<(PathBuf, Option<NamedTempFile>)> = Vec::new();
    for Staged { file, place, before } in staged {
        if let Err(error) = put(file, &place) {
            // The failure to tell is the first one; giving back what was there is the best that can be done about it.
            for (place, before) in taken {
                let _ = match before {
                    Some(before) => before.persist(&place).map(drop).map_err(|error| error.error),
                    None => fs::remove_file(&place),
                };
            }
            return Err(about(&place, &error));
        }
        taken.push((place, before));
    }
    Ok(())
}

fn about(path: &Path, error: &Error) -> Error {
    Error::new(error.kind(), format!("{}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn contents(folder: &Path) -> BTreeMap<String, String> {
        let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
        entries
            .map(|e| (e.file_name().into_string().unwrap(), fs::read_to_string(e.path()).unwrap_or("(folder)".into())))
            .collect()
    }

    fn set(text: &str) -> Vec<(&'static str, Vec<u8>)> {
        ["a", "b", "c"].into_iter().map(|name| (name, text.as_bytes().to_vec())).collect()
    }

    #[test]
    fn a_folder_is_made_and_filled_and_filled_again() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("x/y");
        for text in ["one", "two"] {
            all(&folder, &set(text)).unwrap();
            assert_eq!(contents(&folder), ["a", "b", "c"].map(|n| (n.to_owned(), text.to_owned())).into());
        }
    }

    #[test]
    fn where_one_place_cannot_be_taken_nothing_changes() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a"), "old").unwrap();
        fs::create_dir(folder.path().join("c")).unwrap();
        let before = contents(folder.path());
        let error = all(folder.path(), &set("new")).unwrap_err().to_string();
        assert!(error.contains("c: a folder has this name"), "{error}");
        assert_eq!(contents(folder.path()), before);
    }

    #[test]
    fn a_failure_half_way_gives_every_place_back() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a"), "old").unwrap();
        fs::write(folder.path().join("c"), "old").unwrap();
        let before = contents(folder.path());
        let staged: Vec<Staged> =
            set("new").iter().map(|(name, bytes)| stage(folder.path(), name, bytes).unwrap()).collect();
        let put = |file: NamedTempFile, place: &Path| match place.ends_with("c") {
            true => Err(Error::other("the disk is full")),
            false => file.persist(place).map(drop).map_err(|error| error.error),
        };
        assert!(take_places(staged, put).unwrap_err().to_string().ends_with("c: the disk is full"));
        assert_eq!(contents(folder.path()), before);
    }

    #[cfg(unix)]
    #[test]
    fn files_are_as_readable_as_any_other() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("usual"), "").unwrap();
        all(folder.path(), &set("new")).unwrap();
        let mode = |name: &str| fs::metadata(folder.path().join(name)).unwrap().permissions().mode();
        assert_eq!(mode("a"), mode("usual"));
    }
}
