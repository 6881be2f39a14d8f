//! Collects faults while files are read, so that all are told at once, each root fault once.

use crate::fault::{Fault, FaultCode, Faults};
use std::collections::HashMap;

/// For how many unknown words a similar one is looked for.
const SUGGESTIONS: usize = 200;

/// What is wrong with one piece of text, before it is known where the text stands.
#[derive(Debug)]
pub(crate) struct Wrong {
    pub(crate) code: FaultCode,
    pub(crate) message: String,
    pub(crate) help: String,
}

impl Wrong {
    pub(crate) fn new(code: FaultCode, message: impl Into<String>, help: impl Into<String>) -> Wrong {
        Wrong { code, message: message.into(), help: help.into() }
    }
}

/// A place in a file.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At<'a> {
    pub(crate) file: &'a str,
    pub(crate) row: Option<u64>,
    pub(crate) column: Option<&'a str>,
}

impl<'a> At<'a> {
    /// The file as a whole.
    pub(crate) fn file(file: &'a str) -> At<'a> {
        At { file, row: None, column: None }
    }

    /// A column or key of it.
    pub(crate) fn column(self, column: &'a str) -> At<'a> {
        At { column: Some(column), ..self }
    }

    /// A row of it.
    pub(crate) fn row(self, row: u64) -> At<'a> {
        At { row: Some(row), ..self }
    }
}

/// All faults found so far.
#[derive(Debug, Default)]
pub(crate) struct Findings {
    faults: Vec<Fault>,
    /// Where a word was first found wrong, and on how many rows since.
    repeated: HashMap<(FaultCode, String, String), (usize, u64)>,
}

impl Findings {
    /// Adds a fault.
    pub(crate) fn add(&mut self, at: At<'_>, wrong: Wrong) {
        self.faults.push(Fault {
            code: wrong.code,
            file: at.file.to_owned(),
            row: at.row,
            column: at.column.map(str::to_owned),
            message: wrong.message,
            help: wrong.help,
        });
    }

    /// Adds a fault about a word; the same word in the same column is one fault, however many rows say it. What to say
    /// is asked for with whether to look for a similar word, which is not worth its time once very many are unknown.
    pub(crate) fn add_once(&mut self, at: At<'_>, code: FaultCode, word: &str, wrong: impl FnOnce(bool) -> Wrong) {
        let place = format!("{} {}", at.file, at.column.unwrap_or_default());
        if let Some((_, more)) = self.repeated.get_mut(&(code, place.clone(), word.to_owned())) {
            *more += 1;
            return;
        }
        self.repeated.insert((code, place, word.to_owned()), (self.faults.len(), 0));
        let suggest = self.repeated.len() <= SUGGESTIONS;
        self.add(at, wrong(suggest));
    }

    /// Whether any of these files has faults so far.
    pub(crate) fn any_in(&self, files: &[&str]) -> bool {
        self.faults.iter().any(|fault| files.contains(&fault.file.as_str()))
    }

    /// Whether any other file has faults so far.
    pub(crate) fn any_outside(&self, files: &[&str]) -> bool {
        self.faults.iter().any(|fault| !files.contains(&fault.file.as_str()))
    }

    /// Everything found, in the order of `files` (any other file first), then by row; none where all is well.
    pub(crate) fn finish(mut self, files: &[&str]) -> Option<Faults> {
        for &(first, more) in self.repeated.values().filter(|(_, more)| *more > 0) {
            let rows = if more == 1 { "One more row says".to_owned() } else { format!("{more} more rows say") };
            self.faults[first].message.push_str(&format!(" {rows} the same."));
        }
        let rank = |fault: &Fault| files.iter().position(|file| *file == fault.file).map_or(0, |n| n + 1);
        self.faults.sort_by_key(|fault| (rank(fault), fault.row));
        (!self.faults.is_empty()).then_some(Faults(self.faults))
    }
}
