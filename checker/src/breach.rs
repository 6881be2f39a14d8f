//! One breach of one rule: which rule, who and what, when, and why in the planner's words.

use crate::span::Span;
use platewright_model::{Instant, Rule};
use std::fmt;

/// One breach. What does not apply is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    /// The rule that is broken.
    pub rule: Rule,
    /// The run's name, as the plan has it.
    pub run: Option<String>,
    /// The printer's name.
    pub printer: Option<String>,
    /// The operator's name.
    pub operator: Option<String>,
    /// The shipment's name.
    pub shipment: Option<String>,
    /// When it starts to be wrong. Times beyond any calendar are drawn in to two million years from 1970.
    pub from: Option<Instant>,
    /// When it stops to be wrong; none where only a moment is wrong.
    pub to: Option<Instant>,
    /// What is wrong, in the planner's words, times in the farm's wall time.
    pub message: String,
}

impl Breach {
    pub(crate) fn of(rule: Rule, message: impl Into<String>) -> Breach {
        Breach {
            rule,
            run: None,
            printer: None,
            operator: None,
            shipment: None,
            from: None,
            to: None,
            message: message.into(),
        }
    }

    pub(crate) fn run(mut self, name: &str) -> Breach {
        self.run = Some(name.to_owned());
        self
    }

    pub(crate) fn printer(mut self, name: &str) -> Breach {
        self.printer = Some(name.to_owned());
        self
    }

    pub(crate) fn operator(mut self, name: &str) -> Breach {
        self.operator = Some(name.to_owned());
        self
    }

    pub(crate) fn shipment(mut self, name: &str) -> Breach {
        self.shipment = Some(name.to_owned());
        self
    }

    pub(crate) fn at(mut self, moment: Instant) -> Breach {
        self.from = Some(moment);
        self
    }

    pub(crate) fn during(mut self, span: Span) -> Breach {
        self.from = Some(span.from);
        self.to = Some(span.to);
        self
    }
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.rule, self.message)
    }
}
