//! The broken instances: each is refused, its file is named, and nothing is written.

use crate::written::Written;
use platewright_tests::program::instances_named;

/// Every broken instance ends with exit code 2, names a file of its tables, tells what to do, and writes nothing.
#[test]
fn every_broken_instance_is_refused() {
    let names: Vec<String> = instances_named("broken/");
    assert!(names.len() >= 40, "{} flaws", names.len());
    for name in names {
        let written = Written::plan(&name, &[]);
        assert_eq!(written.ran.code, 2, "{name}: {:#?}", written.ran);
        assert_eq!(written.names(), Vec::<String>::new(), "{name}: something was written");
        let object = written.ran.object();
        let faults = object["faults"].as_array().unwrap_or_else(|| panic!("{name}: {object}"));
        assert!(!faults.is_empty(), "{name}");
        for fault in faults {
            let file = fault["file"].as_str().unwrap_or_else(|| panic!("{name}: {fault}"));
            assert!(written.ran.err.contains(file), "{name}: {file} in {}", written.ran.err);
            for field in ["code", "message", "help"] {
                assert!(fault[field].as_str().is_some_and(|text| !text.is_empty()), "{name}: {field} of {fault}");
            }
        }
        assert!(!written.ran.err.contains("panicked"), "{name}: {}", written.ran.err);
    }
}
