//! From a schedule to a plan: operators and runs get their names, figures are stated.

use crate::problem::{Min, Problem};
use crate::schedule::{PlacedTask, Schedule};
use platewright_model::plan::{Allocation, Claims, Load, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use platewright_model::{Count, Minutes, Plan, WeightedMinutes, roster};
use std::collections::BTreeMap;

/// What an engine claims about a schedule beside the schedule itself.
#[derive(Debug, Clone)]
pub struct Statement {
    /// What was minimised.
    pub objective: Objective,
    /// Lower bound on the weighted lateness, in thousandths.
    pub late_bound: i64,
    /// Lower bound on the value.
    pub bound: i64,
    /// Which engine.
    pub engine: String,
    /// The seed given.
    pub seed: u64,
    /// What a person should know about the search.
    pub notes: Vec<String>,
    /// What one more of something is worth.
    pub prices: Vec<String>,
}

/// One task awaiting a named operator.
struct Open {
    task: PlacedTask,
    what: What,
}

#[derive(Clone, Copy)]
enum What {
    Load(usize),
    Harvest(usize),
    Box(usize),
}

/// The plan of a schedule.
pub fn plan(problem: &Problem<'_>, schedule: &Schedule, statement: Statement) -> Plan {
    let instance = problem.instance;
    let mut order: Vec<usize> = (0..schedule.runs.len()).collect();
    let printer = |r: usize| {
        let run = &schedule.runs[r];
        problem.classes[run.class].printers[run.slot]
    };
    order.sort_by_key(|&r| (schedule.runs[r].load.map_or(Min::MIN, |l| l.from), printer(r)));
    let width = schedule.runs.len().to_string().len().max(4);
    let mut names = vec![String::new(); schedule.runs.len()];
    for (number, &r) in order.iter().enumerate() {
        names[r] = format!("R{:0width$}", number + 1);
    }

    let mut open: Vec<Open> = Vec::new();
    for (r, run) in schedule.runs.iter().enumerate() {
        if let Some(task) = run.load {
            open.push(Open { task, what: What::Load(r) });
        }
        open.push(Open { task: run.harvest, what: What::Harvest(r) });
    }
    open.extend(schedule.boxes.iter().enumerate().map(|(b, packed)| Open { task: packed.task, what: What::Box(b) }));
    let operators = deal(problem, schedule, &open);

    let mut loaders: BTreeMap<usize, String> = BTreeMap::new();
    let mut harvesters: BTreeMap<usize, String> = BTreeMap::new();
    let mut tasks = Vec::with_capacity(open.len());
    for (o, operator) in open.iter().zip(operators) {
        let printer_name = |r: usize| instance.printers[printer(r).index()].name.clone();
        let work = match o.what {
            What::Load(r) => {
                loaders.insert(r, operator.clone());
                Work::Load { run: names[r].clone(), printer: printer_name(r) }
            }
            What::Harvest(r) => {
                harvesters.insert(r, operator.clone());
                Work::Harvest { run: names[r].clone(), printer: printer_name(r) }
            }
            What::Box(b) => {
                let packed = &schedule.boxes[b];
                let shipment = &instance.shipments[packed.order];
                let line = problem.orders[packed.order].boxes[packed.boxes].line;
                let kit = instance.kits[shipment.lines[line].kit.index()].name.clone();
                Work::Pack { shipment: shipment.name.clone(), kit }
            }
        };
        let (from, to) = (problem.instant(o.task.from), problem.instant(o.task.to));
        tasks.push(Task { operator, work, from, to });
    }
    tasks.sort_by(|a, b| (a.from, &a.operator, a.to).cmp(&(b.from, &b.operator, b.to)));

    let runs: Vec<Run> = order
        .iter()
        .map(|&r| {
            let run = &schedule.runs[r];
            let load = run.load.map(|l| Load {
                from: problem.instant(l.from),
                print_from: problem.instant(l.to),
                loader: loaders.remove(&r).unwrap_or_default(),
            });
            Run {
                run: names[r].clone(),
                printer: instance.printers[printer(r).index()].name.clone(),
                plate: instance.plates[problem.modes[run.mode].plate.index()].name.clone(),
                load,
                ready: problem.instant(run.ready),
                harvest_from: problem.instant(run.harvest.from),
                harvest_to: problem.instant(run.harvest.to),
                harvester: harvesters.remove(&r).unwrap_or_default(),
            }
        })
        .collect();

    let mut gives: BTreeMap<(usize, usize, usize), (i64, i64)> = BTreeMap::new();
    let rank: BTreeMap<usize, usize> = order.iter().enumerate().map(|(at, &r)| (r, at + 1)).collect();
    for give in &schedule.gives {
        let source = give.run.map_or(0, |r| rank[&r]);
        let sum = gives.entry((source, give.part, give.order)).or_default();
        *sum = (sum.0 + give.count, sum.1 + give.spare);
    }
    let allocation = gives
        .iter()
        .map(|(&(source, part, order_index), &(count, spare))| Allocation {
            source: match source.checked_sub(1) {
                None => Source::Stock,
                Some(at) => Source::Run(names[order[at]].clone()),
            },
            part: instance.parts[part].name.clone(),
            shipment: instance.shipments[order_index].name.clone(),
            count: Count(count as u64),
            spare: Count(spare as u64),
        })
        .collect();

    let ready = schedule.ready_times(problem);
    let shipments = ready
        .iter()
        .zip(&instance.shipments)
        .map(|(&at, shipment)| {
            let ready = problem.instant(at);
            let late = shipment.due.map_or(Minutes::ZERO, |due| Minutes((ready - due).0.max(0)));
            ShipmentPlan { shipment: shipment.name.clone(), ready, due: shipment.due, late }
        })
        .collect();

    let merit = schedule.merit(problem, statement.objective == Objective::LeastIdle);
    let made: i64 = schedule.runs.iter().flat_map(|r| &problem.modes[r.mode].yields).map(|y| y.1).sum();
    let given: i64 = schedule.gives.iter().map(|g| g.count).sum();
    let surplus = problem.stock.iter().sum::<i64>() + made - given;
    let optimal = merit.late == statement.late_bound && merit.value == statement.bound;
    let claims = Claims {
        outcome: if optimal { Outcome::Optimal } else { Outcome::Feasible },
        value: Minutes(merit.value),
        bound: Minutes(statement.bound),
        makespan: Minutes(i64::from(ready.iter().copied().max().unwrap_or(0))),
        late: WeightedMinutes(merit.late),
        late_bound: WeightedMinutes(statement.late_bound),
        idle: Minutes(schedule.idle_minutes(problem)),
        surplus_parts: Count(surplus.max(0) as u64),
        runs: Count(runs.len() as u64),
        operator_minutes: tasks.iter().map(|t| t.to - t.from).sum(),
        engine: statement.engine,
        seed: statement.seed,
        notes: statement.notes,
        prices: statement.prices,
    };
    Plan {
        instance_digest: instance.digest(),
        objective: statement.objective,
        since: None,
        labelled: Default::default(),
        runs,
        tasks,
        allocation,
        shipments,
        claims,
    }
}

/// Deals each pool's tasks out to its operators: in order of start, each to the one who stands at that printer, or else
/// to the one who has been free longest. With no more tasks overlapping than there are operators one is always free.
fn deal(problem: &Problem<'_>, schedule: &Schedule, open: &[Open]) -> Vec<String> {
    let place = |what: What| match what {
        What::Load(r) | What::Harvest(r) => Some((schedule.runs[r].class, schedule.runs[r].slot)),
        What::Box(_) => None,
    };
    let mut names = vec![String::new(); open.len()];
    let mut by_pool: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, o) in open.iter().enumerate() {
        by_pool.entry(o.task.pool).or_default().push(at);
    }
    for (pool, mut tasks) in by_pool {
        let p = &problem.pools[pool];
        tasks.sort_by_key(|&t| (open[t].task.from, open[t].task.to, t));
        let mut free_from = vec![Min::MIN; p.operators.len()];
        let mut stands_at = vec![None; p.operators.len()];
        for t in tasks {
            let task = open[t].task;
            let free = |&op: &usize| free_from[op] <= task.from;
            let here = place(open[t].what);
            let elsewhere = |op: usize| here.is_none() || stands_at[op] != here;
            let chosen = (0..free_from.len()).filter(free).min_by_key(|&op| (elsewhere(op), free_from[op], op));
            let chosen = chosen.unwrap_or(0);
            stands_at[chosen] = here;
            free_from[chosen] = free_from[chosen].max(task.to);
            names[t] = roster::operator_name(problem.instance, p.crew, p.operators[chosen]);
        }
    }
    names
}
