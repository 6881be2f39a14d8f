//! The linear program over loads: the fewest machines, in fractions, that take all jobs by a makespan.

use super::jobs::{Jobs, Load};
use highs::{ColProblem, HighsModelStatus, Model, Row, Sense};

/// The unit of prices: one machine.
const UNIT: f64 = 1e9;

/// The linear program, growing by loads.
pub struct Master {
    model: Option<Model>,
    rows: Vec<Row>,
}

/// What a solve says.
pub struct Solved {
    /// Machines in fractions.
    pub machines: f64,
    /// Prices by kind, made whole.
    pub prices: Vec<i64>,
    /// How many machines hold each load.
    pub weights: Vec<f64>,
}

impl Master {
    /// With these loads.
    pub fn new(jobs: &Jobs, loads: &[Load]) -> Master {
        let mut problem = ColProblem::new();
        let rows: Vec<Row> = jobs.count.iter().map(|&n| problem.add_row(f64::from(n)..)).collect();
        for load in loads {
            problem.add_column(1.0, 0.0.., load.iter().map(|&(kind, n)| (rows[kind], f64::from(n))));
        }
        let model = problem.try_optimise(Sense::Minimise).ok().map(|mut model| {
            model.make_quiet();
            model.set_option("threads", 1);
            model.set_option("parallel", "off");
            model.set_option("random_seed", 1);
            model.set_option("presolve", "off");
            model
        });
        Master { model, rows }
    }

    /// Adds a load.
    pub fn add(&mut self, load: &Load) {
        if let Some(model) = &mut self.model {
            model.add_col(1.0, 0.0.., load.iter().map(|&(kind, n)| (self.rows[kind], f64::from(n))));
        }
    }

    /// Solves; none where the solver fails.
    pub fn solve(&mut self) -> Option<Solved> {
        let solved = self.model.take()?.try_solve().ok()?;
        if solved.status() != HighsModelStatus::Optimal {
            return None;
        }
        let solution = solved.get_solution();
        let duals = solution.dual_rows();
        if duals.len() != self.rows.len() {
            return None;
        }
        let weights = solution.columns().to_vec();
        let prices = duals.iter().map(|d| (d.clamp(0.0, 1.0) * UNIT) as i64).collect();
        self.model = Some(Model::from(solved));
        Some(Solved { machines: weights.iter().sum(), prices, weights })
    }
}
