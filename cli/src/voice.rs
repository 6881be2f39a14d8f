//! The one place that writes to standard output and standard error.
//!
//! Results go to standard output, messages to standard error. Colour appears only where a terminal shows it and
//! `NO_COLOR` is not set. A reader that stops reading early ends the output, not the program.

use crate::exit::Exit;
use anstream::AutoStream;
use anstyle::{AnsiColor, Style};
use serde::Serialize;
use std::io::{self, ErrorKind, Stderr, Stdout, Write};

/// Speaks for a command.
pub struct Voice {
    quiet: bool,
    out: AutoStream<Stdout>,
    err: AutoStream<Stderr>,
    out_failed: Option<io::Error>,
}

impl Voice {
    /// A voice; a quiet one says nothing but errors and objects.
    pub fn new(quiet: bool) -> Voice {
        Voice { quiet, out: anstream::stdout(), err: anstream::stderr(), out_failed: None }
    }

    /// Whether anything but errors is said.
    pub fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// The answer, for a person.
    pub fn result(&mut self, text: &str) {
        if !self.quiet {
            self.write_out(text);
        }
    }

    /// The answer, for a program: one JSON object on a line of its own.
    pub fn object(&mut self, object: &impl Serialize) {
        match serde_json::to_string_pretty(object) {
            Ok(text) => self.write_out(&format!("{text}\n")),
            Err(error) => self.error(&format!("the JSON object cannot be written: {error}")),
        }
    }

    /// Something worth knowing.
    pub fn note(&mut self, words: &str) {
        if !self.quiet {
            self.labelled("note", AnsiColor::Cyan, words);
        }
    }

    /// What went wrong.
    pub fn error(&mut self, words: &str) {
        self.labelled("error", AnsiColor::Red, words);
    }

    /// What to do about it.
    pub fn hint(&mut self, words: &str) {
        self.labelled("what to do", AnsiColor::Cyan, words);
    }

    /// A message as it stands.
    pub fn message(&mut self, text: &str) {
        // With standard error gone there is nobody left to tell.
        let _ = self.err.write_all(text.as_bytes()).and_then(|()| self.err.flush());
    }

    /// How the program ends after all this: an answer that could not be written, on a full disk for one, is not done.
    pub fn finish(mut self, exit: Exit) -> Exit {
        match self.out_failed.take() {
            Some(error) if error.kind() != ErrorKind::BrokenPipe => {
                self.error(&format!("standard output cannot be written: {error}"));
                Exit::Unusable
            }
            _ => exit,
        }
    }

    fn labelled(&mut self, label: &str, colour: AnsiColor, words: &str) {
        let style = Style::new().bold().fg_color(Some(colour.into()));
        self.message(&format!("{style}{label}:{style:#} {words}\n"));
    }

    fn write_out(&mut self, text: &str) {
        if self.out_failed.is_none() {
            self.out_failed = self.out.write_all(text.as_bytes()).and_then(|()| self.out.flush()).err();
        }
    }
}
