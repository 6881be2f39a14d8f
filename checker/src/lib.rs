//! Re-verifies any plan from the instance's tables alone.
//!
//! A plan is believed only after this crate has passed it. It therefore shares nothing derived with the planners: it
//! expands the kits, lays out the shifts and works out every figure by itself, from the rows of the instance, so that a
//! mistake made there cannot hide here.
//!
//! The work goes one way. `book` resolves the plan's names and draws in its times; `case` holds that beside what the
//! tables say (`demand`, `roster`); each rule of `rules` reads the case and lists its breaches. A plan is read back from files
//! that anybody may have edited, so whatever its names, times and counts say, it is judged and nothing panics; and one
//! mistake is told once where that is possible, under the rule that it breaks first.

mod book;
mod breach;
mod case;
mod demand;
mod figures;
#[cfg(test)]
mod folder;
mod past;
mod roster;
mod rules;
mod span;
mod wall;

pub use breach::Breach;
pub use figures::{Figures, ShipmentFigures};

use platewright_model::{Instance, Plan, Rule};

/// What the checker found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// Every breach, in the order of [`Rule::ALL`], within a rule in the plan's order.
    pub breaches: Vec<Breach>,
    /// Every figure of the plan, recomputed; of use even where the plan does not hold.
    pub figures: Figures,
}

impl Report {
    /// Whether the plan keeps every rule.
    pub fn holds(&self) -> bool {
        self.breaches.is_empty()
    }
}

/// Judges a plan by every rule and recomputes its figures.
pub fn check(instance: &Instance, plan: &Plan) -> Report {
    let case = case::Case::open(instance, plan);
    let judged = |rule| rules::breaches(rule, &case);
    let breaches =
        Rule::ALL.into_iter().flat_map(judged).filter(|b| !case.past.is_over(b.rule, b.from, b.to)).collect();
    Report { breaches, figures: case.figures }
}
