//! Is there an assignment that is over by a minute? A search that can say no.
//!
//! Machine by machine: the next one takes the longest job that is left, and every load with that job is a branch, as
//! far as one can matter. Exchanging jobs between two machines of an assignment shows which do not: a load into which a
//! job that is left still fits, or in which some jobs could make room for one that is left and not shorter (the other
//! machine then holds no more than before).
//!
//! Prices cut the rest (see [`super::prices`]): what the machines that are left can hold at most, less what is left, is
//! all that may be wasted, and a load wastes what it is cheaper than the dearest. With the prices of the linear program
//! that is little. States that had no assignment are remembered. All of it is in integers, so a no is a proof.

use super::jobs::{Jobs, Load};
use super::prices::Knapsack;
use std::collections::HashMap;

/// How many counts of jobs, in all the states without an assignment, are remembered.
const REMEMBERED: usize = 30_000_000;
/// A load with more sums than this is kept unlooked at.
const SUMS: usize = 2_000;

/// What came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// This one.
    Fits(Vec<Load>),
    /// None.
    Never,
    /// Not known within the work allowed.
    Unknown,
}

/// Looks for an assignment that is over by `until`.
pub fn search(jobs: &Jobs, until: i64, prices: &[Vec<i64>], work: u64, stop: &dyn Fn() -> bool) -> Verdict {
    if jobs.minutes.first().is_some_and(|&longest| longest > until) {
        return Verdict::Never;
    }
    let scales: Vec<Scale> = std::iter::once(&jobs.minutes)
        .chain(prices)
        .map(|prices| {
            let table = Knapsack::new(jobs, prices, until).best;
            Scale { most: table[until as usize], table, prices: prices.clone() }
        })
        .collect();
    let left: Vec<i64> = scales.iter().map(|s| super::prices::worth(jobs, &s.prices)).collect();
    let mut tree = Tree { jobs, until, scales, work, stop, hopeless: HashMap::new(), loads: Vec::new() };
    match tree.place(&mut jobs.count.clone(), jobs.machines, &left) {
        Some(true) => Verdict::Fits(tree.loads),
        Some(false) => Verdict::Never,
        None => Verdict::Unknown,
    }
}

/// Prices with the dearest load by capacity.
struct Scale {
    prices: Vec<i64>,
    table: Vec<i64>,
    most: i64,
}

struct Tree<'j> {
    jobs: &'j Jobs,
    until: i64,
    scales: Vec<Scale>,
    work: u64,
    stop: &'j dyn Fn() -> bool,
    /// By what is left: so many machines are not enough.
    hopeless: HashMap<Box<[u32]>, usize>,
    loads: Vec<Load>,
}

/// A load in the making, and what it is worth on each scale.
struct Draft {
    load: Load,
    room: i64,
    worth: Vec<i64>,
}

