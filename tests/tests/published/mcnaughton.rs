//! McNaughton's wrap-around: with interruptions allowed, alike machines need exactly the larger of the longest job and
//! the mean load. Plates cannot be interrupted, so that is a bound here; and where jobs divide the load evenly it is met.

use crate::solved::{Solved, solve};
use platewright_tests::chance::Chance;
use platewright_tests::machines::Job;

/// R. McNaughton, "Scheduling with deadlines and loss functions", Management Science 6(1) (1959) 1–12 (from memory).
fn wrap_around(machines: i64, jobs: &[i64]) -> i64 {
    let mean = (jobs.iter().sum::<i64>() + machines - 1) / machines;
    jobs.iter().copied().max().unwrap_or(0).max(mean)
}

fn planned(name: &str, machines: i64, jobs: &[i64]) -> Solved {
    let jobs: Vec<Job> = jobs.iter().copied().map(Job::alone).collect();
    solve(name, machines as usize, machines as usize, &jobs)
}

/// Jobs of 10, 8, 4, 14 and 1 on three machines: no plan is shorter than 14 with or without interruptions.
#[test]
fn a_long_job_sets_the_pace() {
    assert_eq!(wrap_around(3, &[10, 8, 4, 14, 1]), 14);
    assert_eq!(planned("wrap-around", 3, &[10, 8, 4, 14, 1]), Solved::optimum(14));
}

/// On random jobs the planner's plans are never shorter than the wrap-around bound, and its own bound is no weaker.
#[test]
fn the_bound_is_never_undercut_and_always_known() {
    for seed in 0..20 {
        let mut chance = Chance::new("wrap-around", seed);
        let machines = chance.between(2, 4);
        let jobs: Vec<i64> = (0..chance.between(4, 9)).map(|_| chance.between(5, 120)).collect();
        let name = format!("wrap-around, seed {seed}");
        let (least, solved) = (wrap_around(machines, &jobs), planned(&name, machines, &jobs));
        assert!(
            least <= solved.bound && solved.bound <= solved.value,
            "{name}: {jobs:?} on {machines}: {least} {solved:?}"
        );
    }
}
