//! Whether a plan is to be believed: no rule broken, every stated figure true, nothing lost in its files.

use platewright_checker::{Breach, check};
use platewright_model::plan::Outcome;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes, plan_files};
use std::path::Path;

/// The breaches that the checker finds, in words.
pub fn breaches(instance: &Instance, plan: &Plan) -> Vec<String> {
    check(instance, plan).breaches.iter().map(Breach::to_string).collect()
}

/// Panics, saying why, unless the plan is valid, true and the same after it was written into `folder` and read back.
pub fn believe(instance: &Instance, plan: &Plan, folder: &Path) {
    let found = breaches(instance, plan);
    assert!(found.is_empty(), "the plan breaks rules: {found:#?}");
    figures(instance, plan);
    bounds(plan);
    files(instance, plan, folder);
}

/// Each figure by itself, so that the message says which is false.
fn figures(instance: &Instance, plan: &Plan) {
    let (claims, figures) = (&plan.claims, check(instance, plan).figures);
    assert_eq!(plan.instance_digest, instance.digest(), "the plan names another instance");
    assert_eq!(claims.makespan, figures.makespan, "makespan");
    assert_eq!(claims.late, figures.late, "weighted lateness");
    assert_eq!(claims.idle, figures.idle, "idle printer minutes");
    assert_eq!(claims.value, figures.value, "value");
    assert_eq!(claims.surplus_parts, figures.surplus_parts, "surplus");
    assert_eq!(claims.runs, figures.runs, "runs");
    assert_eq!(claims.operator_minutes, figures.operator_minutes, "operator minutes");
    let stated: Vec<_> = plan.shipments.iter().map(|s| (&s.shipment, s.ready, s.due, s.late)).collect();
    let true_ones: Vec<_> = figures.shipments.iter().map(|s| (&s.shipment, s.ready, s.due, s.late)).collect();
    assert_eq!(stated, true_ones, "the shipments' ready times, due dates and lateness");
}

/// Bounds lie between nothing and what was reached, and `optimal` is said only where they are what was reached.
fn bounds(plan: &Plan) {
    let claims = &plan.claims;
    assert!(Minutes::ZERO <= claims.bound && claims.bound <= claims.value, "{claims:?}");
    assert!(WeightedMinutes::ZERO <= claims.late_bound && claims.late_bound <= claims.late, "{claims:?}");
    let closed = claims.bound == claims.value && claims.late_bound == claims.late;
    assert!(closed || claims.outcome != Outcome::Optimal, "called optimal with an open gap: {claims:?}");
}

/// Written and read back, the plan is the same and still holds.
fn files(instance: &Instance, plan: &Plan, folder: &Path) {
    plan_files::write(plan, instance, folder).expect("the plan can be written");
    let read = plan_files::read(instance, folder).unwrap_or_else(|faults| panic!("the plan's files: {faults}"));
    assert!(read.has_claims, "plan.json was not read");
    assert_eq!(read.disagreements, Vec::<String>::new(), "plan.json against the tables");
    assert_eq!(&read.plan, plan, "the plan before and after its files");
    let found = breaches(instance, &read.plan);
    assert!(found.is_empty(), "the plan read back breaks rules: {found:#?}");
}
