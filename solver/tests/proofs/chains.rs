//! How many printers complete a chain: no plan has more, and no price on it excludes a plan that exists.

use crate::passes::random_prices;
use crate::prices::none_excludes;
use crate::{best_ready, instance, makespan};
use platewright_model::Instance;
use platewright_solver::columns::bound::{Effort, Relaxation};
use platewright_solver::columns::prices::{Prices, Rows};
use platewright_solver::columns::reach::best_by_minute;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::history::{Leave, Leg, Scratch, Standing, Window, best};
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::room::{Room, next_down};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::fmt::Write;

/// Random prices, on chains too.
fn with_chains(problem: &Problem<'_>, rows: &Rows, rng: &mut ChaCha8Rng) -> Prices {
    let mut prices = random_prices(problem, rows, rng);
    for p in &mut prices.chain {
        *p = if rng.random_bool(0.7) { rng.random_range(0..250_000) } else { 0 };
    }
    prices
}

/// A room whose printers all hold a plate when its first shift begins, and whose shift is hardly longer than some prints.
fn room(seed: u64) -> Instance {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (printers, operators) = if rng.random_bool(0.7) { (3, 2) } else { (4, 3) };
    let (load, harvest) = (rng.random_range(1..=5), rng.random_range(1..=5));
    let prints = rng.random_range(1..=2);
    let print = rng.random_range(40..=90);
    let slack = rng.random_range(0..=load + harvest);
    let shift = harvest + prints * (load + print + harvest) + slack;
    let longer = print + rng.random_range(1..=30);
    let plates = if rng.random_bool(0.5) { 1 } else { 2 };
    let quantity = printers * (prints + 1) - rng.random_range(0..=1);
    let mut tables = vec![
        ("parts.csv", "part,material\nbase,PETG\n".to_string()),
        ("kits.csv", "kit,item,quantity\nlamp-base,base,1\n".to_string()),
        ("shipments.csv", format!("shipment,kit,quantity\nlot,lamp-base,{quantity}\n")),
        ("plates.csv", format!("plate,group,part,copies,minutes\nbase-1,desk,base,1,{print}\n")),
        ("printers.csv", "printer,group\n".to_string()),
        ("running.csv", "printer,plate,ready\n".to_string()),
        ("shifts.csv", "crew,days,from,to,operators\n".to_string()),
    ];
    if plates == 2 {
        let _ = writeln!(tables[3].1, "base-long,desk,base,1,{longer}");
    }
    for printer in 1..=printers {
        let _ = writeln!(tables[4].1, "P{printer},desk");
        let _ = writeln!(tables[5].1, "P{printer},base-1,2026-03-02T07:00");
    }
    let end = 8 * 60 + shift;
    let _ = writeln!(tables[6].1, "day,daily,08:00,{:02}:{:02},{operators}", end / 60, end % 60);
    let farm = format!(
        "name = \"In step\"\ntime_zone = \"Europe/Lisbon\"\nstart = \"2026-03-02T06:00\"\nhorizon_days = 7\n\n\
         [handling]\nload = {load}\nharvest = {harvest}\n"
    );
    tables.push(("farm.toml", farm));
    let folder = tempfile::tempdir().unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
    for (name, text) in tables {
        std::fs::write(folder.path().join(name), text).unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
    }
    platewright_model::tables::read(folder.path()).unwrap_or_else(|faults| panic!("seed {seed}: {faults}"))
}

/// The bound of a relaxation with coarse slots, with chains or without.
fn bound(problem: &Problem<'_>, makespan: Min, chains: bool) -> Min {
    let deadlines = vec![problem.horizon; problem.orders.len()];
    let relaxation = if chains { Relaxation::new } else { Relaxation::unchained }(problem, &deadlines, 30);
    let effort = Effort { rounds: 400, finest: 30, coarsest: 30 };
    relaxation.climb(0, makespan, &[], None, effort, &|_| false).makespan
}

#[test]
fn no_bound_with_chains_is_above_the_proven_best_of_random_rooms_and_some_are_higher_than_without() {
    let (mut with, mut higher) = (0, 0);
    for seed in 0..60 {
        let instance = room(seed);
        let problem = Problem::new(&instance);
        let best = makespan(&best_ready(&format!("seed {seed}"), &problem));
        let open = vec![problem.horizon; problem.orders.len()];
        let relaxation = Relaxation::new(&problem, &open, 30);
        if relaxation.rows().chains.is_empty() {
            continue;
        }
        with += 1;
        none_excludes(&format!("seed {seed}"), &problem, &relaxation, best, with_chains);
        let bound_with = bound(&problem, best, true);
        assert!(bound_with <= best, "seed {seed}: bound {bound_with} over {best}");
        higher += usize::from(bound_with > bound(&problem, best, false));
    }
    assert!(with >= 12 && higher >= 4, "{with} rooms with chains, {higher} with a higher bound");
}

