//! The room minute by minute: which operators are still free, and how many printers a night may still hold.
//!
//! A task of a pool can start at a minute if, for its whole length, fewer tasks of that pool overlap than it has
//! operators; interval graphs being perfect, such tasks can always be dealt out to named operators afterwards. For each
//! task length the room keeps, by minute, how many pools could start it there, so that a search over starts only looks
//! up. Booking or freeing a task updates those counts where they change, a few dozen minutes each.
//!
//! An empty room is also the relaxation behind the bound: there every printer sees all operators free.

use crate::problem::{Class, Min, Problem};
use crate::schedule::PlacedTask;
use std::sync::Arc;

/// Index of a task length among those that occur.
pub type Length = usize;

/// The lengths of a mode's tasks.
#[derive(Debug, Clone, Copy)]
pub struct ModeLengths {
    /// Load without changeover.
    pub load: Length,
    /// Load with changeover.
    pub change: Length,
    /// Harvest.
    pub harvest: Length,
}

/// The state of all pools and nights.
#[derive(Debug, Clone)]
pub struct Room<'p> {
    /// The instance.
    pub problem: &'p Problem<'p>,
    /// Distinct task lengths.
    pub lengths: Vec<Min>,
    /// The longest of them: free stretches are not told apart beyond it.
    longest: Min,
    /// The lengths of each mode's tasks.
    pub of_mode: Vec<ModeLengths>,
    /// The length of packing a box.
    pub of_box: Length,
    /// For each length and minute: in how many pools a task can start.
    open: Vec<Vec<u8>>,
    /// The same in the empty room.
    all: Arc<Vec<Vec<u8>>>,
    pools: Vec<PoolState>,
    /// The latest end among the pools up to each one, so that a search backwards knows when to stop.
    latest_end: Vec<Min>,
    /// Minutes in which somebody is on shift or a shift ends, in order; and for each minute the first of them not before
    /// it.
    staffed: Vec<Min>,
    row_after: Vec<u32>,
    /// The same minutes as half-open stretches.
    stretches: Vec<(Min, Min)>,
    /// For each minute, the first night that starts at or after it.
    next_night: Vec<u32>,
    /// How many printers already print at each night's first minute.
    night_use: Vec<i64>,
    /// Latest end of a print that runs into night `k`, as far as that night is concerned ([`Min::MAX`]: any).
    limit_of_night: Vec<Min>,
    /// Latest end of a print that starts before night `k` and after the nights before it.
    night_limit: Vec<Min>,
    /// Working memory of a change: a pool's free minutes before it, where it may change any.
    before: Vec<Min>,
}

#[derive(Debug, Clone)]
struct PoolState {
    from: Min,
    to: Min,
    capacity: u32,
    busy: Vec<u32>,
    /// How many tasks are under way across the beginning of each minute, and how many of no length stand there: those
    /// need an operator who is not in the middle of something.
    across: Vec<u32>,
    pinned: Vec<u32>,
    /// Free minutes from each minute on; one entry more than `busy`, zero at the end.
    free: Vec<Min>,
}

