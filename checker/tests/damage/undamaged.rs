//! The plan that the other tests damage keeps every rule, and its figures are those worked out by hand.

use crate::bench::{at, farm, plan};
use platewright_checker::check;
use platewright_model::plan::Objective;
use platewright_model::{Count, Minutes, WeightedMinutes};

#[test]
fn the_plan_by_hand_holds() {
    let instance = farm();
    let report = check(&instance, &plan(&instance));
    assert_eq!(report.breaches, []);
    assert!(report.holds());
}

#[test]
fn the_figures_are_those_by_hand() {
    let instance = farm();
    let figures = check(&instance, &plan(&instance)).figures;
    assert_eq!(figures.makespan, Minutes(24 * 60 + 40));
    assert_eq!(figures.value, figures.makespan);
    assert_eq!(figures.late, WeightedMinutes(10_000));
    assert_eq!(figures.idle, Minutes(1219));
    assert_eq!(figures.surplus_parts, Count(19));
    assert_eq!(figures.runs, Count(5));
    assert_eq!(figures.operator_minutes, Minutes(84));
    let promised: Vec<_> = figures.shipments.iter().map(|s| (s.shipment.as_str(), s.ready, s.late.0)).collect();
    assert_eq!(promised, [("spring", at("2T09:05"), 5), ("summer", at("3T07:40"), 0)]);
}

#[test]
fn a_shipment_waits_for_parts_that_no_box_holds() {
    let mut instance = farm();
    let mut plan = plan(&instance);
    instance.shipments[1].lines[1].per_box = None;
    plan.tasks.retain(|task| task.from != at("3T07:34"));
    // Its only box is packed Monday 20:06; R5's bodies for the other row are usable half an hour after Tuesday 07:04.
    assert_eq!(check(&instance, &plan).figures.shipments[1].ready, at("3T07:34"));
}

#[test]
fn the_value_follows_the_objective() {
    let instance = farm();
    let mut plan = plan(&instance);
    plan.objective = Objective::LeastIdle;
    assert_eq!(check(&instance, &plan).figures.value, Minutes(1219));
}
