//! Prices that prove a makespan impossible, in integers.
//!
//! Give each job a price of 0 or more. If the dearest load that fits a machine by minute `T` costs `K(T)`, then all
//! machines together hold at most `machines * K(T)`; where the jobs together cost more, no assignment is over by `T`. This
//! holds for any prices whatever, so it does not matter where they come from.

use super::jobs::{Jobs, Load};

/// The dearest load by capacity.
pub struct Knapsack {
    /// By capacity, what the dearest load that fits costs.
    pub best: Vec<i64>,
}

impl Knapsack {
    /// Fills the table up to a capacity.
    pub fn new(jobs: &Jobs, prices: &[i64], capacity: i64) -> Knapsack {
        let mut best = vec![0i64; capacity as usize + 1];
        for (length, price) in parcels(jobs, prices).map(|p| (p.length, p.price)) {
            add(&mut best, length, price, |_| ());
        }
        Knapsack { best }
    }

    /// The least makespan, from one on, that the prices leave possible.
    pub fn first_possible(&self, jobs: &Jobs, prices: &[i64], from: i64) -> i64 {
        let all = worth(jobs, prices);
        let machines = jobs.machines as i64;
        let from = from.max(0) as usize;
        (from..self.best.len()).find(|&t| machines * self.best[t] >= all).unwrap_or(self.best.len()) as i64
    }
}

/// What all jobs cost.
pub fn worth(jobs: &Jobs, prices: &[i64]) -> i64 {
    prices.iter().zip(&jobs.count).map(|(p, &n)| p * i64::from(n)).sum()
}

/// The dearest load that fits a capacity, and the table.
pub fn dearest(jobs: &Jobs, prices: &[i64], capacity: i64) -> (Load, Knapsack) {
    let mut best = vec![0i64; capacity as usize + 1];
    let words = capacity as usize / 64 + 1;
    let parcels: Vec<Parcel> = parcels(jobs, prices).collect();
    let mut taken = vec![0u64; words * parcels.len()];
    for (parcel, taken) in parcels.iter().zip(taken.chunks_mut(words)) {
        add(&mut best, parcel.length, parcel.price, |at| taken[at / 64] |= 1 << (at % 64));
    }
    let mut left = capacity as usize;
    let mut load: Load = Vec::new();
    for (parcel, taken) in parcels.iter().zip(taken.chunks(words)).rev() {
        if taken[left / 64] >> (left % 64) & 1 == 1 {
            left -= parcel.length as usize;
            match load.last_mut() {
                Some(last) if last.0 == parcel.kind => last.1 += parcel.jobs,
                _ => load.push((parcel.kind, parcel.jobs)),
            }
        }
    }
    load.reverse();
    (load, Knapsack { best })
}

/// Jobs of one kind that are taken together or not at all.
struct Parcel {
    kind: usize,
    jobs: u32,
    length: i64,
    price: i64,
}

/// Each kind in parcels of 1, 2, 4, … jobs, so that any number of them can be put together.
fn parcels<'j>(jobs: &'j Jobs, prices: &'j [i64]) -> impl Iterator<Item = Parcel> + 'j {
    (0..jobs.minutes.len()).filter(|&kind| prices[kind] > 0 && jobs.count[kind] > 0).flat_map(move |kind| {
        let (mut left, mut size) = (jobs.count[kind], 1);
        std::iter::from_fn(move || {
            let jobs_in = size.min(left);
            left -= jobs_in;
            size *= 2;
            let times = i64::from(jobs_in);
            (jobs_in > 0).then(|| Parcel {
                kind,
                jobs: jobs_in,
                length: jobs.minutes[kind] * times,
                price: prices[kind] * times,
            })
        })
    })
}

fn add(best: &mut [i64], length: i64, price: i64, mut took: impl FnMut(usize)) {
    let length = length as usize;
    for at in (length..best.len()).rev() {
        let with = best[at - length] + price;
        if with > best[at] {
            best[at] = with;
            took(at);
        }
    }
}
