//! `replan`: take the log for the past, plan the rest of the week from there, check it, write it, and say what changed.

use super::log::wall;
use crate::args::ReplanArgs;
use crate::commands::plan::PAGE;
use crate::exit::Exit;
use crate::interrupt;
use crate::objects::replanned;
use crate::out_folder;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_checker as checker;
use platewright_model::log_file::{self, NewRow, NotAppended};
use platewright_model::{Instance, Instant, Plan, past, plan_files, tables};
use platewright_report::changes::{self, Changes};
use platewright_report::html::plan::{Extras, page};
use platewright_report::ledger;
use platewright_solver::follow::NotFollowed;
use platewright_solver::replan::{self, Moment, rest};
use platewright_solver::{Answer, EngineChoice, Request, solve};

/// Runs the command.
///
/// # Errors
/// Unusable tables, log or plan files, a moment outside the plan, or an out folder that cannot be written.
pub fn run(args: &ReplanArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let mut instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    let out = args.out.clone().unwrap_or_else(|| args.plan.clone());
    out_folder::approve(&args.folder, &out)?;
    let at = moment(args, &instance)?;
    let old = plan_files::read(&instance, &args.plan).map_err(Refusal::tables(&args.plan))?.plan;
    if old.instance_digest != instance.digest() {
        voice.note("the plan was made for other tables than these; what they say now counts");
    }
    if args.as_planned {
        instance = log_as_planned(args, &old, at, voice)?;
    }
    let room = past::room(&instance, at);
    let (adopted, fates) = past::fates(&instance, &old, at).map_err(Refusal::tables(&args.folder))?;
    let here = Moment { room: &room, digest: instance.digest(), at, fates: &fates };
    let Some(first) = replan::live_on(&here, &adopted).map_err(not_followed)? else {
        voice.error("the rest of the plan cannot be carried out within the horizon");
        voice.hint("see what is down until when, and who is there; or plan the rest from new tables");
        if let Some(asked) = instance.farm.spares {
            let confidence = asked.confidence;
            voice.hint(&format!(
                "it is to have spares for spares.confidence = {confidence}; a lower one asks for fewer"
            ));
        }
        return Ok(Exit::NoPlan);
    };
    // A late row of the log can make other figures true of the same work.
    if replan::same(&first, &old) && checker::check(&instance, &old).holds() {
        let changes = changes::between(&room, &old, &first, at);
        if out != args.plan {
            write(&old, &instance, &out)?;
        }
        tell(args, &instance, &changes, voice);
        return Ok(Exit::Done);
    }
    believe(&instance, &first)?;
    let mut plan = if args.keep { first } else { better(args, &instance, &here, &adopted, first)? };
    believe(&instance, &plan)?;
    // Where there are more lots than anybody could label, none has a label.
    plan.labelled = ledger::labelled(&instance, &old, at).unwrap_or_default();
    write(&plan, &instance, &out)?;
    tell(args, &instance, &changes::between(&room, &old, &plan, at), voice);
    let late = plan.shipments.iter().filter(|row| row.late.0 > 0);
    late.for_each(|row| voice.note(&format!("{} is {} late", row.shipment, row.late)));
    voice.note(&format!("the plan is in {}", shown(&out)));
    Ok(Exit::Done)
}

fn moment(args: &ReplanArgs, instance: &Instance) -> Result<Instant, Refusal> {
    let wrong = |message: String, help: String| Refusal::Call { message, help };
    let at = tables::instant(&args.at, instance.farm.clock)
        .map_err(|(message, help)| wrong(format!("--at: {message}"), help))?;
    let farm = &instance.farm;
    if at < farm.start || at >= farm.horizon_end() {
        let (from, to) = (wall(farm.clock, farm.start), wall(farm.clock, farm.horizon_end()));
        let message = format!("--at {} lies outside the plan's reach", args.at);
        return Err(wrong(message, format!("name a moment from {from} up to {to}")));
    }
    Ok(at)
}

/// Another rest of the week, where it pays.
fn better(args: &ReplanArgs, instance: &Instance, here: &Moment<'_>, old: &Plan, first: Plan) -> Result<Plan, Refusal> {
    let (_, fates) = past::fates(instance, &first, here.at).map_err(Refusal::tables(&args.folder))?;
    let here = Moment { room: here.room, digest: here.digest.clone(), at: here.at, fates: &fates };
    let Some(question) = rest::question(&here, &first) else { return Ok(first) };
    let request = Request {
        objective: first.objective,
        engine: EngineChoice::Auto,
        time_limit: args.time_limit,
        seed: first.claims.seed,
        stop: interrupt::watched(),
        progress: &|_| {},
        accept: &|_| true,
    };
    let Answer::Plan(answer) = solve(&question, &request) else { return Ok(first) };
    let Some(other) = rest::answered(&here, &first, &question, &answer).map_err(not_followed)? else {
        return Ok(first);
    };
    let changed = |plan: &Plan| changes::between(here.room, old, plan, here.at).soon_runs().len() as i64;
    let pays = replan::pays(here.room, &other, &first, changed(&other) - changed(&first), args.price);
    Ok(if pays && checker::check(instance, &other).holds() { other } else { first })
}

/// Writes into the log, as done, what the plan had until the moment and the log does not mention.
fn log_as_planned(args: &ReplanArgs, old: &Plan, at: Instant, voice: &mut Voice) -> Result<Instance, Refusal> {
    let mut count = 0;
    let after = log_file::append_with(&args.folder, |instance| {
        let rows: Vec<NewRow> = past::as_planned(instance, old, at);
        count = rows.len();
        Ok(rows)
    });
    let after = after.map_err(|not| match not {
        NotAppended::Faults(faults) => Refusal::tables(&args.folder)(faults),
        NotAppended::System(error) => Refusal::Call {
            message: format!("the log of {} cannot be written: {error}", shown(&args.folder)),
            help: "make room, or make the folder writable; the log is as it was".to_owned(),
        },
    })?;
    voice.note(&format!("{count} rows that the log did not have are taken to have gone as planned"));
    Ok(after)
}

fn believe(instance: &Instance, plan: &Plan) -> Result<(), Refusal> {
    let verdict = checker::check(instance, plan);
    if verdict.holds() { Ok(()) } else { Err(Refusal::NotBelieved(verdict.breaches)) }
}

fn write(plan: &Plan, instance: &Instance, out: &std::path::Path) -> Result<(), Refusal> {
    let page = page(instance, plan, &Extras::of(instance, plan));
    plan_files::write_with(plan, instance, out, vec![(PAGE, page.into_bytes())]).map_err(|error| Refusal::Call {
        message: format!("the plan cannot be written into {}: {error}", shown(out)),
        help: "make room or make the folder writable, or name another with --out".to_owned(),
    })
}

fn tell(args: &ReplanArgs, instance: &Instance, changes: &Changes, voice: &mut Voice) {
    if args.json {
        voice.object(&replanned::replanned(instance, changes));
    } else {
        voice.result(&changes::page(instance, changes));
    }
}

fn not_followed(wrong: NotFollowed) -> Refusal {
    Refusal::Call {
        message: wrong.to_string(),
        help: "the tables have changed since the plan was made: plan the rest from new tables".to_owned(),
    }
}
