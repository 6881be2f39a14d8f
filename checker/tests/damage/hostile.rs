//! A plan is read from files that anybody may have edited: whatever it says, it is judged and nothing panics.

use crate::bench::{farm, plan};
use platewright_checker::check;
use platewright_model::plan::{Allocation, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use platewright_model::{Count, Instant, Minutes, Plan, WeightedMinutes};
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn time(random: &mut ChaCha8Rng, old: Instant) -> Instant {
    let odd = [i64::MIN, i64::MIN + 1, -1, 0, i64::MAX - 1, i64::MAX, 1 << 40, -(1 << 41), 5_000_000_000];
    match random.random_range(0..4) {
        0 => Instant(*odd.choose(random).expect("some")),
        1 => Instant(random.random()),
        _ => Instant(old.0.saturating_add(random.random_range(-2000..2000))),
    }
}

fn number(random: &mut ChaCha8Rng) -> i64 {
    *[i64::MIN, -1, 0, 1, 1480, i64::MAX].choose(random).expect("some")
}

fn name(random: &mut ChaCha8Rng) -> String {
    let names = [
        "",
        " ",
        "-",
        "-1",
        "day-0",
        "day-18446744073709551616",
        "day-1",
        "late-1",
        "R1",
        "R2",
        "stock",
        "S1",
        "L1",
        "bodies",
        "clips",
        "odd",
        "body",
        "clip",
        "hub",
        "station",
        "spring",
        "summer",
        "\u{0}",
        "e\u{301}ñ–😀",
    ];
    (*names.choose(random).expect("some")).to_owned()
}

fn hurt_run(random: &mut ChaCha8Rng, run: &mut Run) {
    match random.random_range(0..10) {
        0 => run.run = name(random),
        1 => run.printer = name(random),
        2 => run.plate = name(random),
        3 => run.harvester = name(random),
        4 => run.load = None,
        5 => run.ready = time(random, run.ready),
        6 => run.harvest_from = time(random, run.harvest_from),
        7 => run.harvest_to = time(random, run.harvest_to),
        what => {
            if let Some(load) = &mut run.load {
                if what == 8 {
                    load.from = time(random, load.from);
                } else {
                    load.print_from = time(random, load.print_from);
                }
            }
        }
    }
}

fn hurt_task(random: &mut ChaCha8Rng, task: &mut Task) {
    match random.random_range(0..4) {
        0 => task.operator = name(random),
        1 => task.from = time(random, task.from),
        2 => task.to = time(random, task.to),
        _ => {
            task.work = match random.random_range(0..3) {
                0 => Work::Load { run: name(random), printer: name(random) },
                1 => Work::Harvest { run: name(random), printer: name(random) },
                _ => Work::Pack { shipment: name(random), kit: name(random) },
            }
        }
    }
}

fn hurt_row(random: &mut ChaCha8Rng, row: &mut Allocation) {
    match random.random_range(0..4) {
        0 => row.source = if random.random() { Source::Stock } else { Source::Run(name(random)) },
        1 => row.part = name(random),
        2 => row.shipment = name(random),
        _ => row.count = Count(*[0, 1, u64::MAX, u64::MAX - 1].choose(random).expect("some")),
    }
}

fn hurt_promise(random: &mut ChaCha8Rng, row: &mut ShipmentPlan) {
    match random.random_range(0..4) {
        0 => row.shipment = name(random),
        1 => row.ready = time(random, row.ready),
        2 => row.due = Some(time(random, row.ready)),
        _ => row.late = Minutes(number(random)),
    }
}

fn hurt_claims(random: &mut ChaCha8Rng, plan: &mut Plan) {
    let claims = &mut plan.claims;
    match random.random_range(0..8) {
        0 => claims.value = Minutes(number(random)),
        1 => claims.bound = Minutes(number(random)),
        2 => claims.late = WeightedMinutes(number(random)),
        3 => claims.late_bound = WeightedMinutes(number(random)),
        4 => claims.idle = Minutes(number(random)),
        5 => claims.surplus_parts = Count(random.random()),
        6 => claims.outcome = Outcome::Optimal,
        _ => plan.objective = Objective::LeastIdle,
    }
}

/// Hurts, drops or repeats one thing of the plan.
fn hurt(random: &mut ChaCha8Rng, plan: &mut Plan) {
    fn one<T: Clone>(random: &mut ChaCha8Rng, rows: &mut Vec<T>, hurt: fn(&mut ChaCha8Rng, &mut T)) {
        if rows.is_empty() {
            return;
        }
        let place = random.random_range(0..rows.len());
        match random.random_range(0..8) {
            0 => drop(rows.remove(place)),
            1 => rows.push(rows[place].clone()),
            _ => hurt(random, &mut rows[place]),
        }
    }
    match random.random_range(0..5) {
        0 => one(random, &mut plan.runs, hurt_run),
        1 => one(random, &mut plan.tasks, hurt_task),
        2 => one(random, &mut plan.allocation, hurt_row),
        3 => one(random, &mut plan.shipments, hurt_promise),
        _ => hurt_claims(random, plan),
    }
}

#[test]
fn whatever_a_plan_says_it_is_judged() {
    let instance = farm();
    let whole = plan(&instance);
    let mut refused = 0;
    for seed in 0..20_000 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut plan = whole.clone();
        for _ in 0..random.random_range(1..8) {
            hurt(&mut random, &mut plan);
        }
        // A panic below is this seed's.
        let report = std::panic::catch_unwind(|| check(&instance, &plan));
        let report = report.unwrap_or_else(|_| panic!("seed {seed} makes the checker panic"));
        assert!(report.breaches.iter().all(|breach| !breach.message.is_empty()), "seed {seed}");
        refused += usize::from(!report.holds());
    }
    assert!(refused > 19_000, "only {refused} of 20000 damaged plans are refused");
}

#[test]
fn a_plan_of_nothing_is_judged() {
    let instance = farm();
    let mut plan = plan(&instance);
    plan.runs.clear();
    plan.tasks.clear();
    plan.allocation.clear();
    plan.shipments.clear();
    let report = check(&instance, &plan);
    assert!(!report.holds());
    assert_eq!((report.figures.makespan, report.figures.idle), (Minutes(0), Minutes(0)));
    assert_eq!(report.figures.surplus_parts, Count(14));
}

#[test]
fn every_time_at_the_ends_of_its_type() {
    let instance = farm();
    for far in [Instant(i64::MIN), Instant(i64::MAX)] {
        let mut plan = plan(&instance);
        for run in &mut plan.runs {
            (run.ready, run.harvest_from, run.harvest_to) = (far, far, far);
            run.load.iter_mut().for_each(|load| (load.from, load.print_from) = (far, far));
        }
        for task in &mut plan.tasks {
            (task.from, task.to) = (far, far);
        }
        plan.shipments.iter_mut().for_each(|row| row.ready = far);
        let report = check(&instance, &plan);
        assert!(report.breaches.iter().any(|b| b.message.contains("beyond the calendar")));
    }
}
