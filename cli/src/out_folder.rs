//! Where a plan may be written: never over an instance, whose `shipments.csv` has the same name as the plan's.

use crate::refusal::{Refusal, shown};
use std::ffi::OsString;
use std::path::{Component, Path, PathBuf};

/// Whether the plan's files may go into `out`, told before the search and not after.
///
/// # Errors
/// `out` is the instance's folder or another instance's, or lies below something that is no folder.
pub fn approve(instance: &Path, out: &Path) -> Result<(), Refusal> {
    let resolved = resolve(out);
    if resolved == resolve(instance) {
        return Err(Refusal::Call {
            message: format!("the plan cannot go into {}: that is the folder with the tables", shown(out)),
            help: "name another folder with --out, or leave --out away to write into the folder `plan` inside it"
                .to_owned(),
        });
    }
    if resolved.join("farm.toml").exists() {
        return Err(Refusal::Call {
            message: format!("the plan cannot go into {}: a farm's tables are there", shown(out)),
            help: "name a folder of its own with --out".to_owned(),
        });
    }
    match resolved.ancestors().find(|path| path.exists()) {
        Some(existing) if !existing.is_dir() => Err(Refusal::Call {
            message: format!("the plan cannot go into {}: {} is no folder", shown(out), shown(existing)),
            help: "name another folder with --out".to_owned(),
        }),
        _ => Ok(()),
    }
}

/// The path with links, `.` and `..` resolved, as far as it exists; the rest is taken as written, because that is what
/// making the folders will do.
fn resolve(path: &Path) -> PathBuf {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut missing: Vec<OsString> = Vec::new();
    let mut existing = absolute.as_path();
    let base = loop {
        if let Ok(base) = existing.canonicalize() {
            break base;
        }
        let Some(parent) = existing.parent() else { break existing.to_owned() };
        missing.push(match existing.components().next_back() {
            Some(Component::Normal(name)) => name.to_owned(),
            Some(other) => other.as_os_str().to_owned(),
            None => OsString::new(),
        });
        existing = parent;
    };
    missing.into_iter().rev().fold(base, |mut path, name| {
        if name == ".." {
            path.pop();
        } else {
            path.push(name);
        }
        path
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folder_of_the_tables_is_known_under_any_name() {
        let farm = tempfile::tempdir().unwrap();
        let folder = farm.path();
        for out in ["", ".", "plan/..", "plan/../plan/.."] {
            assert!(approve(folder, &folder.join(out)).is_err(), "{out}");
        }
        for out in ["plan", "plan/../other", "a/b/c"] {
            assert!(approve(folder, &folder.join(out)).is_ok(), "{out}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_to_the_tables_is_the_tables() {
        let farm = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        let link = elsewhere.path().join("link");
        std::os::unix::fs::symlink(farm.path(), &link).unwrap();
        assert!(approve(farm.path(), &link).is_err());
        assert!(approve(farm.path(), &link.join("missing/..")).is_err());
    }
}
