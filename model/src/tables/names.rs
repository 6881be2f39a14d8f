//! Names that tables declare and other tables refer to.

use super::findings::{At, Findings, Wrong};
use super::sheet::Line;
use super::words;
use crate::fault::FaultCode;
use std::collections::HashMap;

/// The names of one kind, numbered in the order of declaration.
#[derive(Debug)]
pub(crate) struct Names {
    /// What a name is called, with its article: `a printer`.
    kind: &'static str,
    /// Where names are declared.
    home: &'static str,
    /// What it is to name one that is not declared.
    code: FaultCode,
    list: Vec<String>,
    numbers: HashMap<String, (u32, Line)>,
    /// Names without their capitals, for those that only resemblance gives away.
    folded: HashMap<String, u32>,
    /// Whether every declared name could be read; where not, an unknown one is no news.
    pub(crate) complete: bool,
}

impl Names {
    pub(crate) fn new(kind: &'static str, home: &'static str, code: FaultCode) -> Names {
        let (list, numbers, folded) = Default::default();
        Names { kind, home, code, list, numbers, folded, complete: true }
    }

    /// Declares a name that no table lists by itself; one that differs from an earlier one in capitals only is told.
    pub(crate) fn mention(&mut self, name: &str, at: At<'_>, findings: &mut Findings) -> u32 {
        if let Some((number, _)) = self.numbers.get(name) {
            return *number;
        }
        let folded = name.to_lowercase();
        if let Some(earlier) = self.folded.get(&folded).and_then(|n| self.list.get(*n as usize)) {
            findings.add_once(at, FaultCode::LookAlike, name, |_| {
                let message = format!("\"{name}\" and \"{earlier}\" differ in capitals only.");
                Wrong::new(FaultCode::LookAlike, message, "Write it in one way throughout.")
            });
        }
        let number = self.declare(name, Line::Table(at.row.unwrap_or_default()));
        self.folded.entry(folded).or_insert(number);
        number
    }

    /// Declares a name on a row, or returns the number it has.
    pub(crate) fn declare(&mut self, name: &str, row: Line) -> u32 {
        // A table has far fewer rows than a `u32` has numbers.
        let next = self.list.len() as u32;
        let number = self.numbers.entry(name.to_owned()).or_insert((next, row)).0;
        if number == next {
            self.list.push(name.to_owned());
        }
        number
    }

    /// The number of a name.
    pub(crate) fn number(&self, name: &str) -> Option<u32> {
        self.numbers.get(name).map(|(number, _)| *number)
    }

    /// The row on which a name was declared.
    pub(crate) fn row(&self, name: &str) -> Option<Line> {
        self.numbers.get(name).map(|(_, row)| *row)
    }

    /// The number of a name that must be declared; told where it is not.
    pub(crate) fn find(&self, name: &str, at: At<'_>, findings: &mut Findings) -> Option<u32> {
        let found = self.number(name);
        if found.is_none() && self.complete {
            findings.add_once(at, self.code, name, |suggest| self.unknown(name, suggest));
        }
        found
    }

    /// What to say of a name that is not declared.
    fn unknown(&self, name: &str, suggest: bool) -> Wrong {
        let meant = words::did_you_mean(name, self.iter(), suggest);
        let help = format!("{meant}{} lists {}.", self.home, words::listed(self.iter()));
        Wrong::new(self.code, format!("\"{name}\" is not {}.", self.kind), help)
    }

    /// The names, in order.
    pub(crate) fn iter(&self) -> impl ExactSizeIterator<Item = &str> {
        self.list.iter().map(String::as_str)
    }

    /// The names, in order.
    pub(crate) fn into_list(self) -> Vec<String> {
        self.list
    }
}
