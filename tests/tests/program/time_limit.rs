//! A time limit may cost quality, never the plan's truth.

use crate::written::Written;

/// Cut short at once, the program writes a complete plan that passes `check`, or says that it found none and writes
/// nothing.
#[test]
fn cut_short_at_once() {
    for instance in ["harbour-week", "kit-run", "tiny-one-operator", "tiny-packing"] {
        for objective in ["soonest", "least-idle"] {
            let written = Written::plan(instance, &["--time-limit", "0.001", "--objective", objective]);
            if written.ran.code == 3 {
                assert_eq!(written.names(), Vec::<String>::new(), "{instance}");
                assert_eq!(written.ran.object()["outcome"], "unknown", "{instance}");
            } else {
                let object = written.believe().ran.object();
                assert!(object["bound_minutes"].as_i64() <= object["value_minutes"].as_i64(), "{instance}: {object}");
            }
        }
    }
}

/// Cut short while it searches, the program writes a complete plan that passes `check`, and says that it was cut short.
#[test]
fn cut_short_while_searching() {
    let written = Written::plan("harbour-week", &["--time-limit", "2"]);
    let object = written.believe().ran.object();
    assert_ne!(object["outcome"], "unknown");
    assert!(object["outcome"] == "optimal" || written.ran.err.contains("cut short"), "{:#?}", written.ran);
}