impl Tree<'_> {
    /// Places what is left on so many machines; none where the work ran out.
    fn place(&mut self, left: &mut Vec<u32>, machines: usize, worth: &[i64]) -> Option<bool> {
        let Some(first) = left.iter().position(|&n| n > 0) else { return Some(true) };
        if self.work == 0 || (self.stop)() {
            return None;
        }
        self.work -= 1;
        let budgets: Vec<i64> = self.scales.iter().zip(worth).map(|(s, w)| s.most * machines as i64 - w).collect();
        if machines == 0 || budgets.iter().any(|&b| b < 0) {
            return Some(false);
        }
        if self.hopeless.get(left.as_slice()).is_some_and(|&n| machines <= n) {
            return Some(false);
        }
        let draft = Draft {
            load: vec![(first, 1)],
            room: self.until - self.jobs.minutes[first],
            worth: self.scales.iter().map(|s| s.prices[first]).collect(),
        };
        let mut branches: Vec<(i64, i64, Load)> = Vec::new();
        left[first] -= 1;
        let all = self.fill(left, first, draft, &budgets, &mut branches);
        left[first] += 1;
        if !all {
            return None;
        }
        branches.sort_unstable();
        for (_, _, load) in branches {
            let mut rest = worth.to_vec();
            for &(kind, n) in &load {
                left[kind] -= n;
                for (rest, scale) in rest.iter_mut().zip(&self.scales) {
                    *rest -= scale.prices[kind] * i64::from(n);
                }
            }
            self.loads.push(load.clone());
            let done = self.place(left, machines - 1, &rest);
            for &(kind, n) in &load {
                left[kind] += n;
            }
            match done {
                Some(false) => self.loads.pop(),
                other => return other,
            };
        }
        if self.hopeless.len() < REMEMBERED / left.len() {
            let known = self.hopeless.entry(left.as_slice().into()).or_insert(0);
            *known = machines.max(*known);
        }
        Some(false)
    }

    /// All loads that go on from a draft with jobs of a kind or shorter ones and may matter. Returns false where the
    /// work ran out.
    fn fill(
        &mut self,
        left: &mut Vec<u32>,
        kind: usize,
        draft: Draft,
        budgets: &[i64],
        branches: &mut Vec<(i64, i64, Load)>,
    ) -> bool {
        if self.work == 0 {
            return false;
        }
        self.work -= 1;
        let hopes = |room: i64, worth: &[i64]| {
            self.scales
                .iter()
                .zip(worth)
                .zip(budgets)
                .all(|((s, w), budget)| s.most - w - s.table[room as usize] <= *budget)
        };
        if !hopes(draft.room, &draft.worth) {
            return true;
        }
        let Some(next) = (kind..left.len()).find(|&k| left[k] > 0 && self.jobs.minutes[k] <= draft.room) else {
            if self.matters(left, &draft) {
                let waste = |s: usize| self.scales[s].most - draft.worth[s];
                branches.push((waste(self.scales.len() - 1), waste(0), draft.load));
            }
            return true;
        };
        let most = i64::from(left[next]).min(draft.room / self.jobs.minutes[next]) as u32;
        for n in (0..=most).rev() {
            let times = i64::from(n);
            let mut load = draft.load.clone();
            if n > 0 {
                match load.last_mut() {
                    Some(last) if last.0 == next => last.1 += n,
                    _ => load.push((next, n)),
                }
            }
            let worth = draft.worth.iter().zip(&self.scales).map(|(w, s)| w + s.prices[next] * times).collect();
            let more = Draft { load, room: draft.room - self.jobs.minutes[next] * times, worth };
            left[next] -= n;
            let all = self.fill(left, next + 1, more, budgets, branches);
            left[next] += n;
            if !all {
                return false;
            }
        }
        true
    }

    /// Whether no job that is left fits into the load, by itself or in the place of some of its jobs that it is not
    /// shorter than. The job that it began with stays.
    fn matters(&mut self, left: &[u32], draft: &Draft) -> bool {
        let minutes = &self.jobs.minutes;
        let mut held: Vec<i64> = Vec::new();
        for (at, &(kind, n)) in draft.load.iter().enumerate() {
            let n = if at == 0 { n - 1 } else { n };
            held.extend(std::iter::repeat_n(minutes[kind], n as usize));
        }
        let mut sums: Vec<(i64, usize)> = vec![(0, 0)];
        for minutes in held {
            let with: Vec<(i64, usize)> = sums.iter().map(|s| (s.0 + minutes, s.1 + 1)).collect();
            sums.extend(with);
            sums.sort_unstable();
            sums.dedup();
            if sums.len() > SUMS {
                return true;
            }
        }
        self.work = self.work.saturating_sub(sums.len() as u64 / 8);
        (0..left.len()).filter(|&k| left[k] > 0).all(|k| {
            let minutes = minutes[k];
            sums.iter().all(|&(sum, many)| {
                let better = minutes > sum || (minutes == sum && many > 1);
                !(better && minutes - sum <= draft.room)
            })
        })
    }
}
