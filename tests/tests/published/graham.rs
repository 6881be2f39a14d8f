//! Graham's worst cases: what a simple order makes of them, and what the planner does.
//!
//! The naive orders are simulated here, so that the bad values are seen and not only quoted.

use crate::solved::{Solved, solve};
use platewright_tests::machines::Job;

/// List scheduling: the next job of the list goes to the machine that is free first.
fn list_scheduling(machines: usize, jobs: &[i64]) -> i64 {
    let mut free = vec![0; machines];
    for job in jobs {
        *free.iter_mut().min().expect("a machine") += job;
    }
    free.into_iter().max().expect("a machine")
}

/// List scheduling with the longest first.
fn longest_first(machines: usize, jobs: &[i64]) -> i64 {
    let mut sorted = jobs.to_vec();
    sorted.sort_unstable_by_key(|job| -job);
    list_scheduling(machines, &sorted)
}

fn planned(name: &str, machines: usize, jobs: &[i64]) -> Solved {
    let jobs: Vec<Job> = jobs.iter().copied().map(Job::alone).collect();
    solve(name, machines, machines, &jobs)
}

/// R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17(2) (1969) 416–429 (the jobs from
/// memory): longest first is no better than 4/3 - 1/(3m) of the best, and on these exactly that bad.
#[test]
fn longest_first_at_its_worst() {
    for (machines, jobs, naive, best) in [
        (2, &[3, 3, 2, 2, 2][..], 7, 6),
        (3, &[5, 5, 4, 4, 3, 3, 3], 11, 9),
        // Also in Pinedo, "Scheduling", chapter 5.
        (4, &[7, 7, 6, 6, 5, 5, 4, 4, 4], 15, 12),
    ] {
        assert_eq!(longest_first(machines, jobs), naive);
        let name = format!("longest first on {machines}");
        assert_eq!(planned(&name, machines, jobs), Solved::optimum(best), "{name}");
    }
}

/// The same paper's family (from memory): two jobs each of 2m-1 down to m+1 minutes and three of m take longest first
/// 4m-1 minutes, and the best order 3m.
#[test]
fn longest_first_at_its_worst_on_any_number_of_machines() {
    for machines in 2..=6_i64 {
        let mut jobs: Vec<i64> = (machines + 1..2 * machines).rev().flat_map(|job| [job, job]).collect();
        jobs.extend([machines; 3]);
        assert_eq!(longest_first(machines as usize, &jobs), 4 * machines - 1);
        let name = format!("longest first on {machines} of the family");
        assert_eq!(planned(&name, machines as usize, &jobs), Solved::optimum(3 * machines), "{name}");
    }
}

/// R. L. Graham, "Bounds for certain multiprocessing anomalies", Bell System Technical Journal 45 (1966) 1563–1581 (the
/// jobs from memory): m(m-1) jobs of 1 minute and then one of m take a list in that order 2m-1 minutes, and the best
/// order m.
#[test]
fn list_scheduling_at_its_worst() {
    for machines in 2..=5_i64 {
        let mut jobs = vec![1; (machines * (machines - 1)) as usize];
        jobs.push(machines);
        assert_eq!(list_scheduling(machines as usize, &jobs), 2 * machines - 1);
        let name = format!("list scheduling on {machines}");
        assert_eq!(planned(&name, machines as usize, &jobs), Solved::optimum(machines), "{name}");
    }
}
