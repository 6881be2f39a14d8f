//! One thread or two: the same plan to the byte, in every file.

use crate::written::Written;
use platewright_tests::kit_runs::kit_run;
use platewright_tests::weeks::{Size, week};

/// A week of some forty runs, one of a hundred and fifty with many rules, and a small kit run: large enough for both
/// descents.
#[test]
fn as_many_threads_as_there_may_be() {
    let cases = [week(301, Size::Middling), week(3, Size::Large), kit_run(1, 6, 40)]
        .map(|tables| (tables, tempfile::tempdir()));
    for (tables, folder) in cases {
        let folder = folder.expect("a folder");
        tables.write(folder.path());
        let name = folder.path().to_str().expect("a readable path");
        let [one, two] = ["1", "2"].map(|threads| Written::plan(name, &["--threads", threads]));
        one.believe().same_bytes_as(two.believe());
        let [one, two] = [one, two].map(|written| written.ran.object());
        assert_eq!(one["engine"], "exact", "nothing was searched on two threads: {two}");
    }
}
