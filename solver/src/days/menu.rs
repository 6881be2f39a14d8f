//! Which blocks to take: a linear program for what copies are worth, an integer one for the table.
//!
//! Days with the same shifts are the same problem, so a block found for one of them fits all, in every cell. All blocks that
//! were ever found for a kind of day are a *menu*, and a table takes one of them for each cell and day of the kind. How
//! well the whole is served by fractions of blocks is a small linear program; the duals of its needs say what a copy of
//! each part is worth to a block that is still to be found (column generation, with whole days of a cell as columns). How
//! well it is served by whole blocks is the same program in integers, and as a table has dozens of days and the menu
//! dozens of blocks, that is nearly as good.

use super::kind::Block;
use crate::growing::growing;
use highs::{ColProblem, HighsModelStatus, HighsSolutionStatus, Row, Sense};

/// Nodes of the integer program: the last of what it finds is worth little, and not proven to be best.
const NODES: i32 = 200;
/// Prices are in thousandths of a minute, costs in minutes.
const THOUSAND: f64 = 1000.0;

/// What there is to take from.
pub(super) struct Menu<'m> {
    /// Copies of each part that the whole needs, and the price of one that is missing.
    pub needs: &'m [i64],
    pub price: &'m [i64],
    /// By kind of day: how many blocks are to be taken, and which there are.
    pub kinds: Vec<(usize, &'m [Block])>,
    /// Idle minutes count, too.
    pub idle: bool,
}

