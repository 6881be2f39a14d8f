//! Random weeks with spares and first lots, departed from at random and planned anew: every plan on the way keeps every
//! rule from its moment on.

use platewright_model::instance::PrinterId;
use platewright_model::log::{Entry, Event};
use platewright_model::plan::Run;
use platewright_model::{Count, Instance, Instant, Minutes, Plan, past};
use platewright_solver::EngineChoice::Quick;
use platewright_solver::replan::{Moment, live_on, rest, same};
use platewright_solver::{Answer, Request, solve};
use platewright_tests::chance::Chance;
use platewright_tests::trial::{Ask, Found, Trial};
use platewright_tests::verdict::breaches;
use platewright_tests::weeks::{Size, risky_week};
use std::collections::HashSet;
use std::sync::atomic::AtomicBool;

/// How many plans came of the weeks.
#[derive(Debug, Default)]
struct Tried {
    planned: u32,
    anew: u32,
    searched: u32,
    none: u32,
}

/// What the floor did since the last time, and a little that it did not.
fn live(instance: &mut Instance, plan: &Plan, from: Instant, at: Instant, chance: &mut Chance) {
    let printer = |run: &Run| instance.printers.iter().position(|p| p.name == run.printer).map(|p| PrinterId(p as u32));
    let mut seen: HashSet<(String, bool)> = HashSet::new();
    for entry in &instance.log {
        if let Some(run) = entry.event.run() {
            seen.insert((run.to_owned(), matches!(entry.event, Event::Loaded { .. })));
        }
    }
    let mut runs: Vec<&Run> = plan.runs.iter().collect();
    runs.sort_by_key(|run| (run.load.as_ref().map(|load| load.from), run.harvest_from));
    // From a printer's first run that goes otherwise on, nothing more is done there before somebody plans anew.
    let mut stopped: HashSet<PrinterId> = HashSet::new();
    let mut rows: Vec<(Instant, Event)> = Vec::new();
    for run in runs {
        let Some(printer) = printer(run) else { continue };
        let name = run.run.clone();
        if stopped.contains(&printer) || seen.contains(&(name.clone(), false)) {
            continue;
        }
        let loaded = match &run.load {
            None => Some(from),
            Some(_) if seen.contains(&(name.clone(), true)) => Some(from),
            Some(load) if load.print_from <= at && !chance.percent(6) => {
                rows.push((load.print_from, Event::Loaded { printer, run: name.clone() }));
                Some(load.print_from)
            }
            Some(_) => None,
        };
        let Some(loaded) = loaded else {
            stopped.insert(printer);
            continue;
        };
        let on = instance.plates.iter().find(|plate| plate.name == run.plate);
        let on = on.and_then(|plate| plate.on(instance.printers[printer.index()].group)).expect("a plate of the plan");
        if run.harvest_to <= at && !chance.percent(6) {
            if chance.percent(12) {
                rows.push((run.harvest_to, Event::Failed { printer, run: name }));
            } else {
                for (part, copies) in &on.copies {
                    let bad = if chance.percent(25) { chance.between(0, (copies.0 as i64).min(2)) as u64 } else { 0 };
                    rows.push((
                        run.harvest_to,
                        Event::Harvested {
                            printer,
                            run: name.clone(),
                            part: Some(*part),
                            good: None,
                            rejected: Some(Count(bad)),
                        },
                    ));
                }
            }
        } else {
            stopped.insert(printer);
            if loaded < at && chance.percent(8) {
                rows.push((at, Event::Failed { printer, run: name }));
                if chance.percent(50) {
                    rows.push((at, Event::Down { printer, until: Some(at + Minutes(chance.between(30, 600))) }));
                }
            }
        }
    }
    rows.sort_by_key(|row| row.0);
    let first = instance.log.len() as u64 + 2;
    let entries = (first..).zip(rows).map(|(line, (at, event))| Entry { at, event, note: None, line });
    instance.log.extend(entries.collect::<Vec<_>>());
}

/// Everything that the plan has until a moment is done in its minute, all copies good.
fn log_as_planned(instance: &mut Instance, plan: &Plan, at: Instant) {
    let mut rows: Vec<(Instant, Event)> = Vec::new();
    for run in &plan.runs {
        let printer = instance.printers.iter().position(|p| p.name == run.printer).expect("a printer of the plan");
        let printer = PrinterId(printer as u32);
        if let Some(load) = run.load.as_ref().filter(|load| load.print_from <= at) {
            rows.push((load.print_from, Event::Loaded { printer, run: run.run.clone() }));
        }
        if run.harvest_to <= at {
            let event = Event::Harvested { printer, run: run.run.clone(), part: None, good: None, rejected: None };
            rows.push((run.harvest_to, event));
        }
    }
    rows.sort_by_key(|row| row.0);
    instance.log = (2..).zip(rows).map(|(line, (at, event))| Entry { at, event, note: None, line }).collect();
}

