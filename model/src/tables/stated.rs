//! A figure that several rows may state and on which they must agree; a blank cell says nothing.

use super::findings::{At, Findings, Wrong};
use crate::fault::FaultCode;

/// What has been stated so far, and on which row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stated<T> {
    said: Option<(T, u64)>,
}

impl<T> Default for Stated<T> {
    fn default() -> Self {
        Stated { said: None }
    }
}

impl<T: Copy + PartialEq> Stated<T> {
    /// Takes in one row's cell; `whose` tells what the figure belongs to.
    pub(crate) fn take(
        &mut self,
        value: Option<T>,
        text: Option<&str>,
        at: At<'_>,
        whose: &str,
        findings: &mut Findings,
    ) {
        match (self.said, value) {
            (None, Some(value)) => self.said = Some((value, at.row.unwrap_or_default())),
            (Some((said, row)), Some(value)) if said != value => {
                let message =
                    format!("{} contradicts row {row}, which says otherwise of {whose}.", text.unwrap_or_default());
                let help = "Make the rows agree; a blank cell follows the other rows.";
                findings.add(at, Wrong::new(FaultCode::Disagreement, message, help));
            }
            _ => {}
        }
    }

    /// The value, where a row states one.
    pub(crate) fn value(self) -> Option<T> {
        self.said.map(|(value, _)| value)
    }
}
