//! HANDLING and OPERATOR: who does what, for how long, on which shift.

use crate::book::{Duty, Execution, Origin, handling as handled};
use crate::breach::Breach;
use crate::case::Case;
use crate::rules::machines::skips_changeover;
use crate::span::{Span, near};
use platewright_model::plan::Work;
use platewright_model::{Minutes, Rule};

/// Each run has its load and its harvest, each takes one operator for its minutes, and each lies within one stretch of
/// that operator's shift.
pub(super) fn handling(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let row = run.row;
        if let Some(load) = load(case, run) {
            job(case, run, &load, &mut breaches);
        } else if matches!(run.origin, Origin::Unexplained) {
            let message = format!("{} has no load, and running.csv has no such run on {}", row.run, row.printer);
            breaches.push(Breach::of(Rule::Handling, message).run(&row.run).printer(&row.printer).during(run.harvest));
        }
        job(case, run, &harvest(case, run), &mut breaches);
    }
    for duty in case.book.strays.iter().filter_map(|&stray| case.book.duties.get(stray)) {
        let message = format!("{} {} is a task that no run calls for", called(duty), case.during(duty.span));
        breaches.push(about(Rule::Handling, duty, message));
    }
    for duty in case.book.duties.iter().filter(|duty| handled(&duty.row.work).is_some()) {
        if let Some(why) = off_shift(case, duty) {
            breaches.push(about(Rule::Handling, duty, format!("{}: {why}", called(duty))));
        }
    }
    breaches
}

/// A load or a harvest: what the run's row says of it, and its task.
struct Job<'c> {
    what: &'static str,
    operator: &'c str,
    stated: Span,
    task: Option<&'c Duty<'c>>,
    /// What it takes, by its task or else by the row.
    minutes: Minutes,
    /// What it should take, where that is known and HANDLING's to judge.
    due: Option<Minutes>,
}

fn load<'c>(case: &'c Case, run: &'c Execution) -> Option<Job<'c>> {
    let load = run.row.load.as_ref()?;
    let task = run.load_task.and_then(|task| case.book.duties.get(task));
    let minutes = task.map_or(near(load.print_from) - near(load.from), |task| task.minutes);
    let changeover = if run.replaces.is_some() { case.instance.farm.handling.changeover } else { Minutes::ZERO };
    let due = run.on.filter(|on| !skips_changeover(case, run, on, minutes)).map(|on| on.load + changeover);
    let stated = Span::new(near(load.from), near(load.print_from));
    Some(Job { what: "load", operator: &load.loader, stated, task, minutes, due })
}

fn harvest<'c>(case: &'c Case, run: &'c Execution) -> Job<'c> {
    let row = run.row;
    let task = run.harvest_task.and_then(|task| case.book.duties.get(task));
    let minutes = task.map_or(near(row.harvest_to) - near(row.harvest_from), |task| task.minutes);
    let due = run.on.map(|on| on.harvest);
    Job { what: "harvest", operator: &row.harvester, stated: run.harvest, task, minutes, due }
}

/// The job has a task, which tells the same as the run's row, and takes its minutes.
fn job(case: &Case, run: &Execution, job: &Job, breaches: &mut Vec<Breach>) {
    let (row, Job { what, operator, stated, .. }) = (run.row, job);
    let breach = |message: String, operator: &str, span: Span| {
        Breach::of(Rule::Handling, message).run(&row.run).printer(&row.printer).operator(operator).during(span)
    };
    match job.task {
        None => {
            let when = case.during(*stated);
            let message = format!("{} on {} has no {what} task for {operator} {when}", row.run, row.printer);
            breaches.push(breach(message, operator, *stated));
        }
        Some(task) => {
            let differs = differences(case, run, job, task);
            if !differs.is_empty() {
                let differs = differs.join("; ");
                let message =
                    format!("the {what} task of {} on {} differs from the run: {differs}", row.run, row.printer);
                breaches.push(breach(message, operator, *stated));
            }
        }
    }
    if let Some(due) = job.due.filter(|due| *due != job.minutes) {
        let (operator, span) = job.task.map_or((*operator, *stated), |task| (&task.row.operator, task.span));
        let message = format!("the {what} of {} on {} takes {}, {due} are due", row.run, row.printer, job.minutes);
        breaches.push(breach(message, operator, span));
    }
}

