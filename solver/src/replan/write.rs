//! A life that went on from the past, as a plan with names.

use super::Moment;
use crate::follow::script::{ANYBODY, Script};
use crate::follow::supply::From;
use crate::follow::trace::{Done, Lived};
use crate::problem::Min;
use platewright_model::plan::{Allocation, Claims, Load, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use platewright_model::{Count, Minutes, Plan, WeightedMinutes, roster};
use std::collections::BTreeMap;

pub(super) fn plan(moment: &Moment<'_>, script: &Script<'_>, old: &Plan, lived: &Lived) -> Plan {
    let (instance, problem) = (moment.room, script.problem);
    let instant = |minute: Min| problem.instant(minute);
    let name_of = |who: usize, before: &str| match script.people.get(who) {
        Some(person) => roster::operator_name(instance, person.crew, person.number),
        None => before.to_owned(),
    };
    let names = names(old, lived);
    let mut order: Vec<usize> = (0..lived.stays.len()).collect();
    let load_from = |stay: usize| lived.stays[stay].load.map_or(Min::MIN, |load| load.from);
    order.sort_by_key(|&stay| (load_from(stay), lived.stays[stay].printer, stay));

    let (mut runs, mut tasks) = (Vec::new(), Vec::new());
    for &at in &order {
        let stay = &lived.stays[at];
        let before = stay.job.and_then(|job| old.runs.get(job));
        let printer = instance.printers[stay.printer].name.clone();
        let plate = instance.plates[script.modes[stay.mode].plate.index()].name.clone();
        let harvest = stay.harvest.unwrap_or(Done { from: stay.ready, to: stay.ready, who: ANYBODY });
        let failed = stay.job.is_some_and(|job| moment.fates[job].ended.as_ref().is_some_and(|e| e.good.is_none()));
        let was = before.and_then(|run| run.load.as_ref()).map_or("", |load| load.loader.as_str());
        let loader = stay.load.map(|load| name_of(load.who, was));
        let harvester = name_of(harvest.who, before.map_or("", |run| run.harvester.as_str()));
        let run = names[at].clone();
        let mut task = |done: Done, operator: &str, work: Work| {
            tasks.push(Task { operator: operator.to_owned(), work, from: instant(done.from), to: instant(done.to) });
        };
        if let (Some(load), Some(loader)) = (stay.load, &loader) {
            task(load, loader, Work::Load { run: run.clone(), printer: printer.clone() });
        }
        if !failed {
            task(harvest, &harvester, Work::Harvest { run: run.clone(), printer: printer.clone() });
        }
        runs.push(Run {
            run,
            printer,
            plate,
            load: stay.load.zip(loader).map(|(load, loader)| Load {
                from: instant(load.from),
                print_from: instant(load.to),
                loader,
            }),
            ready: instant(stay.ready),
            harvest_from: instant(harvest.from),
            harvest_to: instant(harvest.to),
            harvester,
        });
    }
    for packed in &lived.packed {
        let packing = &script.boxes[packed.packing];
        let shipment = &instance.shipments[packing.order];
        let kit = instance.kits[shipment.lines[packing.line].kit.index()].name.clone();
        tasks.push(Task {
            operator: name_of(packed.done.who, ""),
            work: Work::Pack { shipment: shipment.name.clone(), kit },
            from: instant(packed.done.from),
            to: instant(packed.done.to),
        });
    }
    tasks.sort_by(|a, b| (a.from, &a.operator, a.to).cmp(&(b.from, &b.operator, b.to)));

    let allocation = allocation(script, lived, &names, &order);
    let shipments: Vec<ShipmentPlan> = lived
        .ready
        .iter()
        .zip(&instance.shipments)
        .map(|(ready, shipment)| {
            let ready = instant(ready.unwrap_or(problem.horizon));
            let late = shipment.due.map_or(Minutes::ZERO, |due| Minutes((ready - due).0.max(0)));
            ShipmentPlan { shipment: shipment.name.clone(), ready, due: shipment.due, late }
        })
        .collect();
    let claims = claims(moment, script, old, lived, (&runs, &tasks, &shipments));
    Plan {
        instance_digest: moment.digest.clone(),
        objective: old.objective,
        since: Some(moment.at),
        runs,
        tasks,
        allocation,
        shipments,
        claims,
    }
}

/// The plan's runs keep their names; new ones get the numbers after the highest there is.
fn names(old: &Plan, lived: &Lived) -> Vec<String> {
    let number = |run: &Run| run.run.strip_prefix('R').and_then(|digits| digits.parse::<u64>().ok());
    let mut next = old.runs.iter().filter_map(number).max().unwrap_or(old.runs.len() as u64);
    let width = old.runs.iter().map(|run| run.run.len().saturating_sub(1)).max().unwrap_or(4).clamp(4, 9);
    let mut names = vec![String::new(); lived.stays.len()];
    let mut new: Vec<usize> = Vec::new();
    for (at, stay) in lived.stays.iter().enumerate() {
        match stay.job {
            Some(job) => names[at].clone_from(&old.runs[job].run),
            None => new.push(at),
        }
    }
    new.sort_by_key(|&at| (lived.stays[at].load.map(|load| load.from), lived.stays[at].printer));
    for at in new {
        next += 1;
        names[at] = format!("R{next:0width$}");
    }
    names
}

fn allocation(script: &Script<'_>, lived: &Lived, names: &[String], order: &[usize]) -> Vec<Allocation> {
    let instance = script.problem.instance;
    let mut place_of_job = BTreeMap::new();
    let mut again = Vec::new();
    let mut place = vec![0; lived.stays.len()];
    for (rank, &at) in order.iter().enumerate() {
        place[at] = rank + 1;
    }
    for (at, stay) in lived.stays.iter().enumerate() {
        match stay.job {
            Some(job) => drop(place_of_job.insert(job, at)),
            None => again.push(at),
        }
    }
    let mut counts: BTreeMap<(usize, usize, usize), i64> = BTreeMap::new();
    for gift in &lived.gifts {
        let stay = match gift.from {
            From::Stock => None,
            From::Job(job) => place_of_job.get(&job).copied(),
            From::Again(number) => again.get(number).copied(),
        };
        let slot = script.slots[gift.slot];
        *counts.entry((stay.map_or(0, |at| place[at]), slot.part, slot.order)).or_default() += gift.count;
    }
    counts
        .into_iter()
        .map(|((rank, part, order_index), count)| Allocation {
            source: match rank.checked_sub(1) {
                None => Source::Stock,
                Some(rank) => Source::Run(names[order[rank]].clone()),
            },
            part: instance.parts[part].name.clone(),
            shipment: instance.shipments[order_index].name.clone(),
            count: Count(count.max(0) as u64),
            // In mid-week, what is left over of a shipment's copies is surplus and stands in for whatever fails.
            spare: Count(0),
        })
        .collect()
}

fn claims(
    moment: &Moment<'_>,
    script: &Script<'_>,
    old: &Plan,
    lived: &Lived,
    (runs, tasks, shipments): (&[Run], &[Task], &[ShipmentPlan]),
) -> Claims {
    let instance = moment.room;
    let makespan = lived.ready.iter().map(|ready| ready.unwrap_or(script.problem.horizon)).max().unwrap_or(0);
    let late = instance.shipments.iter().zip(shipments).map(|(s, row)| s.weight.of_lateness(row.late).0).sum();
    let made = |stay: &crate::follow::Stay| -> i64 {
        let whole = script.modes[stay.mode].yields.iter().map(|y| y.1).sum();
        match stay.job.and_then(|job| moment.fates[job].ended.as_ref()) {
            Some(ended) => ended.good.as_ref().map_or(0, |good| good.iter().map(|g| g.1.0 as i64).sum()),
            None => whole,
        }
    };
    let made: i64 = lived.stays.iter().map(made).sum();
    let given: i64 = lived.gifts.iter().map(|gift| gift.count).sum();
    let surplus = script.problem.stock.iter().sum::<i64>() + made - given;
    let idle = Minutes(idle(moment, script, lived));
    let makespan = Minutes(i64::from(makespan));
    let moment_in_words = instance.farm.clock.stamp(moment.at).format("%Y-%m-%d %H:%M");
    Claims {
        outcome: Outcome::Feasible,
        value: if old.objective == Objective::LeastIdle { idle } else { makespan },
        bound: Minutes::ZERO,
        makespan,
        late: WeightedMinutes(late),
        late_bound: WeightedMinutes::ZERO,
        idle,
        surplus_parts: Count(surplus.max(0) as u64),
        runs: Count(runs.len() as u64),
        operator_minutes: tasks.iter().map(|task| task.to - task.from).sum(),
        engine: "replan".to_owned(),
        seed: old.claims.seed,
        notes: vec![format!("Planned anew from {moment_in_words}; no bound is proven for a week that has begun.")],
        prices: Vec::new(),
    }
}

/// Minutes in which printers with a run neither print nor are down, each from the start to its last harvest.
fn idle(moment: &Moment<'_>, script: &Script<'_>, lived: &Lived) -> i64 {
    let mut sum = 0;
    for (p, machine) in script.printers.iter().enumerate() {
        let mut busy = machine.down.clone();
        let mut last = None;
        for stay in lived.stays.iter().filter(|stay| stay.printer == p) {
            let mode = &script.modes[stay.mode];
            let end = stay.harvest.map_or(stay.ready, |harvest| harvest.to);
            last = last.max(Some(end));
            let print_to = stay.ready - mode.cool;
            let ended = stay.job.is_some_and(|job| moment.fates[job].ended.is_some());
            let to = if ended { print_to.min(end) } else { print_to };
            busy.push((stay.load.map_or(0, |load| load.to), to));
        }
        let Some(last) = last else { continue };
        busy.sort_unstable();
        let mut reached = 0;
        let mut used = 0;
        for (from, to) in busy {
            let (from, to) = (from.max(reached), to.min(last));
            used += i64::from((to - from).max(0));
            reached = reached.max(to);
        }
        sum += i64::from(last) - used;
    }
    sum
}

/// Whether two plans say the same of what is to be done and who gets what, in whatever order.
pub fn same(a: &Plan, b: &Plan) -> bool {
    let runs = |plan: &Plan| {
        let mut runs = plan.runs.clone();
        runs.sort_by(|a, b| a.run.cmp(&b.run));
        runs
    };
    let tasks = |plan: &Plan| {
        let mut tasks: Vec<_> =
            plan.tasks.iter().map(|t| (t.from, t.operator.clone(), t.to, format!("{:?}", t.work))).collect();
        tasks.sort();
        tasks
    };
    let allocation = |plan: &Plan| {
        let mut rows = plan.allocation.clone();
        rows.sort();
        rows
    };
    a.shipments == b.shipments && runs(a) == runs(b) && tasks(a) == tasks(b) && allocation(a) == allocation(b)
}
