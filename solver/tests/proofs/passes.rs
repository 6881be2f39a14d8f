//! The backward pass, which finds histories, and the forward pass, which proves, are written apart and must agree.

use crate::instance;
use platewright_solver::columns::prices::{Prices, Rows};
use platewright_solver::columns::reach::best_by_minute;
use platewright_solver::history::{Leave, Scratch, Standing, Window, best};
use platewright_solver::problem::Problem;
use platewright_solver::room::{Room, next_down};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Prices of every kind, at random.
pub fn random_prices(problem: &Problem<'_>, rows: &Rows, rng: &mut ChaCha8Rng) -> Prices {
    let mut prices = Prices::flat(problem, rows);
    for p in &mut prices.need {
        *p = rng.random_range(0..200_000);
    }
    for p in &mut prices.cut {
        *p = if rng.random_bool(0.3) { rng.random_range(0..500_000) } else { 0 };
    }
    for p in &mut prices.slot {
        *p = if rng.random_bool(0.3) { rng.random_range(0..20_000) } else { 0 };
    }
    for p in &mut prices.boxed {
        *p = if rng.random_bool(0.2) { rng.random_range(0..100_000) } else { 0 };
    }
    for p in &mut prices.late {
        *p = if rng.random_bool(0.3) { rng.random_range(0..20_000) } else { 0 };
    }
    for p in &mut prices.night {
        *p = if rng.random_bool(0.5) { rng.random_range(0..500_000) } else { 0 };
    }
    prices
}

#[test]
fn forward_and_backward_passes_find_the_same_best_value_at_every_end() {
    for name in ["harbour-week", "tiny-changeover", "tiny-release", "tiny-stock-running", "tiny-no-night", "tiny-bag"] {
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let room = Room::new(&problem);
        let open = vec![problem.horizon; problem.orders.len()];
        let rows = Rows::new(&problem, &open, 30);
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let reach = problem.horizon.min(4000);
        let (rows, _) = rows.with_packing(&problem, &Prices::flat(&problem, &rows), reach);
        for round in 0..3 {
            let prices = random_prices(&problem, &rows, &mut rng);
            let tariff = rows.tariff(&problem, &prices, &open, 0);
            for (c, class) in problem.classes.iter().enumerate() {
                let down = next_down(class, problem.horizon);
                let forward = best_by_minute(&room, class, &down, &tariff, &vec![0; problem.modes.len()], reach);
                assert!(forward.windows(2).all(|w| w[0] <= w[1]), "{name}: values only rise with time");
                let mut scratch = Scratch::default();
                for _ in 0..25 {
                    let to = rng.random_range(0..=reach);
                    let window = Window { from: 0, to, leave: Leave::Anything };
                    let standing = Standing::at_start(class);
                    let backward = best(&room, class, &tariff, window, standing, &mut scratch);
                    let value = backward.as_ref().map_or(0, |b| b.0.max(0));
                    assert_eq!(value, forward[to as usize], "{name}, round {round}, class {c}, end {to}");
                    if let Some((value, legs)) = backward {
                        let told = tariff.of_history(&problem, &room, &legs);
                        assert_eq!(
                            value, told,
                            "{name}, round {round}, class {c}, end {to}: a path is worth its parts"
                        );
                        assert!(legs.iter().all(|l| l.harvest_to <= to));
                        assert!(legs.windows(2).all(|w| w[1].load_from.is_some_and(|l| l >= w[0].harvest_to)));
                    }
                }
            }
        }
    }
}

#[test]
fn idle_minutes_in_a_path_are_those_of_its_runs() {
    for name in ["harbour-week", "tiny-no-night", "tiny-stock-running"] {
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let room = Room::new(&problem);
        let open = vec![problem.horizon; problem.orders.len()];
        let rows = Rows::new(&problem, &open, 30);
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let prices = random_prices(&problem, &rows, &mut rng);
        let tariff = rows.tariff(&problem, &prices, &open, 90);
        for (c, class) in problem.classes.iter().enumerate() {
            let window = Window { from: 0, to: problem.horizon.min(6000), leave: Leave::Anything };
            let mut scratch = Scratch::default();
            let found = best(&room, class, &tariff, window, Standing::at_start(class), &mut scratch);
            let Some((value, legs)) = found else { continue };
            let end = legs.last().map_or(0, |l| l.harvest_to);
            let printed: i32 = legs.iter().map(|l| problem.printed(c, l.mode, l.load_from.is_some(), l.ready)).sum();
            let downtime: i32 = class.downtime.iter().map(|d| (d.1.min(end) - d.0).max(0)).sum();
            let idle = i64::from(end - printed - downtime);
            assert_eq!(value, tariff.of_history(&problem, &room, &legs) - 90 * idle, "{name}");
        }
    }
}
