//! A search for an assignment that is over by a given minute.
//!
//! Two machines hold a few dozen jobs between them, and every sum of minutes that some of those jobs add up to is found
//! by shifting a row of bits once for each. So the best division of two machines' jobs is not searched for but looked
//! up. A move takes a machine that holds too much and one or two others, and divides their jobs anew, at random among
//! the divisions that leave the least too much; it is kept unless it is worse. Where a machine has very many jobs, a part of
//! them, drawn at random, moves, and the others stay.

use super::jobs::{Jobs, Load};
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Most jobs of one machine that move.
const MOVING: usize = 24;
/// What a division costs besides its words of bits.
const MOVE: u64 = 1000;
/// Among how many of the fullest loads of a first of three machines one is taken at random.
const FULLEST: usize = 12;

/// Longest jobs first, each where there is least.
pub fn longest_first(jobs: &Jobs) -> Vec<Load> {
    let mut floor = Floor { jobs, held: vec![Vec::new(); jobs.machines], minutes: vec![0; jobs.machines] };
    for (kind, &n) in jobs.count.iter().enumerate() {
        for _ in 0..n {
            let at = (0..jobs.machines).min_by_key(|&m| (floor.minutes[m], m)).unwrap_or(0);
            floor.held[at].push(kind);
            floor.minutes[at] += jobs.minutes[kind];
        }
    }
    floor.loads()
}

/// An assignment that is over by `until`, if a search of so much work finds one. Begins with the given one.
pub fn search(
    jobs: &Jobs,
    start: &[Load],
    until: i64,
    seed: u64,
    work: u64,
    stop: &dyn Fn() -> bool,
) -> Option<Vec<Load>> {
    let mut floor = Floor::of(jobs, start);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut spent = 0;
    let mut sums = Sums::default();
    while spent < work && !stop() {
        let over: Vec<usize> = (0..jobs.machines).filter(|&m| floor.minutes[m] > until).collect();
        let Some(&first) = over.get(rng.random_range(0..over.len().max(1))) else { return Some(floor.loads()) };
        if jobs.machines < 2 {
            return None;
        }
        let mut others: Vec<usize> = (0..jobs.machines).filter(|&m| m != first).collect();
        let many = if jobs.machines > 2 && rng.random_bool(0.6) { 2 } else { 1 };
        let (chosen, _) = others.partial_shuffle(&mut rng, many);
        let machines: Vec<usize> = std::iter::once(first).chain(chosen.iter().copied()).collect();
        let too_much = |minutes: &[i64]| minutes.iter().map(|m| (m - until).max(0)).sum::<i64>();
        let before = too_much(&machines.iter().map(|&m| floor.minutes[m]).collect::<Vec<_>>());
        let mut moving: Vec<usize> = Vec::new();
        let mut parts: Vec<Vec<usize>> = Vec::new();
        for &m in &machines {
            let mut held = floor.held[m].clone();
            held.shuffle(&mut rng);
            moving.extend(held.drain(..held.len().min(MOVING)));
            parts.push(held);
        }
        moving.shuffle(&mut rng);
        let minutes_of = |jobs_of: &[usize]| jobs_of.iter().map(|&k| jobs.minutes[k]).sum::<i64>();
        let rooms: Vec<i64> = parts.iter().map(|part| (until - minutes_of(part)).max(0)).collect();
        for at in 0..machines.len() - 1 {
            spent += sums.fill(jobs, &moving, rooms[at]) + MOVE + jobs.machines as u64;
            let least = minutes_of(&moving) - rooms[at + 1..].iter().sum::<i64>();
            let sum = sums.choose(least.max(0), rooms[at], at + 2 < machines.len(), &mut rng);
            let (taken, rest) = sums.divide(jobs, &moving, sum);
            parts[at].extend(taken);
            moving = rest;
        }
        if let Some(last) = parts.last_mut() {
            last.extend(moving);
        }
        let minutes: Vec<i64> = parts.iter().map(|part| minutes_of(part)).collect();
        if too_much(&minutes) <= before {
            for ((&m, part), minutes) in machines.iter().zip(parts).zip(minutes) {
                floor.held[m] = part;
                floor.minutes[m] = minutes;
            }
        }
    }
    None
}

