//! What is printed for the floor, driven from outside.
//!
//! `tests/outside/paper.py` prints the demo's shift sheets, packing lists and labels from Chromium on A4 and Letter, looks
//! where every word stands, and reads the codes of the labels with ZBar; then the same of a room whose names are out to do
//! harm.

use platewright_tests::{outside, program};
use std::path::Path;

/// Everything that `paper.py` looks at.
#[test]
fn sheets_lists_and_labels() {
    let Some(python) = outside::python() else { return };
    let axe = Path::new(env!("CARGO_MANIFEST_DIR")).join("../.venv/node_modules/axe-core/axe.min.js");
    let axe = std::env::var_os("PLATEWRIGHT_AXE").map_or(axe, Into::into);
    let [binary, axe] = [program::path(), &axe].map(|path| path.to_str().expect("a readable path"));
    print!("{}", outside::finish(outside::start(&python, "paper.py", &["--binary", binary, "--axe", axe])));
}
