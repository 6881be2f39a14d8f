//! A bound on how many printers can be kept in step, from prices of an operator's minutes.
//!
//! Give each minute of each round a price. If serving a printer through all rounds costs at least `c` however its starts
//! are chosen, and all minutes of an operator are worth `w` together, then `m` operators keep no more than `m w / c`
//! printers in step. The best prices are a linear program,
//!
//! ```text
//! minimise  sum of prices
//! such that to_harvest[r][t] <= prices of t .. t + H      + to_load[r][t + H]       to_harvest[r][t] <= to_harvest[r][t + 1]
//!           to_load[r][t]    <= prices of t .. t + L      + to_harvest[r + 1][t - H]   to_load[r][t] <= to_load[r][t + 1]
//!           to_harvest[0][0] >= 1, and nothing follows the last harvest
//! ```
//!
//! Its prices are rounded to whole numbers, and `w` and `c` are counted anew with those: so the bound holds whatever the
//! linear program's accuracy.

use super::InStep;
use good_lp::solvers::highs::HighsParallelType;
use good_lp::{Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, variable, variables};

/// Whole prices per unit of the linear program's.
const PRICE_UNIT: f64 = 1_000_000.0;

impl InStep {
    /// No more printers than these; never more than minutes alone allow.
    pub fn most_at_prices(&self) -> usize {
        let Some(prices) = self.best_prices() else { return self.by_minutes() };
        let worth: i64 = prices.iter().flatten().sum();
        let most = (self.operators as i64 * worth).checked_div(self.least_cost(&prices));
        most.map_or(self.by_minutes(), |most| self.by_minutes().min(most as usize))
    }

    /// The linear program's prices by round and minute, in whole numbers.
    fn best_prices(&self) -> Option<Vec<Vec<i64>>> {
        let (slack, h, l) = (self.slack as usize, self.harvest as usize, self.load as usize);
        let mut vars = variables!();
        let table = |vars: &mut ProblemVariables, width: usize| -> Vec<Vec<Variable>> {
            (0..=self.rounds).map(|_| (0..width).map(|_| vars.add(variable().min(0))).collect()).collect()
        };
        let price = table(&mut vars, slack + h + l);
        let (to_harvest, to_load) = (table(&mut vars, slack + 1), table(&mut vars, slack + 1));
        let all: Expression = price.iter().flatten().sum();
        let mut model = vars.minimise(all).using(good_lp::highs).set_threads(1).set_parallel(HighsParallelType::Off);
        for round in 0..=self.rounds {
            let of = |from: usize, minutes: usize| -> Expression { price[round][from..from + minutes].iter().sum() };
            for at in 0..=slack {
                let (harvest, load) = (to_harvest[round][at], to_load[round][at]);
                model.add_constraint(constraint!(harvest <= of(at, h) + load));
                match to_harvest.get(round + 1) {
                    Some(next) => model.add_constraint(constraint!(load <= of(at + h, l) + next[at])),
                    None => model.add_constraint(constraint!(load <= 0)),
                };
                if at < slack {
                    model.add_constraint(constraint!(harvest <= to_harvest[round][at + 1]));
                    model.add_constraint(constraint!(load <= to_load[round][at + 1]));
                }
            }
        }
        model.add_constraint(constraint!(to_harvest[0][0] >= 1));
        let solution = model.solve().ok()?;
        let whole = |price: &Variable| (solution.value(*price).max(0.0) * PRICE_UNIT).round() as i64;
        Some(price.iter().map(|of_round| of_round.iter().map(whole).collect()).collect())
    }

    /// The least that a printer costs at such prices.
    fn least_cost(&self, prices: &[Vec<i64>]) -> i64 {
        let (h, l) = (self.harvest as usize, self.load as usize);
        // By minute, what a printer that is ready then still costs.
        let mut ready = vec![0; self.slack as usize + 1];
        for (round, price) in prices.iter().enumerate().rev() {
            let of = |from: usize, minutes: usize| price[from..from + minutes].iter().sum::<i64>();
            let load = |(at, &then): (usize, &i64)| if round < self.rounds { of(at + h, l) + then } else { then };
            let harvested = or_later(ready.iter().enumerate().map(load).collect());
            ready = or_later(harvested.iter().enumerate().map(|(at, &then)| of(at, h) + then).collect());
        }
        ready[0]
    }
}

/// The least of each entry and all that follow.
fn or_later(mut costs: Vec<i64>) -> Vec<i64> {
    for at in (1..costs.len()).rev() {
        costs[at - 1] = costs[at - 1].min(costs[at]);
    }
    costs
}
