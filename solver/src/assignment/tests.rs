//! Against every assignment there is, on jobs few enough to try them all.

use super::jobs::{Jobs, Load};
use super::prices::{Knapsack, dearest, worth};
use super::tree::Verdict;
use super::{assign, climb, resplit, tree};
use proptest::prelude::*;

const LONG: u64 = 10_000_000;

fn best(lengths: &[i64], machines: usize) -> i64 {
    fn put(left: &[i64], minutes: &mut [i64], best: &mut i64) {
        let Some((&next, rest)) = left.split_first() else {
            *best = (*best).min(minutes.iter().copied().max().unwrap_or(0));
            return;
        };
        for m in 0..minutes.len() {
            minutes[m] += next;
            if minutes[m] < *best {
                put(rest, minutes, best);
            }
            minutes[m] -= next;
            if minutes[m] == 0 {
                break;
            }
        }
    }
    let mut sorted = lengths.to_vec();
    sorted.sort_unstable_by_key(|&l| std::cmp::Reverse(l));
    let mut found = sorted.iter().sum::<i64>() + 1;
    put(&sorted, &mut vec![0; machines], &mut found);
    found
}

fn is_all(jobs: &Jobs, loads: &[Load]) -> bool {
    let mut held = vec![0; jobs.count.len()];
    loads.iter().flatten().for_each(|&(kind, n)| held[kind] += n);
    held == jobs.count && loads.len() == jobs.machines
}

fn cases() -> impl Strategy<Value = (Vec<i64>, usize)> {
    let lengths = (1i64..40, 1usize..11).prop_flat_map(|(longest, n)| prop::collection::vec(1..=longest, n));
    (lengths, 1usize..5)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn the_best_assignment_is_found_and_proven((lengths, machines) in cases()) {
        let jobs = Jobs::new(&lengths, machines);
        let found = assign(&jobs, 0, 1, &|| false);
        let best = best(&lengths, machines);
        prop_assert!(is_all(&jobs, &found.loads));
        prop_assert_eq!(found.loads.iter().map(|l| jobs.length(l)).max(), Some(found.makespan));
        prop_assert_eq!((found.makespan, found.bound), (best, best));
    }

    #[test]
    fn counting_and_the_climb_never_pass_the_best((lengths, machines) in cases()) {
        let jobs = Jobs::new(&lengths, machines);
        let best = best(&lengths, machines);
        let simple = jobs.simple_bound();
        prop_assert!(simple <= best);
        let climbed = climb::climb(&jobs, simple, best + 3, &[], 200, &|| false);
        prop_assert!(simple <= climbed.bound && climbed.bound <= best);
    }

    #[test]
    fn no_prices_exclude_the_best(
        (lengths, machines) in cases(),
        prices in prop::collection::vec(0i64..1000, 11),
    ) {
        let jobs = Jobs::new(&lengths, machines);
        let prices = &prices[..jobs.minutes.len()];
        let best = best(&lengths, machines);
        prop_assert!(Knapsack::new(&jobs, prices, best).first_possible(&jobs, prices, 0) <= best);
        let (load, table) = dearest(&jobs, prices, best);
        prop_assert!(jobs.length(&load) <= best && load.iter().all(|&(kind, n)| n <= jobs.count[kind]));
        let priced: i64 = load.iter().map(|&(kind, n)| prices[kind] * i64::from(n)).sum();
        prop_assert_eq!(priced, table.best[best as usize]);
        prop_assert!(priced <= worth(&jobs, prices));
    }

    /// Whatever prices cut its branches, the tree says yes at the best and no a minute before.
    #[test]
    fn the_tree_is_right_at_any_prices(
        (lengths, machines) in cases(),
        prices in prop::collection::vec(0i64..1000, 11),
    ) {
        let jobs = Jobs::new(&lengths, machines);
        let prices = vec![prices[..jobs.minutes.len()].to_vec()];
        let best = best(&lengths, machines);
        let at = |until: i64| tree::search(&jobs, until, &prices, LONG, &|| false);
        let Verdict::Fits(loads) = at(best) else { panic!("no assignment at {best}") };
        let machines_left = jobs.machines - loads.len();
        prop_assert!(is_all(&jobs, &[loads, vec![Load::new(); machines_left]].concat()));
        prop_assert_eq!(at(best - 1), Verdict::Never);
    }

    #[test]
    fn dividing_anew_keeps_every_job((lengths, machines) in cases(), seed in 0u64..1000) {
        let jobs = Jobs::new(&lengths, machines);
        let until = best(&lengths, machines);
        if let Some(loads) = resplit::search(&jobs, &resplit::longest_first(&jobs), until, seed, LONG, &|| false) {
            prop_assert!(is_all(&jobs, &loads));
            prop_assert!(loads.iter().all(|l| jobs.length(l) <= until));
        }
    }
}