struct Floor<'j> {
    jobs: &'j Jobs,
    held: Vec<Vec<usize>>,
    minutes: Vec<i64>,
}

impl<'j> Floor<'j> {
    fn of(jobs: &'j Jobs, loads: &[Load]) -> Floor<'j> {
        let held: Vec<Vec<usize>> = loads
            .iter()
            .map(|load| load.iter().flat_map(|&(kind, n)| std::iter::repeat_n(kind, n as usize)).collect())
            .collect();
        Floor { jobs, held, minutes: loads.iter().map(|load| jobs.length(load)).collect() }
    }

    fn loads(&self) -> Vec<Load> {
        let load = |held: &Vec<usize>| {
            let mut sorted = held.clone();
            sorted.sort_unstable();
            sorted.chunk_by(|a, b| a == b).map(|same| (same[0], same.len() as u32)).collect()
        };
        debug_assert_eq!(self.held.iter().map(Vec::len).sum::<usize>(), self.jobs.lengths().len());
        self.held.iter().map(load).collect()
    }
}

/// Which sums the first jobs of a list have, bit by bit.
#[derive(Default)]
struct Sums {
    words: usize,
    /// A row after each job, the first before any.
    rows: Vec<u64>,
    /// The sums of all jobs, falling.
    found: Vec<i64>,
}

impl Sums {
    /// Finds all sums up to a limit; returns the words touched.
    fn fill(&mut self, jobs: &Jobs, all: &[usize], until: i64) -> u64 {
        self.words = until as usize / 64 + 1;
        self.rows.clear();
        self.rows.resize(self.words * (all.len() + 1), 0);
        self.rows[0] = 1;
        for (at, &kind) in all.iter().enumerate() {
            let (before, after) = self.rows.split_at_mut(self.words * (at + 1));
            let before = &before[self.words * at..];
            let (skip, bits) = (jobs.minutes[kind] as usize / 64, jobs.minutes[kind] as usize % 64);
            for word in 0..self.words {
                let shifted = |back: usize| word.checked_sub(skip + back).map_or(0, |w| before[w]);
                let carried = if bits == 0 { 0 } else { shifted(1) >> (64 - bits) };
                after[word] = before[word] | shifted(0) << bits | carried;
            }
        }
        (self.words * all.len()) as u64
    }

    /// One of the sums between two limits or, where there is none, the greatest up to the higher one. With `full` one of
    /// the fullest.
    fn choose(&mut self, low: i64, high: i64, full: bool, rng: &mut ChaCha8Rng) -> i64 {
        let last = &self.rows[self.rows.len() - self.words..];
        self.found.clear();
        for word in (0..self.words).rev() {
            let mut bits = last[word];
            while bits != 0 {
                let bit = 63 - bits.leading_zeros() as usize;
                bits &= !(1 << bit);
                let sum = (word * 64 + bit) as i64;
                if sum <= high {
                    self.found.push(sum);
                }
            }
            if self.found.len() >= FULLEST && (full || self.found.last().is_some_and(|&s| s < low)) {
                break;
            }
        }
        let within = self.found.partition_point(|&s| s >= low);
        let among = if full { self.found.len().min(FULLEST) } else { within.max(1) };
        self.found[rng.random_range(0..among.max(1))]
    }

    /// The jobs of a sum, and the others.
    fn divide(&self, jobs: &Jobs, all: &[usize], sum: i64) -> (Vec<usize>, Vec<usize>) {
        let has = |row: usize, sum: i64| {
            sum >= 0 && self.rows[self.words * row + sum as usize / 64] >> (sum as usize % 64) & 1 == 1
        };
        let (mut taken, mut rest, mut left) = (Vec::new(), Vec::new(), sum);
        for (at, &kind) in all.iter().enumerate().rev() {
            if has(at, left) {
                rest.push(kind);
            } else {
                left -= jobs.minutes[kind];
                taken.push(kind);
            }
        }
        (taken, rest)
    }
}
