//! Whole-run inequalities hold for every plan.

use crate::{instance, tiny};
use platewright_solver::columns::cuts::cuts;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::mix;
use platewright_solver::problem::Problem;

#[test]
fn every_dispatched_plan_obeys_every_cut() {
    let mut looked_at = 0;
    for name in tiny().into_iter().chain(["harbour-week".to_string()]) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let open = vec![problem.horizon; problem.orders.len()];
        let price = mix::prices(&problem);
        for manner in Manner::all(&problem) {
            let floor = dispatch(&problem, &price, manner, &|| false);
            if !floor.demand.is_met() {
                continue;
            }
            for cut in cuts(&problem, &open) {
                let counted: i64 = floor.runs().iter().map(|r| cut.counts[r.mode]).sum();
                assert!(counted >= cut.need, "{name}: {cut:?} counts only {counted}");
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 50, "some instances have cuts: {looked_at}");
}
