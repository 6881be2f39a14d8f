//! Cells: a large room as copies of a small one.
//!
//! A thousand alike printers with forty operators are twenty rooms of fifty printers with two. Divide each class of
//! printers, each pool of operators, what nights and stock hold, and every need by the same number, and what is left is
//! a *cell*. A plan of the cell, followed in each of its copies, is a plan of the whole but for what the division left
//! over: printers and operators without a cell, and copies without a run. The linear bound of the cell is that of the
//! whole, since all its rows are divided alike. So a plan of a large room costs what one of a small room does, and what
//! is left over is mended on the whole.
//!
//! Where a large room does more than its cells together, printers may be set [`apart`] first.

mod apart;

use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::{Min, Order, Problem};
use crate::schedule::{PlacedRun, PlacedTask, Schedule};

/// A cell is to have at least so many printers: the smaller the room, the worse its runs fit together.
const CELL_PRINTERS: usize = 50;
/// At most this share of the printers, and of the operators, may be without a cell, in hundredths.
const WITHOUT_CELL: usize = 4;

/// An instance cut into alike cells.
pub struct Division<'a> {
    /// How many.
    pub cells: usize,
    /// Each of them, apart from who exactly the printers and operators are.
    pub cell: Problem<'a>,
    /// By pool of a cell, the pool of the whole.
    pools: Vec<usize>,
    /// Histories of printers that are in no cell.
    apart: Vec<Vec<Leg>>,
}

/// Cuts the instance into as many cells as it has room for; `None` where it is small or does not divide.
pub fn divide<'a>(problem: &Problem<'a>) -> Option<Division<'a>> {
    let printers: usize = problem.classes.iter().map(|c| c.printers.len()).sum();
    let most = printers / CELL_PRINTERS;
    let without = |cells: usize| -> Option<usize> {
        let of_printers: usize = problem.classes.iter().map(|c| c.printers.len() % cells).sum();
        let share = |left: usize, all: usize| 1000 * left / all.max(1);
        let of_pools = problem.pools.iter().map(|p| share(p.operators.len() % cells, p.operators.len())).max();
        let of_nights = problem.night_printers.map_or(0, |n| share(n as usize % cells, n as usize));
        let worst = share(of_printers, printers).max(of_pools.unwrap_or(0)).max(of_nights);
        (worst <= 10 * WITHOUT_CELL).then_some(worst)
    };
    let rated = (2..=most).filter_map(|cells| Some((without(cells)?, std::cmp::Reverse(cells))));
    let (_, std::cmp::Reverse(cells)) = rated.min()?;
    Some(Division { cells, cell: cell(problem, cells), pools: (0..problem.pools.len()).collect(), apart: Vec::new() })
}

/// One of so many cells; what the division leaves over is in none.
pub(crate) fn cell<'a>(problem: &Problem<'a>, cells: usize) -> Problem<'a> {
    let mut cell = problem.clone();
    for class in &mut cell.classes {
        class.printers.truncate(class.printers.len() / cells);
    }
    for pool in &mut cell.pools {
        pool.operators.truncate(pool.operators.len() / cells);
    }
    let part_of = cells as i64;
    cell.night_printers = cell.night_printers.map(|n| n / part_of);
    for stock in &mut cell.stock {
        *stock /= part_of;
    }
    // What chance there is concerns the whole, whose aims already hold the spares.
    cell.confidence = None;
    for order in &mut cell.orders {
        let needs: Vec<(usize, i64)> =
            order.aims.iter().map(|&(part, n)| (part, (n + part_of / 2) / part_of)).filter(|n| n.1 > 0).collect();
        // Boxes are packed on the whole; the parts they hold are the same.
        *order = Order { needs: needs.clone(), aims: needs.clone(), least: needs, boxes: Vec::new(), ..order.clone() };
    }
    cell
}

impl Division<'_> {
    /// The whole floor with a cell's plan in every cell, and beside it what is apart.
    pub fn copied<'p>(&self, whole: &'p Problem<'p>, plan: &Schedule, deadlines: &[Min]) -> Floor<'p> {
        let in_cell = |class: usize| self.cell.classes[class].printers.len();
        let on_whole = |task: PlacedTask| PlacedTask { pool: self.pools[task.pool], ..task };
        let of_cell = |cell: usize| {
            plan.runs.iter().map(move |run| PlacedRun {
                slot: run.slot + cell * in_cell(run.class),
                load: run.load.map(on_whole),
                harvest: on_whole(run.harvest),
                ..*run
            })
        };
        let runs: Vec<PlacedRun> = (0..self.cells).flat_map(of_cell).collect();
        let mut floor = Floor::with_runs(whole, &runs, deadlines);
        self.book_apart(&mut floor);
        floor
    }
}