#[test]
fn forward_and_backward_passes_agree_where_chains_have_prices() {
    let (mut paid, mut spared) = (0, 0);
    let named = ["kit-run", "three-in-step"].map(|name| (name.to_string(), instance(name)));
    for (name, instance) in named.into_iter().chain((0..20).map(|seed| (format!("seed {seed}"), room(seed)))) {
        let problem = Problem::new(&instance);
        let room = Room::new(&problem);
        let open = vec![problem.horizon; problem.orders.len()];
        let rows = Rows::new(&problem, &open, 30).with_chains(&problem, problem.horizon);
        if rows.chains.is_empty() && name.starts_with("seed") {
            continue;
        }
        assert!(!rows.chains.is_empty(), "{name} has chains");
        let class = &problem.classes[0];
        let down = next_down(class, problem.horizon);
        let mut rng = ChaCha8Rng::seed_from_u64(23);
        let reach = problem.horizon.min(6000);
        for round in 0..8 {
            let prices = with_chains(&problem, &rows, &mut rng);
            let tariff = rows.tariff(&problem, &prices, &open, 0);
            let free = rows.tariff(&problem, &Prices { chain: vec![0; prices.chain.len()], ..prices }, &open, 0);
            let idle = rows.tariff(&problem, &with_chains(&problem, &rows, &mut rng), &open, 90);
            let forward = best_by_minute(&room, class, &down, &tariff, &vec![0; problem.modes.len()], reach);
            let mut scratch = Scratch::default();
            for _ in 0..25 {
                let to = rng.random_range(0..=reach);
                let window = Window { from: 0, to, leave: Leave::Anything };
                let mut path = |tariff| best(&room, class, tariff, window, Standing::at_start(class), &mut scratch);
                let (Some((value, legs)), Some((_, unpriced))) = (path(&tariff), path(&free)) else {
                    // What is held at the start may not be harvested by then.
                    assert!(class.running.is_some() && forward[to as usize] == 0, "{name}, round {round}, end {to}");
                    continue;
                };
                assert_eq!(value.max(0), forward[to as usize], "{name}, round {round}, end {to}");
                assert_eq!(value, tariff.of_history(&problem, &room, &legs), "{name}, round {round}, end {to}");
                let (value_of_idle, of_idle) = path(&idle).unwrap_or_default();
                let end = of_idle.last().map_or(0, |l| l.harvest_to);
                let printed: Min =
                    of_idle.iter().map(|l| problem.printed(0, l.mode, l.load_from.is_some(), l.ready)).sum();
                let at_idle = idle.of_history(&problem, &room, &of_idle) - 90 * i64::from(end - printed);
                assert_eq!(value_of_idle, at_idle, "{name}, round {round}, end {to}: idle minutes are priced");
                let told = tariff.of_history(&problem, &room, &unpriced);
                assert!(told <= value, "{name}, round {round}, end {to}: {told} is worth more than the best");
                let complete = |legs: &[Leg]| tariff.chains.iter().filter(|c| c.0.is_in(legs)).count();
                paid += complete(&legs);
                spared += complete(&unpriced) - complete(&legs).min(complete(&unpriced));
            }
        }
    }
    assert!(paid > 20 && spared > 20, "{paid} chains are completed at a price, {spared} are not because of it");
}

#[test]
fn no_plan_completes_a_chain_on_more_printers_than_can_be_kept_in_step() {
    let (mut looked_at, mut tight) = (0, 0);
    let rooms = (0..60).map(room);
    for instance in [instance("kit-run"), instance("three-in-step")].into_iter().chain(rooms) {
        let problem = Problem::new(&instance);
        let rows = Rows::new(&problem, &vec![problem.horizon; problem.orders.len()], 30)
            .with_chains(&problem, problem.horizon);
        for manner in Manner::all(&problem) {
            let floor = dispatch(&problem, &mix::prices(&problem), manner, &|| false);
            for chained in &rows.chains {
                let complete = |m: &&platewright_solver::floor::Machine| {
                    chained.chain.is_in(&m.runs.iter().map(|r| r.leg).collect::<Vec<_>>())
                };
                let count = floor.machines.iter().filter(complete).count() as i64;
                assert!(count <= chained.most, "{count} printers complete {chained:?}");
                looked_at += 1;
                tight += usize::from(count == chained.most && count > 0);
            }
        }
    }
    assert!(looked_at > 100 && tight > 10, "{looked_at} looked at, {tight} of them tight");
}
