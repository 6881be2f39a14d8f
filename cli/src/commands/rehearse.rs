//! `rehearse`: read a plan, make sure that it holds, live through it many times, and say how its dates do.

use crate::args::RehearseArgs;
use crate::exit::Exit;
use crate::interrupt;
use crate::objects::rehearsed;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use crate::whole_file;
use platewright_checker as checker;
use platewright_model::{Instance, Instant, Minutes, Plan, past, plan_files, tables};
use platewright_report::html::plan::{Extras, page, rehearsed as rehearsed_piece};
use platewright_report::rehearsal::{self, Rehearsal, RunSlack, ShipmentDates, TightHour};
use platewright_solver::follow::Script;
use platewright_solver::follow::slack::ENDLESS;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::rehearse::{self, Odds, Rehearsed};
use platewright_solver::replan::{self, Moment};

/// Runs the command.
///
/// # Errors
/// Unusable tables or plan files, or a plan that breaks rules and so cannot be lived through.
pub fn run(args: &RehearseArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    if let Some(file) = &args.html {
        whole_file::approve(file, whole_file::PAGE)?;
    }
    let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    let plan = plan_files::read(&instance, &args.plan).map_err(Refusal::tables(&args.plan))?.plan;
    let verdict = checker::check(&instance, &plan);
    if !verdict.holds() {
        voice.error(&format!("the plan breaks {} rules, so it cannot be rehearsed", verdict.breaches.len()));
        voice.hint(&format!("see what is wrong: platewright check {} {}", shown(&args.folder), shown(&args.plan)));
        return Ok(Exit::No);
    }
    let since = plan.since.unwrap_or(instance.farm.start);
    let room = if plan.since.is_some() { past::room(&instance, since) } else { instance.clone() };
    let (plan, fates) = past::fates(&instance, &plan, since).map_err(Refusal::tables(&args.folder))?;
    let problem = Problem::for_least_idle(&room);
    let script = Script::of(&problem, &plan).map_err(|wrong| Refusal::Call {
        message: wrong.to_string(),
        help: "plan again: the tables have changed since".to_owned(),
    })?;
    let moment = Moment { room: &room, digest: plan.instance_digest.clone(), at: since, fates: &fates };
    let past = plan.since.map(|_| replan::of_script(&moment, &script));
    let odds = Odds::of(&instance, &script);
    let found =
        rehearse::rehearse(&script, &odds, past.as_ref(), args.times, args.seed, args.threads, interrupt::watched());
    if found.times < args.times {
        voice.note(&format!("interrupted: these are {} of {} rehearsals", found.times, args.times));
    }
    let told = told(&instance, &plan, &script, &found, args.seed);
    if let Some(file) = &args.html {
        let mut extras = Extras::of(&instance, &plan);
        extras.additions.push(rehearsed_piece(&instance, &told));
        whole_file::write(file, page(&instance, &plan, &extras))?;
        voice.note(&format!("the plan's page with the rehearsal is in {}", shown(file)));
    }
    if args.json {
        voice.object(&rehearsed::rehearsed(&instance, &told));
    } else {
        voice.result(&rehearsal::page(&instance, &told));
    }
    let missed = |s: &&ShipmentDates| (s.on_time as f64) < args.target.unwrap_or(0.0) * found.times as f64;
    match told.shipments.iter().find(missed) {
        Some(shipment) => {
            let target = args.target.unwrap_or_default();
            voice.note(&format!("{} is not in time with a chance of {target}", shipment.shipment));
            Ok(Exit::No)
        }
        None => Ok(Exit::Done),
    }
}

/// What was found, with names and instants.
fn told(instance: &Instance, plan: &Plan, script: &Script<'_>, found: &Rehearsed, seed: u64) -> Rehearsal {
    let instant = |minute: Min| -> Instant { instance.farm.start + Minutes(i64::from(minute)) };
    let planned = instance
        .shipments
        .iter()
        .map(|s| plan.shipments.iter().find(|p| p.shipment == s.name).map_or(instance.farm.start, |p| p.ready));
    let shipments =
        instance.shipments.iter().zip(&found.shipments).zip(planned).map(|((s, dates), planned)| ShipmentDates {
            shipment: s.name.clone(),
            due: s.due,
            planned,
            on_time: dates.on_time,
            at: [0.5, 0.8, 0.95].map(|share| dates.at(share, found.times).map(instant)),
            causes: dates.causes.iter().map(|&(cause, count)| (script.words(cause), count)).collect(),
            ready: dates.ready.iter().copied().map(instant).collect(),
        });
    let mut slack: Vec<(Min, &platewright_model::plan::Run)> =
        script.slack.iter().copied().zip(&plan.runs).filter(|s| s.0 < ENDLESS).collect();
    slack.sort_by_key(|s| s.0);
    let slack = slack.into_iter().take(10).map(|(slack, run)| RunSlack {
        run: run.run.clone(),
        printer: run.printer.clone(),
        plate: run.plate.clone(),
        harvest: run.harvest_from,
        slack: Minutes(i64::from(slack)),
    });
    let times = found.times.max(1) as f64;
    let mut hours: Vec<(i64, usize)> = found.waited.iter().copied().zip(0..).filter(|h| h.0 > 0).collect();
    hours.sort_by_key(|h| (std::cmp::Reverse(h.0), h.1));
    let tight = hours
        .into_iter()
        .take(5)
        .map(|(waited, hour)| TightHour { from: instant(hour as Min * 60), waited: waited as f64 / times });
    Rehearsal {
        times: found.times,
        seed,
        shipments: shipments.collect(),
        all_on_time: found.all_on_time,
        slack: slack.collect(),
        tight: tight.collect(),
        means: [found.failed, found.rejected, found.broken, found.again].map(|sum| sum as f64 / times),
    }
}
