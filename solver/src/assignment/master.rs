//! The linear program over loads: the fewest machines, in fractions, that take all jobs by a makespan.

use super::jobs::{Jobs, Load};
use crate::growing::growing;
use highs::{ColProblem, HighsModelStatus, Model, Row, Sense};

/// The price of a machine: prices of jobs are shares of it.
pub const MACHINE: i64 = 1_000_000_000;

/// The linear program, growing by loads.
pub struct Master {
    model: Option<Model>,
    rows: Vec<Row>,
}

impl Master {
    /// With these loads.
    pub fn new(jobs: &Jobs, loads: &[Load]) -> Master {
        let mut problem = ColProblem::new();
        let rows: Vec<Row> = jobs.count.iter().map(|&n| problem.add_row(f64::from(n)..)).collect();
        for load in loads {
            problem.add_column(1.0, 0.0.., load.iter().map(|&(kind, n)| (rows[kind], f64::from(n))));
        }
        let model = growing(problem, Sense::Minimise);
        Master { model, rows }
    }

    /// Adds a load.
    pub fn add(&mut self, load: &Load) {
        if let Some(model) = &mut self.model {
            model.add_col(1.0, 0.0.., load.iter().map(|&(kind, n)| (self.rows[kind], f64::from(n))));
        }
    }

    /// Prices by kind, made whole; none where the solver fails.
    pub fn solve(&mut self) -> Option<Vec<i64>> {
        let solved = self.model.take()?.try_solve().ok()?;
        if solved.status() != HighsModelStatus::Optimal {
            return None;
        }
        let solution = solved.get_solution();
        let duals = solution.dual_rows();
        if duals.len() != self.rows.len() {
            return None;
        }
        let prices = duals.iter().map(|d| (d.clamp(0.0, 1.0) * MACHINE as f64) as i64).collect();
        self.model = Some(Model::from(solved));
        Some(prices)
    }
}
