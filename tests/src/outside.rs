//! The tools in `tests/outside`, which share no code with the project and run in an environment of their own.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The Python that has what the tools need: `.venv` at the top of the project, which `make test` makes, or the one that
/// `PLATEWRIGHT_PYTHON` names. Says so and gives none where there is neither, unless `PLATEWRIGHT_REQUIRE_OUTSIDE` is 1:
/// then it panics.
pub fn python() -> Option<PathBuf> {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("../.venv/bin/python");
    let python = std::env::var_os("PLATEWRIGHT_PYTHON").map_or(own, PathBuf::from);
    if python.is_file() {
        return Some(python);
    }
    let required = std::env::var("PLATEWRIGHT_REQUIRE_OUTSIDE").is_ok_and(|value| value == "1");
    assert!(!required, "{} is not there; run make test", python.display());
    println!("skipped: no .venv; run make test");
    None
}

/// Starts a tool and leaves its output to be collected.
pub fn start(python: &Path, tool: &str, arguments: &[&str]) -> std::process::Child {
    let tools = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside");
    let mut command = Command::new(python);
    command.arg(tools.join(tool)).args(arguments).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.env("PYTHONDONTWRITEBYTECODE", "1");
    command.spawn().unwrap_or_else(|error| panic!("{}: {error}", python.display()))
}

/// Waits for a tool; gives what it printed, and panics with all of it unless it ended well.
pub fn finish(tool: std::process::Child) -> String {
    let output = tool.wait_with_output().expect("the tool can be waited for");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert!(output.status.success(), "{}\n{out}\n{err}", output.status);
    out
}
