//! The farm that the README builds up table by table.

use platewright_tests::program::{instances, run};
use std::path::Path;

/// The files that the README's code blocks spell out: named by the heading before a block, or by its first line where
/// that is a comment `# file: what it is for`.
fn farm_of_the_readme() -> Vec<(String, String)> {
    let readme = std::fs::read_to_string(instances().join("../README.md")).expect("the README");
    let (_, chapter) = readme.split_once("Here is a complete farm, table by table").expect("the chapter of the farm");
    let (mut files, mut heading, mut block) = (Vec::new(), None, None::<String>);
    for line in chapter.lines() {
        if let Some(text) = &mut block {
            if line != "```" {
                text.push_str(line);
                text.push('\n');
                continue;
            }
            let text = block.take().unwrap_or_default();
            let own_name = text.strip_prefix("# ").and_then(|t| t.split_once(':')).map(|named| named.0.to_owned());
            if let Some(name) = heading.take().or(own_name) {
                files.push((name, text));
            }
        } else if let Some(title) = line.strip_prefix("### ") {
            heading = title.strip_prefix('`').and_then(|t| t.split_once('`')).map(|named| named.0.to_owned());
        } else if line == "```toml" || line == "```csv" {
            block = Some(String::new());
        }
    }
    files
}

fn write(folder: &Path, files: &[(String, String)]) {
    for (name, text) in files {
        std::fs::write(folder.join(name), text).expect("a table");
    }
}

/// Typed off the README, with and without the tables that may be left out, the farm plans and its plan passes `check`.
#[test]
fn the_farm_of_the_readme_plans() {
    let files = farm_of_the_readme();
    assert_eq!(files.len(), 12, "every file of an instance: {:?}", files.iter().map(|f| &f.0).collect::<Vec<_>>());
    for some in [&files[..7], &files[..]] {
        let folder = tempfile::tempdir().expect("a folder");
        write(folder.path(), some);
        let tables = folder.path().to_str().expect("a readable path");
        let planned = run(&["plan", tables, "--engine", "quick"]);
        assert_eq!(planned.code, 0, "{planned:#?}");
        let checked = run(&["check", tables, folder.path().join("plan").to_str().expect("a readable path")]);
        assert_eq!(checked.code, 0, "{checked:#?}");
    }
}
