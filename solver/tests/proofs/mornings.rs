//! What mornings can take: every plan obeys it, and no price on it excludes a plan that exists.

use crate::passes::random_prices;
use crate::prices::none_excludes;
use crate::{best_ready, instance, makespan, tiny};
use platewright_solver::columns::bound::Relaxation;
use platewright_solver::columns::prices::{Prices, Rows};
use platewright_solver::columns::reach::best_by_minute;
use platewright_solver::dispatch::{Manner, dispatch};
use platewright_solver::floor::Floor;
use platewright_solver::history::{Leave, Scratch, Standing, Window, best};
use platewright_solver::mix;
use platewright_solver::problem::{Min, Problem};
use platewright_solver::room::{Room, next_down};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Random prices, on mornings too.
fn with_mornings(problem: &Problem<'_>, rows: &Rows, rng: &mut ChaCha8Rng) -> Prices {
    let mut prices = random_prices(problem, rows, rng);
    for p in &mut prices.morning {
        *p = if rng.random_bool(0.4) { rng.random_range(0..1_000_000) } else { 0 };
    }
    prices
}

/// Loads over by a minute of a morning, but the first of a printer that stood empty when it began.
fn loads(floor: &Floor<'_>, from: Min, by: Min) -> i64 {
    let of_printer = |m: &platewright_solver::floor::Machine| {
        let legs = || m.runs.iter().map(|r| r.leg);
        let counted = legs().filter(|l| l.load_from.is_some_and(|load| load >= from) && l.print_from <= by).count();
        let stood_full = legs().any(|l| l.load_from.is_none_or(|load| load < from) && l.harvest_to > from);
        counted as i64 - i64::from(!stood_full && counted > 0)
    };
    floor.machines.iter().map(of_printer).sum()
}

#[test]
fn every_plan_loads_no_more_in_a_morning_than_the_morning_takes() {
    let (mut looked_at, mut tight) = (0, 0);
    for name in ["kit-run", "harbour-week", "three-weekly"].map(String::from).into_iter().chain(tiny()) {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let rows = Rows::new(&problem, &vec![problem.horizon; problem.orders.len()], 30);
        for manner in Manner::all(&problem) {
            let floor = dispatch(&problem, &mix::prices(&problem), manner, &|| false);
            for morning in &rows.mornings {
                let count = loads(&floor, morning.from, morning.by);
                assert!(count <= morning.most, "{name}: {count} loads in {morning:?}");
                looked_at += 1;
                tight += usize::from(count == morning.most && count > 0);
            }
        }
    }
    assert!(looked_at > 1000 && tight > 50, "{looked_at} looked at, {tight} of them tight");
}

#[test]
fn no_prices_on_mornings_exclude_the_proven_best_makespan() {
    let mut with = 0;
    for name in tiny() {
        let instance = instance(&name);
        let problem = Problem::new(&instance);
        let ready = best_ready(&name, &problem);
        let makespan = makespan(&ready);
        for deadlines in [vec![problem.horizon; ready.len()], ready] {
            let relaxation = Relaxation::new(&problem, &deadlines, 30);
            with += usize::from(relaxation.rows().mornings.iter().any(|m| m.from < makespan));
            none_excludes(&name, &problem, &relaxation, makespan, with_mornings);
        }
    }
    assert!(with >= 6, "some tiny plans go over a morning: {with}");
}

#[test]
fn the_forward_pass_is_worth_at_least_any_history_where_mornings_have_prices() {
    for name in ["harbour-week", "tiny-changeover", "tiny-release", "tiny-no-night"] {
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let room = Room::new(&problem);
        let open = vec![problem.horizon; problem.orders.len()];
        let rows = Rows::new(&problem, &open, 30);
        let mut rng = ChaCha8Rng::seed_from_u64(17);
        let reach = problem.horizon.min(6000);
        for _ in 0..3 {
            let priced = with_mornings(&problem, &rows, &mut rng);
            let tariff = rows.tariff(&problem, &priced, &open, 0);
            // Histories made at other prices are judged too.
            let others = rows.tariff(&problem, &random_prices(&problem, &rows, &mut rng), &open, 0);
            for (c, class) in problem.classes.iter().enumerate() {
                let forward = best_by_minute(
                    &room,
                    class,
                    &next_down(class, problem.horizon),
                    &tariff,
                    &vec![0; problem.modes.len()],
                    reach,
                );
                let mut scratch = Scratch::default();
                for at in 0..40 {
                    let to = rng.random_range(0..=reach);
                    let window = Window { from: 0, to, leave: Leave::Anything };
                    let made_at = if at % 2 == 0 { &tariff } else { &others };
                    let found = best(&room, class, made_at, window, Standing::at_start(class), &mut scratch);
                    let Some((value, legs)) = found else { continue };
                    let told = tariff.of_history(&problem, &room, &legs);
                    assert!(at % 2 != 0 || value == told, "{name}, class {c}, end {to}: a path is worth its parts");
                    assert!(
                        told <= forward[to as usize],
                        "{name}, class {c}, end {to}: {told} over {}",
                        forward[to as usize]
                    );
                }
            }
        }
    }
}