impl<'p> Room<'p> {
    /// The empty room: only what is on printers at the start prints in it.
    pub fn new(problem: &'p Problem<'p>) -> Room<'p> {
        let mut lengths: Vec<Min> = Vec::new();
        let mut length = |minutes: Min| match lengths.iter().position(|&l| l == minutes) {
            Some(at) => at,
            None => {
                lengths.push(minutes);
                lengths.len() - 1
            }
        };
        let of_mode = problem
            .modes
            .iter()
            .map(|m| ModeLengths {
                load: length(m.load),
                change: length(m.load + problem.changeover),
                harvest: length(m.harvest),
            })
            .collect();
        let of_box = length(problem.pack_box);
        let minutes = problem.horizon as usize + 2;
        let longest = lengths.iter().copied().max().unwrap_or(0);
        let pools: Vec<PoolState> = problem
            .pools
            .iter()
            .map(|p| PoolState {
                from: p.from,
                to: p.to,
                capacity: p.operators.len() as u32,
                busy: vec![0; (p.to - p.from) as usize],
                across: vec![0; (p.to - p.from) as usize + 1],
                pinned: vec![0; (p.to - p.from) as usize + 1],
                free: (0..=p.to - p.from).rev().map(|free| free.min(longest)).collect(),
            })
            .collect();
        let mut open = vec![vec![0u8; minutes]; lengths.len()];
        for pool in &pools {
            for (by_minute, &length) in open.iter_mut().zip(&lengths) {
                for minute in pool.from..=pool.to - length {
                    by_minute[minute as usize] += 1;
                }
            }
        }
        let mut next_night = vec![problem.nights.len() as u32; minutes];
        for (k, night) in problem.nights.iter().enumerate().rev() {
            let until = (night.0 as usize).min(minutes - 1);
            next_night[..=until].fill(k as u32);
        }
        let (staffed, row_after) = staffed_rows(problem, minutes);
        let mut room = Room {
            problem,
            lengths,
            longest,
            of_mode,
            of_box,
            all: Arc::new(open.clone()),
            open,
            latest_end: running_maximum(&pools),
            pools,
            stretches: stretches(&staffed),
            staffed,
            row_after,
            next_night,
            night_use: vec![0; problem.nights.len()],
            limit_of_night: Vec::new(),
            night_limit: Vec::new(),
            before: Vec::new(),
        };
        for class in &problem.classes {
            if let Some(running) = &class.running {
                let printed = running.ready - problem.modes[running.mode].cool;
                for (k, night) in problem.nights.iter().enumerate() {
                    if night.0 < printed {
                        room.night_use[k] += class.printers.len() as i64;
                    }
                }
            }
        }
        room.refresh_nights();
        room
    }

    /// Can a task of this length start at this minute?
    pub fn can_start(&self, length: Length, minute: Min) -> bool {
        self.open[length][minute as usize] > 0
    }

    /// By minute, whether a task of this length can start (non-zero) or not.
    pub fn starts(&self, length: Length) -> &[u8] {
        &self.open[length]
    }

    /// By minute, whether a task of this length could start there if nothing were booked.
    pub fn starts_when_empty(&self, length: Length) -> &[u8] {
        &self.all[length]
    }

    /// The position, among the minutes in which anything can be done, of the first one not before this minute.
    pub fn row_after(&self, minute: Min) -> usize {
        self.row_after[minute as usize] as usize
    }

    /// The minute at a position among those in which anything can be done.
    pub fn minute_of_row(&self, row: usize) -> Min {
        self.staffed.get(row).copied().unwrap_or(self.problem.horizon)
    }

    /// The stretches of minutes in which anything can be done and that begin before a minute, latest first.
    pub fn stretches_before(&self, minute: Min) -> impl Iterator<Item = &(Min, Min)> {
        self.stretches[..self.stretches.partition_point(|s| s.0 < minute)].iter().rev()
    }

    /// The latest minute at which a print that runs into a night may end, as far as that night is concerned.
    pub fn limit_of_night(&self, k: usize) -> Option<Min> {
        Some(self.limit_of_night[k]).filter(|&limit| limit < Min::MAX)
    }

    /// The latest minute at which printing that starts at `from` may end.
    pub fn print_limit(&self, from: Min) -> Min {
        let k = self.next_night[from as usize] as usize;
        self.night_limit[k]
    }

    /// How many more printers the night that starts next may hold.
    pub fn night_room(&self, k: usize) -> Option<i64> {
        self.problem.night_printers.map(|most| most - self.night_use[k])
    }

    /// The first night that starts at or after the minute.
    pub fn night_after(&self, minute: Min) -> usize {
        self.next_night[minute as usize] as usize
    }

    /// Books a task that can start there, in the pool whose shift ends first.
    ///
    /// Returns `None` where no pool can take it.
    pub fn book(&mut self, length: Length, minute: Min) -> Option<PlacedTask> {
        let minutes = self.lengths[length];
        let first = self.problem.pools.partition_point(|p| p.from <= minute);
        let pool = (0..first)
            .rev()
            .take_while(|&p| self.latest_end[p] >= minute)
            .filter(|&p| self.fits(p, minute, minutes))
            .min_by_key(|&p| (self.pools[p].to, p))?;
        let task = PlacedTask { pool, from: minute, to: minute + minutes };
        self.change(task, true);
        Some(task)
    }

    /// Takes a booked task back.
    pub fn unbook(&mut self, task: PlacedTask) {
        self.change(task, false);
    }

    /// Books a task exactly as it was placed before.
    pub fn rebook(&mut self, task: PlacedTask) {
        self.change(task, true);
    }

    fn fits(&self, pool: usize, minute: Min, minutes: Min) -> bool {
        let p = &self.pools[pool];
        p.from <= minute && minute <= p.to && p.start_is_open(minute - p.from, minutes)
    }

    fn change(&mut self, task: PlacedTask, add: bool) {
        let Room { pools, open, lengths, longest, before, .. } = self;
        let pool = &mut pools[task.pool];
        let (a, b) = ((task.from - pool.from) as usize, (task.to - pool.from) as usize);
        let lowest = a.saturating_sub(*longest as usize);
        let offset = pool.from as usize;
        before.clear();
        before.extend_from_slice(&pool.free[lowest..=b]);
        let step = |count: &mut u32| *count = if add { *count + 1 } else { *count - 1 };
        pool.busy[a..b].iter_mut().for_each(step);
        if a == b {
            step(&mut pool.pinned[a]);
        } else {
            pool.across[a + 1..b].iter_mut().for_each(step);
        }
        let last = b.min(pool.busy.len().saturating_sub(1));
        for at in (0..=last).rev() {
            let free = pool.free_from(at, *longest);
            if at < a && free == pool.free[at] && at + 1 < a {
                break;
            }
            pool.free[at] = free;
        }
        for (by_minute, &length) in open.iter_mut().zip(lengths.iter()) {
            if length == 0 {
                // Whoever comes or goes opens or shuts the minutes across which all others are busy.
                let all_others = if add { pool.capacity } else { pool.capacity - 1 };
                for at in (a + 1..b).filter(|&at| pool.across[at] == all_others) {
                    let count = &mut by_minute[offset + at];
                    *count = if add { *count - 1 } else { *count + 1 };
                }
                continue;
            }
            let minutes = &mut by_minute[offset + lowest..=offset + b];
            for ((count, &was), &is) in minutes.iter_mut().zip(before.iter()).zip(&pool.free[lowest..=b]) {
                // No pool is counted twice, so this never leaves the numbers of pools there are.
                *count = count.wrapping_add(u8::from(is >= length)).wrapping_sub(u8::from(was >= length));
            }
        }
    }

    /// Counts a print in (or out of) the nights it runs into.
    pub fn count_nights(&mut self, print_from: Min, print_to: Min, add: bool) {
        let mut k = self.night_after(print_from);
        let mut touched = false;
        while k < self.problem.nights.len() && self.problem.nights[k].0 < print_to {
            self.night_use[k] += if add { 1 } else { -1 };
            touched = true;
            k += 1;
        }
        if touched && self.problem.night_printers.is_some() {
            self.refresh_nights();
        }
    }

    fn refresh_nights(&mut self) {
        let nights = &self.problem.nights;
        let of_night = |k: usize| {
            let (from, to) = nights[k];
            let full = self.problem.night_printers.is_some_and(|most| self.night_use[k] >= most);
            match self.problem.night_minutes {
                _ if full => from,
                Some(most) if to - from > most => from + most,
                _ => Min::MAX,
            }
        };
        self.limit_of_night = (0..nights.len()).map(of_night).collect();
        let mut limit = vec![Min::MAX; nights.len() + 1];
        for k in (0..nights.len()).rev() {
            limit[k] = self.limit_of_night[k].min(limit[k + 1]);
        }
        self.night_limit = limit;
    }
}

