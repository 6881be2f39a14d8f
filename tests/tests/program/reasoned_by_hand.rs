//! The tiny instances, whose optimum is reasoned out in the README beside each.

use crate::written::Written;
use platewright_tests::program::{instances, instances_named};

/// A line `key = N` of an instance's README, where it has one.
fn stated_if_any(instance: &str, key: &str) -> Option<f64> {
    let readme = std::fs::read_to_string(instances().join(instance).join("README.md")).expect("a README");
    let value = readme.lines().find_map(|line| line.strip_prefix(key)?.trim_start().strip_prefix("= "))?;
    Some(value.trim().parse().unwrap_or_else(|_| panic!("{instance}: {value} is no number")))
}

/// A line `key = N` that every README of a tiny instance has.
fn stated(instance: &str, key: &str) -> f64 {
    stated_if_any(instance, key).unwrap_or_else(|| panic!("{instance}: no line {key}"))
}

/// The program reaches the optimum reasoned by hand, proves it, and its plan passes `check`.
#[test]
fn every_tiny_instance_is_solved() {
    let mut names = instances_named("tiny-");
    names.extend(instances_named("spares-"));
    assert!(names.len() >= 12, "{names:?}");
    for name in names {
        let written = Written::plan(&name, &[]);
        let object = written.believe().ran.object();
        assert_eq!(object["outcome"], "optimal", "{name}: {object}");
        for figure in ["makespan_minutes", "late_minutes"] {
            assert_eq!(object[figure].as_f64(), Some(stated(&name, figure)), "{name}: {figure}");
        }
        assert_eq!(object["bound_minutes"], object["value_minutes"], "{name}");
        assert_eq!(object["late_bound_minutes"], object["late_minutes"], "{name}");
    }
}

/// The least lateness is the same whatever is minimised after it, and the plan passes `check`.
#[test]
fn every_tiny_instance_with_the_least_idle_minutes() {
    for name in instances_named("tiny-") {
        let written = Written::plan(&name, &["--objective", "least-idle"]);
        let object = written.believe().ran.object();
        assert_eq!(object["value_minutes"], object["idle_printer_minutes"], "{name}");
        assert!(object["late_minutes"].as_f64() >= Some(stated(&name, "late_minutes")), "{name}: {object}");
        assert!(object["makespan_minutes"].as_f64() >= Some(stated(&name, "makespan_minutes")), "{name}: {object}");
    }
}

/// Where the fewest idle minutes are reasoned out too, the program reaches and proves them.
#[test]
fn idle_minutes_reasoned_by_hand() {
    let mut reasoned = 0;
    for name in instances_named("tiny-") {
        let Some(idle) = stated_if_any(&name, "idle_printer_minutes") else { continue };
        let written = Written::plan(&name, &["--objective", "least-idle"]);
        let object = written.believe().ran.object();
        assert_eq!(object["outcome"], "optimal", "{name}: {object}");
        assert_eq!(object["value_minutes"].as_f64(), Some(idle), "{name}");
        reasoned += 1;
    }
    assert!(reasoned > 0, "at least one instance has them");
}

/// Planned twice, every tiny instance gives the same bytes.
#[test]
fn every_tiny_instance_in_the_same_bytes() {
    for name in instances_named("tiny-") {
        Written::plan(&name, &["--seed", "3"]).same_bytes_as(&Written::plan(&name, &["--seed", "3"]));
    }
}
