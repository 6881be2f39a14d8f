//! The object of `replan`.

use super::stamp;
use platewright_model::{Instance, Instant};
use platewright_report::changes::Changes;
use serde::Serialize;

/// What `replan --json` prints.
#[derive(Debug, Serialize)]
pub struct Replanned {
    outcome: &'static str,
    since: String,
    shift_ends: String,
    changed_runs_this_shift: usize,
    new_runs: Vec<String>,
    gone_runs: Vec<String>,
    shipments: Vec<Date>,
    tasks: Vec<Task>,
}

#[derive(Debug, Serialize)]
struct Date {
    shipment: String,
    was: String,
    ready: String,
    due: Option<String>,
    moved_minutes: i64,
    late_minutes: i64,
}

#[derive(Debug, Serialize)]
struct Task {
    operator: String,
    instead_of: Option<String>,
    what: String,
    run: Option<String>,
    was: Option<String>,
    from: Option<String>,
}

/// The object; the outcome is `unchanged` or `changed`.
pub fn replanned(instance: &Instance, changes: &Changes) -> Replanned {
    let at = |at: Option<Instant>| at.map(|at| stamp(instance, at));
    Replanned {
        outcome: if changes.is_empty() { "unchanged" } else { "changed" },
        since: stamp(instance, changes.since),
        shift_ends: stamp(instance, changes.soon),
        changed_runs_this_shift: changes.soon_runs().len(),
        new_runs: changes.new_runs.clone(),
        gone_runs: changes.gone_runs.clone(),
        shipments: changes
            .dates
            .iter()
            .map(|date| Date {
                shipment: date.shipment.clone(),
                was: stamp(instance, date.was),
                ready: stamp(instance, date.is),
                due: at(date.due),
                moved_minutes: (date.is - date.was).0,
                late_minutes: date.due.map_or(0, |due| (date.is - due).0.max(0)),
            })
            .collect(),
        tasks: changes
            .tasks
            .iter()
            .map(|task| Task {
                operator: task.operator.clone(),
                instead_of: task.instead_of.clone(),
                what: task.what.clone(),
                run: task.run.clone(),
                was: at(task.was),
                from: at(task.is),
            })
            .collect(),
    }
}
