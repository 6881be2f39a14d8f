//! The object of `rehearse`.

use super::stamp;
use platewright_model::{Instance, Instant};
use platewright_report::rehearsal::{Rehearsal, histogram};
use serde::Serialize;

/// What `rehearse --json` prints; shares are of all rehearsals.
#[derive(Debug, Serialize)]
pub struct RehearsedObject {
    times: u64,
    seed: u64,
    all_on_time: f64,
    failed_plates: f64,
    rejected_copies: f64,
    breakdowns: f64,
    runs_made_again: f64,
    shipments: Vec<Shipment>,
    least_slack: Vec<Slack>,
    tight_hours: Vec<Tight>,
}

#[derive(Debug, Serialize)]
struct Shipment {
    shipment: String,
    due: Option<String>,
    planned: String,
    on_time: f64,
    ready_50: Option<String>,
    ready_80: Option<String>,
    ready_95: Option<String>,
    late_because: Vec<Because>,
    histogram: Vec<BarObject>,
}

#[derive(Debug, Serialize)]
struct Because {
    cause: String,
    times: u64,
}

#[derive(Debug, Serialize)]
struct BarObject {
    from: String,
    to: String,
    times: u64,
}

#[derive(Debug, Serialize)]
struct Slack {
    run: String,
    printer: String,
    plate: String,
    slack_minutes: i64,
}

#[derive(Debug, Serialize)]
struct Tight {
    from: String,
    waited_minutes: f64,
}

/// The object.
pub fn rehearsed(instance: &Instance, told: &Rehearsal) -> RehearsedObject {
    let share = |count: u64| count as f64 / told.times.max(1) as f64;
    let at = |at: Option<Instant>| at.map(|at| stamp(instance, at));
    let shipments = told.shipments.iter().map(|s| Shipment {
        shipment: s.shipment.clone(),
        due: at(s.due),
        planned: stamp(instance, s.planned),
        on_time: share(s.on_time),
        ready_50: at(s.at[0]),
        ready_80: at(s.at[1]),
        ready_95: at(s.at[2]),
        late_because: s.causes.iter().map(|(cause, times)| Because { cause: cause.clone(), times: *times }).collect(),
        histogram: histogram(instance, &s.ready)
            .into_iter()
            .map(|b| BarObject { from: stamp(instance, b.from), to: stamp(instance, b.to), times: b.count })
            .collect(),
    });
    RehearsedObject {
        times: told.times,
        seed: told.seed,
        all_on_time: share(told.all_on_time),
        failed_plates: told.means[0],
        rejected_copies: told.means[1],
        breakdowns: told.means[2],
        runs_made_again: told.means[3],
        shipments: shipments.collect(),
        least_slack: told
            .slack
            .iter()
            .map(|s| Slack {
                run: s.run.clone(),
                printer: s.printer.clone(),
                plate: s.plate.clone(),
                slack_minutes: s.slack.0,
            })
            .collect(),
        tight_hours: told
            .tight
            .iter()
            .map(|h| Tight { from: stamp(instance, h.from), waited_minutes: h.waited })
            .collect(),
    }
}
