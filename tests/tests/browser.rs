//! The plan's page in a real browser, driven from outside.
//!
//! `tests/outside/browser.py` plans the demo, the kit run, a room of a thousand printers and one whose names are out to do
//! harm, opens each page from disk in Chromium, and looks: no request, no message, the figures of `plan.json`, every
//! control by keyboard, zoom by mouse, keys and fingers, nothing that axe-core finds against WCAG 2.1 AA, and print.

use platewright_tests::{outside, program};
use std::path::Path;

/// Everything that `browser.py` looks at.
#[test]
fn the_page_in_chromium() {
    let Some(python) = outside::python() else { return };
    let axe = Path::new(env!("CARGO_MANIFEST_DIR")).join("../.venv/node_modules/axe-core/axe.min.js");
    let axe = std::env::var_os("PLATEWRIGHT_AXE").map_or(axe, Into::into);
    let [binary, axe] = [program::path(), &axe].map(|path| path.to_str().expect("a readable path"));
    print!("{}", outside::finish(outside::start(&python, "browser.py", &["--binary", binary, "--axe", axe])));
}
