//! The plate mix: how many runs of each plate cover all needs with the fewest printer minutes.
//!
//! ```text
//! minimise   sum over modes m: (load + print + cool + harvest of m) * n[m]
//! such that  stock[p] + on printers[p] + sum over m: copies[m][p] * n[m] >= need[p]   for every part p
//! ```
//!
//! Its linear relaxation prices a copy of each part in printer minutes, alternatives and mixed plates weighed against
//! one another. The dispatcher starts from these prices, and the searches use them where no better ones are known.

use crate::problem::Problem;
use good_lp::solvers::DualValues;
use good_lp::solvers::highs::HighsParallelType;
use good_lp::{Expression, SolutionWithDual, SolverModel, constraint, variable, variables};

/// Prices are in thousandths of a printer minute.
pub const PRICE_UNIT: f64 = 1000.0;

/// A price per copy of each part, in thousandths of a printer minute, at least 1 for whatever is needed.
pub fn prices(problem: &Problem<'_>) -> Vec<i64> {
    let duals = relaxed_duals(problem).unwrap_or_else(|| cheapest_rates(problem));
    let needed = total_needs(problem);
    duals
        .iter()
        .zip(&needed)
        .map(|(dual, &need)| if need > 0 { ((dual * PRICE_UNIT).round() as i64).max(1) } else { 0 })
        .collect()
}

/// Copies of each part that all shipments need together, with the spares aimed at.
pub fn total_needs(problem: &Problem<'_>) -> Vec<i64> {
    let mut needed = vec![0; problem.finish.len()];
    for &(part, count) in problem.orders.iter().flat_map(|o| &o.aims) {
        needed[part] += count;
    }
    needed
}

fn loadable(problem: &Problem<'_>) -> Vec<usize> {
    let mut modes: Vec<usize> = problem.classes.iter().flat_map(|c| c.modes.iter().copied()).collect();
    modes.sort_unstable();
    modes.dedup();
    modes
}

fn relaxed_duals(problem: &Problem<'_>) -> Option<Vec<f64>> {
    let needed = total_needs(problem);
    let mut vars = variables!();
    let runs: Vec<_> = loadable(problem).into_iter().map(|m| (m, vars.add(variable().min(0)))).collect();
    let minutes = |m: usize| {
        let mode = &problem.modes[m];
        f64::from(mode.load + mode.to_ready() + mode.harvest)
    };
    let cost: Expression = runs.iter().map(|&(m, n)| minutes(m) * n).sum();
    let mut model = vars.minimise(cost).using(good_lp::highs).set_threads(1).set_parallel(HighsParallelType::Off);
    let mut rows = Vec::new();
    for (part, &need) in needed.iter().enumerate().filter(|n| *n.1 > 0) {
        let made: Expression = runs
            .iter()
            .filter_map(|&(m, n)| {
                let copies = problem.modes[m].yields.iter().find(|y| y.0 == part)?.1;
                Some(copies as f64 * n)
            })
            .sum();
        rows.push((part, model.add_constraint(constraint!(made >= need as f64))));
    }
    let mut solved = model.solve().ok()?;
    let mut duals = vec![0.0; needed.len()];
    let dual = solved.compute_dual();
    for (part, row) in rows {
        duals[part] = dual.dual(row).abs();
    }
    duals.iter().all(|d| d.is_finite()).then_some(duals)
}

/// Without duals: the cheapest plate's minutes per copy.
fn cheapest_rates(problem: &Problem<'_>) -> Vec<f64> {
    let mut rate = vec![f64::INFINITY; problem.finish.len()];
    for m in loadable(problem) {
        let mode = &problem.modes[m];
        let copies: i64 = mode.yields.iter().map(|y| y.1).sum();
        let minutes = f64::from(mode.load + mode.to_ready() + mode.harvest) / copies.max(1) as f64;
        for &(part, _) in &mode.yields {
            rate[part] = rate[part].min(minutes);
        }
    }
    rate.iter().map(|r| if r.is_finite() { *r } else { 0.0 }).collect()
}