/// What the task says otherwise than the run. Whether printing starts when the load ends is READY's to judge.
fn differences(case: &Case, run: &Execution, job: &Job, task: &Duty) -> Vec<String> {
    let (row, stated) = (run.row, job.stated);
    let printer = handled(&task.row.work).map_or("", |(_, _, printer)| printer);
    let is_load = matches!(task.row.work, Work::Load { .. });
    let mut differs = Vec::new();
    if task.row.operator != job.operator {
        differs.push(format!("it is {}'s, not {}'s", task.row.operator, job.operator));
    }
    if printer != row.printer {
        differs.push(format!("it is on {printer}, not on {}", row.printer));
    }
    if task.span.from != stated.from {
        differs.push(format!("it starts {}, not {}", case.at(task.span.from), case.at(stated.from)));
    }
    if !is_load && task.span.to != stated.to {
        differs.push(format!("it ends {}, not {}", case.at(task.span.to), case.at(stated.to)));
    }
    differs
}

/// Why a task does not lie within one stretch of its operator's shift; nothing where it does, or where there is no such
/// operator, which is OPERATOR's to say.
pub(super) fn off_shift(case: &Case, duty: &Duty) -> Option<String> {
    let (name, span) = (&duty.row.operator, duty.span);
    let stretch = case.roster.stretch_at(duty.operator?, span.from);
    if stretch.is_some_and(|stretch| span.within(stretch)) {
        return None;
    }
    Some(if span.from < case.reach.from {
        format!("it starts {}, the farm starts {}", case.at(span.from), case.at(case.reach.from))
    } else if span.to > case.reach.to {
        format!("it ends {}, the plan may reach to {}", case.at(span.to), case.at(case.reach.to))
    } else {
        match stretch {
            Some(stretch) if span.from < stretch.to => {
                format!("it ends {}, the shift of {name} ends {}", case.at(span.to), case.at(stretch.to))
            }
            _ => format!("{name} is not on shift {}", case.during(span)),
        }
    })
}

/// Every task is for an operator that the crews have, and no operator does two at a time.
pub(super) fn operator(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut per_operator: Vec<Vec<&Duty>> = vec![Vec::new(); case.roster.operators()];
    for duty in &case.book.duties {
        match duty.operator {
            Some(operator) => per_operator[operator].push(duty),
            None => breaches.push(about(Rule::Operator, duty, unknown(case, &duty.row.operator))),
        }
    }
    for mut duties in per_operator {
        duties.sort_by_key(|duty| duty.span);
        let mut busy: Option<&Duty> = None;
        for duty in duties {
            if let Some(other) = busy
                && let Some(both) = duty.span.overlap(other.span)
            {
                let message = format!(
                    "{} is at two tasks {}: {} and {}",
                    duty.row.operator,
                    case.during(both),
                    called(other),
                    called(duty)
                );
                breaches.push(about(Rule::Operator, duty, message).during(both));
            }
            if busy.is_none_or(|other| other.span.to < duty.span.to) {
                busy = Some(duty);
            }
        }
    }
    breaches
}

/// A breach by one task.
pub(super) fn about(rule: Rule, duty: &Duty, message: String) -> Breach {
    let breach = Breach::of(rule, message).operator(&duty.row.operator).during(duty.span);
    match &duty.row.work {
        Work::Load { run, printer } | Work::Harvest { run, printer } => breach.run(run).printer(printer),
        Work::Pack { shipment, .. } => breach.shipment(shipment),
    }
}

/// A task, in words.
pub(super) fn called(duty: &Duty) -> String {
    match &duty.row.work {
        Work::Load { run, printer } => format!("the load of {run} on {printer}"),
        Work::Harvest { run, printer } => format!("the harvest of {run} on {printer}"),
        Work::Pack { shipment, kit } => format!("a box of {kit} for {shipment}"),
    }
}

fn unknown(case: &Case, name: &str) -> String {
    let crew = name.rsplit_once('-').and_then(|(crew, _)| case.instance.crews.iter().position(|c| c == crew));
    match crew.map(|crew| (&case.instance.crews[crew], case.roster.strength(crew))) {
        Some((crew, strength @ 1..)) => {
            format!("there is no operator {name:?}: crew {crew} goes from {crew}-1 to {crew}-{strength}")
        }
        Some((crew, _)) => format!("there is no operator {name:?}: crew {crew} has no shift in the plan's reach"),
        None => format!("there is no operator {name:?}: no crew has that name"),
    }
}
