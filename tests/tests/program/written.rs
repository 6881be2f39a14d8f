//! Plans written by the program into folders of their own.

use platewright_tests::program::{PLAN_FILES, Ran, instances, run};
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A plan of one of the project's instances.
pub struct Written {
    /// How the program ended.
    pub ran: Ran,
    instance: PathBuf,
    folder: TempDir,
}

impl Written {
    /// Plans an instance of the project.
    pub fn plan(instance: &str, options: &[&str]) -> Written {
        let (instance, folder) = (instances().join(instance), tempfile::tempdir().expect("a folder"));
        let [tables, out] = [instance.as_path(), folder.path()].map(|path| path.to_str().expect("a readable path"));
        let ran = run(&[&["plan", tables, "--out", out, "--json"], options].concat());
        Written { ran, instance, folder }
    }

    /// Where it was written.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// What lies there, in order.
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder()).expect("the folder");
        let mut names: Vec<String> =
            entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// Panics unless the program ended well, wrote all files, and its own `check` accepts them.
    pub fn believe(&self) -> &Written {
        assert_eq!(self.ran.code, 0, "{:#?}", self.ran);
        assert_eq!(self.names(), PLAN_FILES);
        let [tables, plan] = [self.instance.as_path(), self.folder()].map(|path| path.to_str().expect("a path"));
        let checked = run(&["check", tables, plan]);
        assert_eq!(checked.code, 0, "{checked:#?}");
        self
    }

    /// Panics unless the files of both are the same, byte for byte.
    pub fn same_bytes_as(&self, other: &Written) {
        for name in PLAN_FILES {
            let [one, two] = [self, other].map(|w| std::fs::read(w.folder().join(name)).expect("a file of the plan"));
            assert!(one == two, "{name} differs between two runs on {}", self.instance.display());
        }
    }
}
