//! Questions that take several plans: the planner that answers them, and what happens to the plans.

use crate::args::Searching;
use crate::commands::plan::PAGE;
use crate::exit::Exit;
use crate::interrupt;
use crate::objects::planned;
use crate::progress::QuestionLine;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_checker as checker;
use platewright_model::overlay::Overlay;
use platewright_model::plan::Objective;
use platewright_model::{Instance, Plan, plan_files, scenario};
use platewright_report::html::plan::{Extras, page};
use platewright_solver::Progress;
use platewright_solver::decide::Planner;
use std::path::Path;
use std::time::{Duration, Instant};

/// Lets a planner answer, with a line that shows which question it is at.
pub fn with_planner<T>(searching: &Searching, voice: &Voice, ask: impl FnOnce(&Planner<'_>) -> T) -> T {
    let line = QuestionLine::new(voice.is_quiet());
    let until = searching.time_limit.and_then(|limit| Instant::now().checked_add(limit));
    let answer = ask(&planner(searching, until, &|question, progress| line.show(question, progress)));
    line.clear();
    answer
}

/// A planner for another thread, which shows no line.
pub fn quiet_planner(searching: &Searching, until: Option<Instant>) -> Planner<'static> {
    planner(searching, until, &|_, _| {})
}

fn planner<'p>(
    searching: &Searching,
    until: Option<Instant>,
    progress: &'p dyn Fn(&str, Option<Progress>),
) -> Planner<'p> {
    Planner {
        engine: searching.engine.into(),
        until,
        seed: searching.seed,
        stop: interrupt::watched(),
        progress,
        accept: &|instance, plan| checker::check(instance, plan).holds(),
    }
}

/// A plan of an answer, and where it goes.
pub struct Kept<'k> {
    /// What it was made for.
    pub instance: &'k Instance,
    /// The plan.
    pub plan: &'k Plan,
    /// What is other than in the tables; none: nothing.
    pub overlays: &'k [Overlay],
    /// That in a few words.
    pub about: &'k str,
    /// Other files that belong to it.
    pub others: Vec<(&'static str, Vec<u8>)>,
}

impl Kept<'_> {
    /// Asks the checker once more and writes the plan with the scenario it was made under.
    ///
    /// # Errors
    /// The checker refuses the plan, or the folder cannot be written.
    pub fn write(self, folder: &Path) -> Result<(), Refusal> {
        let verdict = checker::check(self.instance, self.plan);
        if !verdict.holds() {
            return Err(Refusal::NotBelieved(verdict.breaches));
        }
        let mut others = self.others;
        if self.overlays.iter().any(|overlay| !overlay.is_empty()) {
            others.push((scenario::KEPT, scenario::text(self.about, self.overlays).into_bytes()));
        }
        others.push((PAGE, page(self.instance, self.plan, &Extras::of(self.instance, self.plan)).into_bytes()));
        plan_files::write_with(self.plan, self.instance, folder, others).map_err(|error| Refusal::Call {
            message: format!("the plan cannot be written into {}: {error}", shown(folder)),
            help:
                "make room or make the folder writable, or name another with --out; what was there before is untouched"
                    .to_owned(),
        })
    }
}

/// Says that there is no plan, and why.
pub fn no_plan(proven: bool, reasons: &[String], took: Duration, json: bool, voice: &mut Voice) -> Exit {
    voice.error(if proven { "no plan exists within the horizon" } else { "no plan was found" });
    reasons.iter().for_each(|reason| voice.message(&format!("    {reason}\n")));
    if json {
        voice.object(&planned::none(Objective::Soonest, proven, reasons, took));
    }
    Exit::NoPlan
}
