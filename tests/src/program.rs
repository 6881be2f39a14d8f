//! The program itself, built where it is not yet and run as a user runs it.

use assert_cmd::Command;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// The files of a plan.
pub const PLAN_FILES: [&str; 6] =
    ["allocation.csv", "plan.json", "report.html", "runs.csv", "shipments.csv", "tasks.csv"];

/// How a run of the program ended.
#[derive(Debug)]
pub struct Ran {
    /// Exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    /// The one object on standard output.
    pub fn object(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error} in {self:#?}"))
    }
}

/// Runs the program with arguments, away from any folder of the project.
pub fn run(arguments: &[&str]) -> Ran {
    let output = Command::new(path())
        .args(arguments)
        .current_dir(std::env::temp_dir())
        .output()
        .expect("the program can be started");
    Ran {
        // Ended by a signal where there is no code; no exit code of the program is below 0.
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).expect("standard output is text"),
        err: String::from_utf8(output.stderr).expect("standard error is text"),
    }
}

/// The program, built by cargo in the folder that this test was built in, so that it is never an old one.
pub fn path() -> &'static Path {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| {
        let test = std::env::current_exe().expect("this test's own path");
        // target/debug/deps/test
        let target = test.ancestors().nth(3).expect("a target folder");
        let build = escargot::CargoBuild::new().package("platewright").bin("platewright").target_dir(target);
        build.run().unwrap_or_else(|error| panic!("the program cannot be built: {error}")).path().to_owned()
    })
}

/// A folder of the project's own instances.
pub fn instances() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances")
}

/// The project's instances whose names begin with some letters, in order; `broken/` begins those in that folder.
pub fn instances_named(beginning: &str) -> Vec<String> {
    let folder = beginning.rsplit_once('/').map_or(String::new(), |(folder, _)| format!("{folder}/"));
    let entries = std::fs::read_dir(instances().join(&folder)).expect("the instances are there");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("an entry"))
        .filter(|entry| entry.path().is_dir())
        .map(|entry| format!("{folder}{}", entry.file_name().to_string_lossy()))
        .filter(|name| name.starts_with(beginning))
        .collect();
    names.sort();
    names
}
