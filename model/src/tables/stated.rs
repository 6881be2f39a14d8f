//! A figure that several rows may state and on which they must agree; a blank cell says nothing.

use super::findings::{Findings, Wrong};
use super::sheet::{Line, Row};
use crate::fault::FaultCode;

/// What has been stated so far.
#[derive(Debug, Clone)]
pub(crate) struct Stated<T> {
    said: Option<Said<T>>,
}

#[derive(Debug, Clone)]
struct Said<T> {
    value: T,
    text: String,
    row: Line,
}

impl<T> Default for Stated<T> {
    fn default() -> Self {
        Stated { said: None }
    }
}

impl<T: Copy + PartialEq> Stated<T> {
    /// Takes in what a row's cell says; `whose` tells what the figure belongs to.
    pub(crate) fn take(&mut self, value: Option<T>, row: Row<'_>, column: &str, whose: &str, findings: &mut Findings) {
        let Some(value) = value else { return };
        let text = row.text(column).unwrap_or_default();
        match &self.said {
            None => self.said = Some(Said { value, text: text.to_owned(), row: row.line }),
            Some(said) if said.value != value => {
                let message =
                    format!("{text} contradicts {} on row {}: {whose} has one value of {column}.", said.text, said.row);
                let help = "Make the rows agree; a blank cell follows the other rows.";
                findings.add(row.at_cell(column), Wrong::new(FaultCode::Disagreement, message, help));
            }
            Some(_) => {}
        }
    }

    /// The value, where a row states one.
    pub(crate) fn value(&self) -> Option<T> {
        self.said.as_ref().map(|said| said.value)
    }
}
