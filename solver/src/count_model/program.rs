//! A mixed-integer program with names, all of whose figures are whole numbers.
//!
//! The modelling library behind the rest of this crate forgets names, and names are what makes a model readable to
//! somebody else; so the few things a model consists of are kept here.

/// A variable, from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// Unique, without spaces.
    pub name: String,
    /// Its largest value; none: no limit.
    pub most: Option<i64>,
    /// Whether it is a whole number.
    pub whole: bool,
    /// What one of it costs in the objective, which is minimised.
    pub cost: i64,
}

/// How a row's sum compares with its right side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// No more than.
    AtMost,
    /// No less than.
    AtLeast,
    /// Just as much.
    Equal,
}

/// A row: a sum of variables against a constant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Unique, without spaces.
    pub name: String,
    /// How they compare.
    pub sense: Sense,
    /// The constant.
    pub right: i64,
    /// Variables, by their position, and how often each counts; a variable appears once.
    pub terms: Vec<(usize, i64)>,
}

/// A program to be minimised.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Program {
    variables: Vec<Variable>,
    rows: Vec<Row>,
}

impl Program {
    /// The variables.
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// The rows.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Adds a whole number from 0.
    pub(super) fn whole(&mut self, name: String, most: i64) -> usize {
        self.add(Variable { name, most: Some(most), whole: true, cost: 0 })
    }

    /// Adds a number from 0 that need not be whole: where the whole numbers are, it is too, or may be.
    pub(super) fn amount(&mut self, name: String, most: Option<i64>) -> usize {
        self.add(Variable { name, most, whole: false, cost: 0 })
    }

    /// Adds what a variable costs.
    pub(super) fn charge(&mut self, variable: usize, cost: i64) {
        self.variables[variable].cost += cost;
    }

    fn add(&mut self, variable: Variable) -> usize {
        self.variables.push(variable);
        self.variables.len() - 1
    }

    /// Adds a row; terms of one variable are added up, those that cancel are left out.
    pub(super) fn row(&mut self, name: String, mut terms: Vec<(usize, i64)>, sense: Sense, right: i64) {
        terms.sort_unstable_by_key(|term| term.0);
        terms.dedup_by(|later, earlier| {
            let same = later.0 == earlier.0;
            if same {
                earlier.1 += later.1;
            }
            same
        });
        terms.retain(|term| term.1 != 0);
        self.rows.push(Row { name, sense, right, terms });
    }
}