fn staffed_rows(problem: &Problem<'_>, minutes: usize) -> (Vec<Min>, Vec<u32>) {
    let mut is_staffed = vec![false; minutes];
    for pool in &problem.pools {
        // A task of no minutes may still stand at the very end of a shift.
        is_staffed[pool.from as usize..=pool.to as usize].fill(true);
    }
    let staffed: Vec<Min> = (0..minutes as Min).filter(|&m| is_staffed[m as usize]).collect();
    let mut row = 0;
    let row_after = (0..minutes as Min)
        .map(|minute| {
            while row < staffed.len() && staffed[row] < minute {
                row += 1;
            }
            row as u32
        })
        .collect();
    (staffed, row_after)
}

fn stretches(minutes: &[Min]) -> Vec<(Min, Min)> {
    minutes.chunk_by(|a, b| a + 1 == *b).map(|run| (run[0], run[run.len() - 1] + 1)).collect()
}

fn running_maximum(pools: &[PoolState]) -> Vec<Min> {
    pools
        .iter()
        .scan(Min::MIN, |latest, pool| {
            *latest = (*latest).max(pool.to);
            Some(*latest)
        })
        .collect()
}

impl PoolState {
    /// Free minutes from one on, given those from the next on.
    fn free_from(&self, at: usize, longest: Min) -> Min {
        if self.busy[at] >= self.capacity {
            return 0;
        }
        let onward = self.pinned[at + 1] == 0 || self.across[at + 1] + 1 < self.capacity;
        if onward { (self.free[at + 1] + 1).min(longest) } else { 1.min(longest) }
    }

    /// A task of no minutes fits wherever somebody is not in the middle of another.
    fn start_is_open(&self, at: Min, minutes: Min) -> bool {
        match minutes {
            0 => self.across[at as usize] < self.capacity,
            _ => self.free[at as usize] >= minutes,
        }
    }
}

/// Does work from one minute to another stay out of downtime ([`next_down`])? Work of no minutes may stand at its edge.
pub fn is_clear(down: &[Min], from: Min, to: Min) -> bool {
    if from < to {
        return down[from as usize] >= to;
    }
    from == 0 || down[from as usize] != from || down[from as usize - 1] != from - 1
}

/// For each minute, the first minute at or after it that is down ([`Min::MAX`] where none is).
pub fn next_down(class: &Class, horizon: Min) -> Vec<Min> {
    let mut next = vec![Min::MAX; horizon as usize + 2];
    let mut later = class.downtime.iter().rev().peekable();
    let mut upcoming = Min::MAX;
    for minute in (0..=horizon).rev() {
        while let Some(&&(from, to)) = later.peek() {
            if minute >= to {
                break;
            }
            upcoming = minute.max(from);
            if minute > from {
                break;
            }
            later.next();
        }
        next[minute as usize] = upcoming;
    }
    next
}
