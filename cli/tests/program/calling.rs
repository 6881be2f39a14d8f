//! The call itself: help, options that make no sense, streams, colour, and readers that stop reading.

use crate::farm::{Farm, PLAN_FILES, ran};
use std::process::{Command, Stdio};

#[test]
fn help_and_version_are_results() {
    for words in
        [&["--help"][..], &["-h"], &["plan", "--help"], &["check", "--help"], &["new", "--help"], &["--version"]]
    {
        let ran = ran(words, &[]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{words:?}");
        assert!(!ran.out.contains('\u{1b}'), "{words:?}");
    }
    assert_eq!(ran(&["--version"], &[]).out, format!("platewright {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn calls_that_make_no_sense_are_unusable() {
    for words in [
        &[][..],
        &["plan"],
        &["paln", "x"],
        &["plan", "x", "--time-limit", "-5"],
        &["plan", "x", "--time-limit", "0"],
        &["plan", "x", "--time-limit", "soon"],
        &["plan", "x", "--seed", "-1"],
        &["plan", "x", "--engine", "exat"],
        &["plan", "x", "--objective", "cheapest"],
        &["plan", "x", "--colour"],
        &["check", "x"],
        &["new"],
    ] {
        let ran = ran(words, &[]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{words:?}");
        assert!(!ran.err.is_empty(), "{words:?}");
    }
    assert!(ran(&["plan", "x", "--engine", "exat"], &[]).err.contains("'exact'"));
}

#[test]
fn with_json_a_call_that_makes_no_sense_is_an_object() {
    let ran = ran(&["plan", "x", "--time-limit", "-5", "--json"], &[]);
    assert_eq!(ran.code, 2);
    let object = ran.object();
    assert_eq!((&object["outcome"], &object["faults"][0]["code"]), (&"unusable".into(), &"CALL".into()));
    assert!(object["faults"][0]["message"].as_str().unwrap().contains("--time-limit"), "{object}");
}

#[test]
fn colour_is_for_those_who_want_it() {
    let words = ["plan", "no-such-folder"];
    assert!(!ran(&words, &[]).err.contains('\u{1b}'), "a pipe has no colour");
    assert!(ran(&words, &[("CLICOLOR_FORCE", "1")]).err.contains('\u{1b}'));
    assert!(!ran(&words, &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]).err.contains('\u{1b}'));
}

#[test]
fn a_reader_that_stops_reading_does_not_stop_the_plan() {
    let farm = Farm::small();
    let mut child = Command::new(env!("CARGO_BIN_EXE_platewright"))
        .args(["plan", farm.path().to_str().unwrap(), "--engine", "quick"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{err}");
    assert!(!err.contains("panicked") && !err.contains("error"), "{err}");
    assert_eq!(farm.names("plan"), PLAN_FILES);
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_not_done() {
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_platewright")).arg("--help").stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("standard output cannot be written"));
}