impl Menu<'_> {
    /// How many times the needs fractions of blocks make at most, and what a copy of each part is worth there: the worth of
    /// all needs is one.
    pub fn share(&self) -> Option<(f64, Vec<f64>)> {
        let mut problem = ColProblem::new();
        let parts: Vec<Row> = self.needs.iter().map(|_| problem.add_row(0.0..)).collect();
        let share = parts.iter().zip(self.needs).map(|(&row, &need)| (row, -(need as f64)));
        problem.add_column(1.0, 0.0.., share.collect::<Vec<_>>());
        self.blocks(&mut problem, &parts, false);
        let solved = growing(problem, Sense::Maximise)?.try_solve().ok()?;
        let optimal = solved.status() == HighsModelStatus::Optimal;
        let solution = solved.get_solution();
        let worth = solution.dual_rows().iter().take(parts.len()).map(|dual| (-dual).max(0.0)).collect();
        Some((*solution.columns().first()?, worth)).filter(|_| optimal)
    }

    /// What a copy of each part is worth where fractions of blocks leave the least missing and the fewest minutes idle.
    pub fn worth(&self) -> Option<Vec<f64>> {
        let mut problem = ColProblem::new();
        let parts = self.with_missing(&mut problem);
        self.blocks(&mut problem, &parts, false);
        let solved = growing(problem, Sense::Minimise)?.try_solve().ok()?;
        let optimal = solved.status() == HighsModelStatus::Optimal;
        let worth =
            solved.get_solution().dual_rows().iter().take(parts.len()).map(|dual| dual.max(0.0) * THOUSAND).collect();
        Some(worth).filter(|_| optimal)
    }

    /// How often to take each block, by kind, so that the least is missing.
    pub fn table(&self) -> Option<Vec<Vec<usize>>> {
        let mut problem = ColProblem::new();
        let parts = self.with_missing(&mut problem);
        self.blocks(&mut problem, &parts, true);
        let mut model = growing(problem, Sense::Minimise)?;
        model.try_set_option("mip_max_nodes", NODES).ok()?;
        let solved = model.try_solve().ok()?;
        if solved.primal_solution_status() != HighsSolutionStatus::Feasible {
            return None;
        }
        let solution = solved.get_solution();
        let mut taken = solution.columns().iter().skip(parts.len()).map(|&x| x.round().max(0.0) as usize);
        let table: Vec<Vec<usize>> =
            self.kinds.iter().map(|kind| taken.by_ref().take(kind.1.len()).collect()).collect();
        let whole = table.iter().zip(&self.kinds).all(|(taken, kind)| taken.iter().sum::<usize>() == kind.0);
        Some(table).filter(|_| whole)
    }

    /// A row for each part, and a column for what is missing of it.
    fn with_missing(&self, problem: &mut ColProblem) -> Vec<Row> {
        let parts: Vec<Row> = self.needs.iter().map(|&need| problem.add_row(need as f64..)).collect();
        for (&row, &price) in parts.iter().zip(self.price) {
            problem.add_column(price as f64 / THOUSAND, 0.0.., [(row, 1.0)]);
        }
        parts
    }

    /// A row for each kind, and a column for each block.
    fn blocks(&self, problem: &mut ColProblem, parts: &[Row], whole: bool) {
        for (number, blocks) in &self.kinds {
            let number = *number as f64;
            let kind = problem.add_row(number..=number);
            for block in *blocks {
                let made = block.made.iter().zip(parts).filter(|m| *m.0 > 0).map(|(&made, &row)| (row, made as f64));
                let rows: Vec<(Row, f64)> = made.chain([(kind, 1.0)]).collect();
                let cost = if self.idle { block.idle as f64 } else { 0.0 };
                if whole {
                    problem.add_integer_column(cost, 0.0..=number, rows);
                } else {
                    problem.add_column(cost, 0.0..=number, rows);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(made: [i64; 2], idle: i64) -> Block {
        Block { histories: Vec::new(), made: made.to_vec(), idle }
    }

    /// Three days of two kinds. The first may make 4 and 0, 0 and 4 or 1 and 1 copies, the other 1 and 2.
    fn menu<'m>(days: &'m [Block], other: &'m [Block], needs: &'m [i64], idle: bool) -> Menu<'m> {
        Menu { needs, price: &[10_000, 20_000], kinds: vec![(2, days), (1, other)], idle }
    }

    #[test]
    fn fractions_of_blocks_make_more_than_whole_ones_and_say_what_copies_are_worth() {
        let (days, other) = ([block([4, 0], 0), block([0, 4], 0), block([1, 1], 0)], [block([1, 2], 0)]);
        let menu = menu(&days, &other, &[6, 5], false);
        // One and a quarter days of the one and three quarters of the other make 5 and 3, with 1 and 2 what is needed.
        let (share, worth) = menu.share().expect("a solution");
        assert!((share - 1.0).abs() < 1e-9, "{share}");
        assert!(
            (worth[0] * 6.0 + worth[1] * 5.0 - 1.0).abs() < 1e-9 && (worth[0] - worth[1]).abs() < 1e-9,
            "{worth:?}"
        );
        // Whole days lack a copy of the one or three of the other; a copy of the first costs less.
        let table = menu.table().expect("a table");
        assert_eq!(table, [vec![1, 1, 0], vec![1]]);
    }

    #[test]
    fn idle_minutes_count_beside_what_is_missing() {
        let (days, other) = ([block([4, 0], 50), block([0, 4], 50), block([1, 1], 0)], [block([1, 2], 0)]);
        // The large blocks save 30 minutes of missing copies for 50 idle ones.
        let menu = |needs: &'static [i64]| Menu {
            needs,
            price: &[10_000, 10_000],
            kinds: vec![(2, &days), (1, &other)],
            idle: true,
        };
        assert_eq!(menu(&[6, 5]).table().expect("a table"), [vec![0, 0, 2], vec![1]]);
        let worth = menu(&[6, 5]).worth().expect("a solution");
        assert!(worth.iter().all(|w| (w - 10_000.0).abs() < 1e-6), "{worth:?}");
        // Where nothing is missing, nothing is worth anything.
        assert_eq!(menu(&[2, 2]).worth().expect("a solution"), [0.0, 0.0]);
    }
}
