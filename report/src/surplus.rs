//! Surplus: parts made or in stock that no shipment takes.

use crate::page::{Grid, Lean, Page};
use crate::phases::Names;
use platewright_model::instance::PartId;
use platewright_model::plan::Source;
use platewright_model::{Count, Instance, Plan};
use std::collections::HashMap;

/// Where the copies of one part come from and where they go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartBalance {
    /// Which part.
    pub part: PartId,
    /// In stock at the start.
    pub stock: Count,
    /// Printed, on the runs of `running.csv` too.
    pub printed: Count,
    /// Of the stock, what shipments take.
    pub taken_from_stock: Count,
    /// What shipments take, from stock and runs.
    pub taken: Count,
}

impl PartBalance {
    /// What no shipment takes.
    pub fn surplus(&self) -> Count {
        Count((self.stock + self.printed).0.saturating_sub(self.taken.0))
    }

    /// What no shipment takes of the stock.
    pub fn surplus_stock(&self) -> Count {
        Count(self.stock.0.saturating_sub(self.taken_from_stock.0))
    }
}

/// The balance of every part, in the instance's order.
pub fn balances(instance: &Instance, plan: &Plan) -> Vec<PartBalance> {
    let mut balances: Vec<PartBalance> = (0..)
        .zip(&instance.parts)
        .map(|(i, _)| PartBalance {
            part: PartId(i),
            stock: Count(0),
            printed: Count(0),
            taken_from_stock: Count(0),
            taken: Count(0),
        })
        .collect();
    for row in &instance.stock {
        if let Some(balance) = balances.get_mut(row.part.index()) {
            balance.stock += row.quantity;
        }
    }
    let names = Names::of(instance);
    for run in &plan.runs {
        for &(part, copies) in names.plate_of(run).into_iter().flat_map(|(_, _, plate)| &plate.copies) {
            if let Some(balance) = balances.get_mut(part.index()) {
                balance.printed += copies;
            }
        }
    }
    let parts: HashMap<&str, usize> = instance.parts.iter().enumerate().map(|(i, p)| (p.name.as_str(), i)).collect();
    for row in &plan.allocation {
        if let Some(balance) = parts.get(row.part.as_str()).and_then(|&i| balances.get_mut(i)) {
            balance.taken += row.count;
            if row.source == Source::Stock {
                balance.taken_from_stock += row.count;
            }
        }
    }
    balances
}

const SHOWN: usize = 12;

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let mut left: Vec<PartBalance> = balances(instance, plan).into_iter().filter(|b| b.surplus() > Count(0)).collect();
    page.heading("Surplus");
    if left.is_empty() {
        page.say("Nothing: every part made or in stock goes into a shipment.");
        return;
    }
    left.sort_by_key(|b| std::cmp::Reverse(b.surplus()));
    let mut grid = Grid::new([
        ("part", Lean::Left),
        ("in stock", Lean::Right),
        ("printed", Lean::Right),
        ("shipped", Lean::Right),
        ("surplus", Lean::Right),
    ]);
    for balance in left.iter().take(SHOWN) {
        grid.row([
            instance.parts.get(balance.part.index()).map(|p| p.name.clone()).unwrap_or_default(),
            balance.stock.to_string(),
            balance.printed.to_string(),
            balance.taken.to_string(),
            balance.surplus().to_string(),
        ]);
    }
    page.table(&grid);
    if left.len() > SHOWN {
        let copies: u64 = left.iter().skip(SHOWN).map(|b| b.surplus().0).sum();
        page.say(&format!("and {copies} more of {} other parts", left.len() - SHOWN));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn what_no_shipment_takes_is_left_over() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        let balances_of = |plan: &Plan| -> Vec<(u64, u64)> {
            balances(&instance, plan).iter().map(|b| (b.surplus().0, b.surplus_stock().0)).collect()
        };
        assert_eq!(balances_of(&plan), [(1, 1), (0, 0)]);
        plan.allocation[0].source = Source::Stock;
        plan.allocation[0].count = Count(1);
        assert_eq!(balances_of(&plan), [(4, 0), (0, 0)]);
        plan.allocation[0].count = Count(99);
        assert_eq!(balances_of(&plan), [(0, 0), (0, 0)], "a plan that takes more than there is leaves nothing");
    }
}
