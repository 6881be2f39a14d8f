//! `plan`: read the tables, search, check what was found, write it, and say what it promises.

use crate::args::PlanArgs;
use crate::exit::Exit;
use crate::interrupt;
use crate::objects::planned;
use crate::out_folder;
use crate::progress::ProgressLine;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_checker as checker;
use platewright_model::{Instance, Plan, plan_files, tables};
use platewright_report as report;
use platewright_report::html::plan::Extras;
use platewright_solver::{Answer, Request, allow_threads, solve};
use std::path::Path;
use std::time::Instant;

/// The plan's page, beside its files.
pub const PAGE: &str = "report.html";

/// Runs the command.
///
/// # Errors
/// Unusable tables, an out folder that cannot be written, or a plan that the checker refuses.
pub fn run(args: &PlanArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let begun = Instant::now();
    let out = args.out.clone().unwrap_or_else(|| args.folder.join("plan"));
    let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    out_folder::approve(&args.folder, &out)?;
    match search(args, &instance, voice) {
        Answer::Plan(plan) => {
            let page = drawn_and_believed(&instance, &plan)?;
            plan_files::write_with(&plan, &instance, &out, vec![(PAGE, page.into_bytes())])
                .map_err(|error| not_written(&out, &error))?;
            if args.json {
                voice.object(&planned::plan(&instance, &plan, begun.elapsed()));
                plan.claims.notes.iter().for_each(|note| voice.note(note));
            } else {
                voice.result(&report::summary(&instance, &plan));
            }
            voice.note(&format!(
                "the plan is in {}: plan.json, runs.csv, tasks.csv, allocation.csv, shipments.csv, and for a browser {PAGE}",
                shown(&out)
            ));
            Ok(Exit::Done)
        }
        Answer::None { proven, reasons } => {
            voice.error(if proven { "no plan exists within the horizon" } else { "no plan was found" });
            reasons.iter().for_each(|reason| voice.message(&format!("    {reason}\n")));
            if args.json {
                voice.object(&planned::none(args.objective.into(), proven, &reasons, begun.elapsed()));
            }
            Ok(Exit::NoPlan)
        }
    }
}

fn search(args: &PlanArgs, instance: &Instance, voice: &Voice) -> Answer {
    args.threads.into_iter().for_each(allow_threads);
    let line = ProgressLine::new(instance, args.objective.into(), voice.is_quiet());
    let answer = solve(
        instance,
        &Request {
            objective: args.objective.into(),
            engine: args.searching.engine.into(),
            time_limit: args.searching.time_limit,
            seed: args.searching.seed,
            stop: interrupt::watched(),
            progress: &|progress| line.show(&progress),
            accept: &|plan| checker::check(instance, plan).holds(),
        },
    );
    line.clear();
    answer
}

/// The plan's page, drawn while the checker judges the plan.
fn drawn_and_believed(instance: &Instance, plan: &Plan) -> Result<String, Refusal> {
    std::thread::scope(|scope| {
        let page = scope.spawn(|| report::html::plan::page(instance, plan, &Extras::of(instance, plan)));
        believe(instance, plan)?;
        Ok(page.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}

/// The search has asked the checker already; what is written is asked about once more, whatever the search did since.
fn believe(instance: &Instance, plan: &Plan) -> Result<(), Refusal> {
    let verdict = checker::check(instance, plan);
    if verdict.holds() { Ok(()) } else { Err(Refusal::NotBelieved(verdict.breaches)) }
}

fn not_written(out: &Path, error: &std::io::Error) -> Refusal {
    Refusal::Call {
        message: format!("the plan cannot be written into {}: {error}", shown(out)),
        help: "make room or make the folder writable, or name another with --out; what was there before is untouched"
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::commands::new;
    use platewright_model::{Minutes, plan::Objective};
    use platewright_solver::EngineChoice;
    use std::sync::atomic::AtomicBool;

    #[test]
    fn a_plan_that_the_checker_refuses_is_told_as_a_mistake_of_the_program() {
        let folder = tempfile::tempdir().unwrap();
        new::make(folder.path()).unwrap();
        let instance = tables::read(folder.path()).unwrap();
        let request = Request {
            objective: Objective::Soonest,
            engine: EngineChoice::Quick,
            time_limit: None,
            seed: 0,
            stop: &AtomicBool::new(false),
            progress: &|_| {},
            accept: &|_| true,
        };
        let Answer::Plan(mut plan) = solve(&instance, &request) else { panic!("no plan") };
        assert!(believe(&instance, &plan).is_ok());
        plan.claims.makespan += Minutes(1);
        let refusal = believe(&instance, &plan).unwrap_err();
        assert!(
            matches!(&refusal, Refusal::NotBelieved(breaches) if breaches[0].rule.code() == "CLAIM"),
            "{refusal:?}"
        );
        assert_eq!(refusal.tell(&mut Voice::new(true), false), Exit::NoPlan);
    }
}
