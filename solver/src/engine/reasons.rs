//! Why there is no plan, in the planner's words.

use crate::dispatch::{Manner, dispatch};
use crate::mix;
use crate::problem::Problem;

/// What stands against a plan: which part is short by how many runs, what the printers and the crew could do.
pub(super) fn why_none(problem: &Problem<'_>, proven: bool) -> Vec<String> {
    let mut reasons = Vec::new();
    let instance = problem.instance;
    let end = instance.farm.clock.stamp(instance.farm.horizon_end()).format("%a %Y-%m-%d %H:%M").to_string();
    let price = mix::prices(problem);
    let manner = Manner { lag: 60, urgency: 150 };
    let floor = dispatch(problem, &price, manner, &|| false);
    for part in 0..problem.finish.len() {
        let missing = floor.demand.missing(part);
        if missing == 0 {
            continue;
        }
        let name = &instance.parts[part].name;
        let most = problem
            .classes
            .iter()
            .flat_map(|c| c.modes.iter())
            .filter_map(|&m| problem.modes[m].yields.iter().find(|y| y.0 == part).map(|y| y.1))
            .max();
        reasons.push(match most {
            None => format!(
                "{name}: {missing} are missing and no printer of the farm can make it with the plates that may be used"
            ),
            Some(most) => format!(
                "{name}: {missing} are missing by {end}, the end of the horizon: {} more runs of its largest plate",
                (missing + most - 1) / most
            ),
        });
    }
    let need: i64 = mix::total_needs(problem).iter().zip(&price).map(|(n, p)| n * p / 1000).sum();
    let stock: i64 = problem.stock.iter().zip(&price).map(|(n, p)| n * p / 1000).sum();
    let up: i64 = problem
        .classes
        .iter()
        .map(|c| {
            let down: i64 = c.downtime.iter().map(|d| i64::from(d.1 - d.0)).sum();
            c.printers.len() as i64 * (i64::from(problem.horizon) - down)
        })
        .sum();
    let crew: i64 = problem.pools.iter().map(|p| i64::from(p.to - p.from) * p.operators.len() as i64).sum();
    reasons.push(format!(
        "the shipments need about {} printer hours; the printers are up for {} hours until then, and the crew is on shift for {} hours",
        (need - stock).max(0) / 60,
        up / 60,
        crew / 60
    ));
    if crew == 0 {
        reasons.push(
            "nobody is ever on shift: shifts.csv names no stretch within the horizon that is not closed".to_string(),
        );
    }
    if !proven {
        reasons.push("that no plan exists is not proven; a longer horizon_days or more time may help".to_string());
    }
    reasons
}
