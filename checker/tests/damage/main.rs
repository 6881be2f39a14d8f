//! Plans damaged in one way each, with the exact breaches that the checker must list.
//!
//! [`bench`] has a small farm with every rule in force and a plan for it worked out by hand; [`undamaged`] holds it to
//! that. The tables are by who breaks the rule: people, machines, supply, and what the plan says of itself.

mod allowed;
mod bench;
mod claims;
mod hostile;
mod large;
mod log;
mod machines;
mod minutes;
mod people;
mod supply;
mod undamaged;
mod waiting;

use bench::{at, farm, plan, restate};
use platewright_checker::{Breach, check};
use platewright_model::plan::{Run, Task, Work};
use platewright_model::{Instance, Instant, Plan, Rule};
use std::collections::BTreeSet;

/// One way to damage the farm and the plan of [`bench`].
struct Damage {
    /// What was done, in a sentence.
    what: &'static str,
    /// Does it.
    does: fn(&mut Instance, &mut Plan),
    /// What the checker must list, in order: rule, run, printer, operator, shipment, times; and the message.
    breaches: &'static [(&'static str, &'static str)],
}

/// Whether the plan states its figures anew after the damage, so that only the damage itself shows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Figures {
    Restated,
    AsTheyWere,
}

fn damaged(damage: &Damage, figures: Figures) -> (Instance, Plan) {
    let mut instance = farm();
    let mut plan = plan(&instance);
    (damage.does)(&mut instance, &mut plan);
    if figures == Figures::Restated {
        restate(&instance, &mut plan);
    }
    (instance, plan)
}

/// Who and when, in a line: `HANDLING R2 S1 day-1 - 2T07:00..2T07:15`.
fn line(breach: &Breach) -> String {
    let name = |name: &Option<String>| name.clone().unwrap_or_else(|| "-".to_owned());
    let time = |time: Option<Instant>| time.map_or("-".to_owned(), wall);
    format!(
        "{} {} {} {} {} {}..{}",
        breach.rule,
        name(&breach.run),
        name(&breach.printer),
        name(&breach.operator),
        name(&breach.shipment),
        time(breach.from),
        time(breach.to)
    )
}

/// The inverse of [`bench::at`].
fn wall(time: Instant) -> String {
    let minutes = (time - at("1T00:00")).0;
    format!("{}T{:02}:{:02}", 1 + minutes.div_euclid(1440), minutes.rem_euclid(1440) / 60, minutes.rem_euclid(60))
}

/// Every damage of the table must give exactly its breaches.
fn hold(table: &[Damage], figures: Figures) {
    let mut wrong = String::new();
    for damage in table {
        let (instance, plan) = damaged(damage, figures);
        let found: Vec<_> = check(&instance, &plan).breaches.into_iter().map(|b| (line(&b), b.message)).collect();
        let expected: Vec<_> = damage.breaches.iter().map(|&(who, why)| (who.to_owned(), why.to_owned())).collect();
        if found != expected {
            wrong += &format!("{}\n  expected {expected:#?}\n  found {found:#?}\n", damage.what);
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// The run of that name.
fn run_mut<'p>(plan: &'p mut Plan, name: &str) -> &'p mut Run {
    plan.runs.iter_mut().find(|run| run.run == name).expect("the plan has the run")
}

/// The place of a task in the plan: `load R2`, `harvest R2`, or `pack spring station`, the first of its row.
fn task(plan: &Plan, called: &str) -> usize {
    let is = |work: &Work| match work {
        Work::Load { run, .. } => format!("load {run}"),
        Work::Harvest { run, .. } => format!("harvest {run}"),
        Work::Pack { shipment, kit } => format!("pack {shipment} {kit}"),
    };
    plan.tasks.iter().position(|task| is(&task.work) == called).expect("the plan has the task")
}

fn task_mut<'p>(plan: &'p mut Plan, called: &str) -> &'p mut Task {
    let place = task(plan, called);
    &mut plan.tasks[place]
}

/// Gives a run other times, and its tasks with it: load, start of printing, ready, harvest.
fn retime(plan: &mut Plan, name: &str, times: [&str; 5]) {
    let [load, print_from, ready, harvest_from, harvest_to] = times.map(at);
    let run = run_mut(plan, name);
    (run.ready, run.harvest_from, run.harvest_to) = (ready, harvest_from, harvest_to);
    if let Some(row) = &mut run.load {
        (row.from, row.print_from) = (load, print_from);
        let task = task_mut(plan, &format!("load {name}"));
        (task.from, task.to) = (load, print_from);
    }
    let task = task_mut(plan, &format!("harvest {name}"));
    (task.from, task.to) = (harvest_from, harvest_to);
}

fn retask(plan: &mut Plan, called: &str, operator: &str, from: &str, to: &str) {
    let task = task_mut(plan, called);
    (task.operator, task.from, task.to) = (operator.to_owned(), at(from), at(to));
}

/// Adds a run and its tasks; nobody needs its parts.
fn add(plan: &mut Plan, run: Run) {
    plan.tasks.extend(bench::tasks_of(std::slice::from_ref(&run)));
    plan.runs.push(run);
}

/// A run that nobody needs and that keeps every rule.
fn spare() -> Run {
    bench::run("R6", "L1", "bodies", ["2T15:10", "2T15:13", "2T20:23", "2T20:23", "2T20:27"], ["late-1", "late-1"])
}

/// Packing takes nobody, so that what is wrong with parts does not show in boxes.
fn without_packing(farm: &mut Instance, plan: &mut Plan) {
    farm.farm.handling.pack_box = platewright_model::Minutes::ZERO;
    plan.tasks.retain(|task| !matches!(task.work, Work::Pack { .. }));
}

#[test]
fn the_tables_break_every_rule_in_at_least_45_ways() {
    let tables =
        [people::TABLE, machines::TABLE, supply::TABLE, waiting::TABLE, claims::READINESS, claims::TABLE, log::TABLE];
    let codes: BTreeSet<&str> = tables
        .iter()
        .flat_map(|table| table.iter())
        .flat_map(|damage| damage.breaches)
        .filter_map(|(who, _)| who.split(' ').next())
        .collect();
    assert_eq!(codes, Rule::ALL.iter().map(|rule| rule.code()).collect());
    assert!(tables.iter().map(|table| table.len()).sum::<usize>() >= 45);
}
