//! The line that shows how the search stands, on a terminal's standard error only.

use indicatif::{ProgressBar, ProgressStyle};
use platewright_model::plan::Objective;
use platewright_model::{Instance, Minutes, WeightedMinutes};
use platewright_report::wall::Wall;
use platewright_solver::Progress;
use std::time::Duration;

/// A progress line.
pub struct ProgressLine<'a> {
    instance: &'a Instance,
    objective: Objective,
    bar: ProgressBar,
}

impl<'a> ProgressLine<'a> {
    /// A line; a hidden one shows nothing.
    pub fn new(instance: &'a Instance, objective: Objective, hidden: bool) -> ProgressLine<'a> {
        let bar = bar(hidden);
        ProgressLine { instance, objective, bar }
    }

    /// Shows where the search is.
    pub fn show(&self, progress: &Progress) {
        self.bar.set_message(words(self.instance, self.objective, progress));
    }

    /// Takes the line away.
    pub fn clear(self) {
        self.bar.finish_and_clear();
    }
}

/// A line that counts what is done of several things.
pub struct CountLine {
    bar: ProgressBar,
}

impl CountLine {
    /// A line; a hidden one shows nothing.
    pub fn new(doing: &'static str, of: usize, hidden: bool) -> CountLine {
        let bar = bar(hidden);
        bar.set_length(of as u64);
        if let Ok(style) = ProgressStyle::with_template("{elapsed:>4}  {prefix} {pos} of {len} done  {wide_msg}") {
            bar.set_style(style);
        }
        bar.set_prefix(doing);
        CountLine { bar }
    }

    /// One more is done.
    pub fn one_more(&self, name: &str) {
        self.bar.inc(1);
        self.bar.set_message(format!("last: {name}"));
    }

    /// Takes the line away.
    pub fn clear(self) {
        self.bar.finish_and_clear();
    }
}

fn bar(hidden: bool) -> ProgressBar {
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    let bar = if hidden || dumb { ProgressBar::hidden() } else { ProgressBar::new_spinner() };
    if let Ok(style) = ProgressStyle::with_template("{elapsed:>4}  {wide_msg}") {
        bar.set_style(style);
    }
    bar.set_message("starting");
    bar.enable_steady_tick(Duration::from_millis(250));
    bar
}

fn words(instance: &Instance, objective: Objective, progress: &Progress) -> String {
    let (say, none): (&dyn Fn(Minutes) -> String, &str) = match objective {
        Objective::Soonest => (&|minutes| Wall::of(instance).say(instance.farm.start + minutes), "none before"),
        Objective::LeastIdle => (&|minutes| format!("{minutes} idle"), "none below"),
    };
    let mut told = vec![progress.phase.to_owned()];
    if let Some(value) = progress.value {
        told.push(format!("best so far {}", say(value)));
    }
    if let Some(bound) = progress.bound.filter(|b| *b > Minutes::ZERO) {
        told.push(format!("{none} {}", say(bound)));
    }
    if let Some(late) = progress.late.filter(|l| *l > WeightedMinutes::ZERO) {
        told.push(format!("late {}", Minutes(late.in_minutes().round() as i64)));
    }
    told.join(" | ")
}

/// A line for an answer that takes several plans: which question is at hand, and how the search for it stands.
pub struct QuestionLine {
    bar: ProgressBar,
}

impl QuestionLine {
    /// A line; a hidden one shows nothing.
    pub fn new(hidden: bool) -> QuestionLine {
        QuestionLine { bar: bar(hidden) }
    }

    /// Shows where the search is.
    pub fn show(&self, question: &str, progress: Option<Progress>) {
        let phase = progress.map_or_else(String::new, |progress| format!(" | {}", progress.phase));
        self.bar.set_message(format!("{question}{phase}"));
    }

    /// Takes the line away.
    pub fn clear(self) {
        self.bar.finish_and_clear();
    }
}