/// The plan lived on, and where it is asked for the planner's own, both checked.
fn anew(trial: &Trial, instance: &Instance, plan: &Plan, at: Instant, search: bool, tried: &mut Tried) -> Option<Plan> {
    let name = &trial.name;
    let room = past::room(instance, at);
    let known = |plan: &Plan| past::fates(instance, plan, at).unwrap_or_else(|faults| panic!("{name}: {faults}"));
    let (adopted, fates) = known(plan);
    let moment = |fates| Moment { room: &room, digest: instance.digest(), at, fates };
    let Some(first) = live_on(&moment(&fates), &adopted).expect("a plan of these tables") else {
        tried.none += 1;
        return None;
    };
    let found = breaches(instance, &first);
    assert!(found.is_empty(), "{name}, lived on from {}: {found:#?}", instance.farm.clock.stamp(at));
    tried.anew += 1;
    if search {
        let (_, fates) = known(&first);
        let moment = moment(&fates);
        let Some(question) = rest::question(&moment, &first) else { return Some(first) };
        let stop = AtomicBool::new(false);
        let request = Request {
            objective: first.objective,
            engine: Quick,
            time_limit: None,
            seed: 0,
            stop: &stop,
            progress: &|_| {},
            accept: &|_| true,
        };
        if let Answer::Plan(answer) = solve(&question, &request)
            && let Some(other) = rest::answered(&moment, &first, &question, &answer).expect("a plan of these tables")
        {
            let found = breaches(instance, &other);
            assert!(found.is_empty(), "{name}, searched for from {}: {found:#?}", instance.farm.clock.stamp(at));
            tried.searched += 1;
        }
    }
    Some(first)
}

/// With everything logged as planned up to a few moments, nothing changes, spares and all.
fn nothing_wrong(trial: &Trial, plan: &Plan) {
    for part in 0..4 {
        let mut instance = trial.instance.clone();
        let start = instance.farm.start;
        let at = start + Minutes(plan.claims.makespan.0 * part / 4);
        log_as_planned(&mut instance, plan, at);
        let (adopted, fates) = past::fates(&instance, plan, at).expect("a log of its plan");
        let moment = Moment { room: &past::room(&instance, at), digest: instance.digest(), at, fates: &fates };
        let lived = live_on(&moment, &adopted).expect("its plan").expect("its own plan can be lived");
        assert!(same(&lived, plan), "{}: changed at {} with nothing wrong", trial.name, instance.farm.clock.stamp(at));
    }
}

fn weeks(seeds: std::ops::Range<u64>, size: Size) -> Tried {
    let mut tried = Tried::default();
    for seed in seeds {
        let trial = Trial::new(format!("risky {size:?} week lived in, seed {seed}"), &risky_week(seed, size));
        let Found::Plan(plan) = trial.plan(Ask { seed, ..Ask::soonest(Quick) }) else { continue };
        tried.planned += 1;
        let mut chance = Chance::new("mid-week", seed);
        let (mut instance, mut plan, start) = (trial.instance.clone(), *plan, trial.instance.farm.start);
        nothing_wrong(&trial, &plan);
        let mut at = start;
        for _ in 0..4 {
            let before = at;
            at = at + Minutes(chance.between(20, (plan.claims.makespan.0 / 2).max(21)));
            if at >= instance.farm.horizon_end() {
                break;
            }
            live(&mut instance, &plan, before, at, &mut chance);
            let Some(next) = anew(&trial, &instance, &plan, at, seed % 3 == 0, &mut tried) else { break };
            plan = next;
        }
    }
    println!("{tried:?}");
    tried
}

#[test]
fn tiny_weeks_planned_anew() {
    let tried = weeks(0..120, Size::Tiny);
    assert!(tried.anew > 200 && tried.searched > 60 && tried.none * 4 < tried.anew, "{tried:?}");
}

#[test]
fn middling_weeks_planned_anew() {
    let tried = weeks(400..440, Size::Middling);
    assert!(tried.anew > 80 && tried.searched > 20 && tried.none * 4 < tried.anew, "{tried:?}");
}
