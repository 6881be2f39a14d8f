//! One pass over all tasks in the order of their keys, each as early as it can be.

use super::boxes::NextBox;
use super::crew::Stretch;
use super::{Job, Sequences, Verdict};
use crate::problem::{BEFORE_START, Class, Min, Mode, Problem};
use crate::room::Room;
use crate::schedule::{PlacedRun, PlacedTask};

/// A shipment that is not packed is judged by when each of so many parts of its needs is there.
const SHARES: i64 = 8;

/// When a job's tasks are.
#[derive(Debug, Clone, Copy, Default)]
struct JobTimes {
    load: Option<PlacedTask>,
    ready: Min,
    harvest: Option<PlacedTask>,
}

/// What the last pass said, and what it works with.
pub(super) struct Times {
    jobs: Vec<Vec<JobTimes>>,
    /// By shipment, when boxes were begun.
    boxes: Vec<Vec<Min>>,
    /// Places in each night: beside what is on printers at the start, and beside all that is loaded.
    places: Vec<i64>,
    left: Vec<i64>,
    /// By printer, and after them by shipment: the key of what comes next; [`Min::MAX`] where nothing does.
    key: Vec<Min>,
    /// By printer.
    stands: Vec<Stands>,
    /// By shipment, the box that comes next, if its parts have arrived.
    next_box: Vec<Option<NextBox>>,
}

/// How a printer stands.
#[derive(Debug, Clone, Copy, Default)]
struct Stands {
    /// Jobs harvested.
    done: usize,
    /// The next task is a harvest.
    holds: bool,
    /// When it was harvested last, or is ready.
    since: Min,
    material: Option<usize>,
}

/// Minutes in which somebody is on shift.
pub(super) struct Clock {
    /// How many there are before each minute.
    before: Vec<Min>,
}

impl Clock {
    pub(super) fn new(problem: &Problem<'_>) -> Clock {
        let mut staffed = vec![0; problem.horizon as usize + 1];
        problem.pools.iter().for_each(|pool| staffed[pool.from as usize..pool.to as usize].fill(1));
        let count = |sum: &mut Min, here: Min| {
            *sum += here;
            Some(*sum)
        };
        Clock { before: std::iter::once(0).chain(staffed.into_iter().scan(0, count)).collect() }
    }

    /// How many there are from one minute to another, at least one where that is later.
    fn past(&self, from: Min, to: Min) -> i64 {
        let before = |minute: Min| self.before[(minute.max(0) as usize).min(self.before.len() - 1)];
        if to <= from { 0 } else { i64::from(before(to) - before(from)).max(1) }
    }
}

impl Times {
    pub(super) fn new(problem: &Problem<'_>, printers: &[(usize, usize)]) -> Times {
        let room = Room::new(problem);
        let places: Vec<i64> =
            (0..problem.nights.len()).map(|night| room.night_room(night).unwrap_or(i64::MAX)).collect();
        Times {
            jobs: vec![Vec::new(); printers.len()],
            boxes: vec![Vec::new(); problem.orders.len()],
            left: places.clone(),
            places,
            key: vec![Min::MAX; printers.len() + problem.orders.len()],
            stands: vec![Stands::default(); printers.len()],
            next_box: vec![None; problem.orders.len()],
        }
    }

    /// Where a load can begin at some operator's minutes: there, or from a later minute on.
    fn load_at(&self, problem: &Problem<'_>, class: &Class, mode: &Mode, load: Stretch) -> Result<(), Min> {
        let print_to = load.to + mode.print;
        if let Some(down) = class.downtime.iter().find(|d| d.0 < print_to + mode.cool && load.from < d.1) {
            return Err(down.1);
        }
        for (&(from, to), &left) in self.nights_of(problem, load.to, print_to) {
            if left <= 0 || problem.night_minutes.is_some_and(|most| print_to.min(to) - from > most) {
                return Err(to);
            }
        }
        Ok(())
    }

    /// The nights that a print runs into, with the places left there.
    fn nights_of<'a>(
        &'a self,
        problem: &'a Problem<'_>,
        print_from: Min,
        print_to: Min,
    ) -> impl Iterator<Item = (&'a (Min, Min), &'a i64)> {
        let first = problem.nights.partition_point(|night| night.0 < print_from);
        problem.nights[first..].iter().zip(&self.left[first..]).take_while(move |night| night.0.0 < print_to)
    }
}

impl Sequences<'_> {
    /// Times everything; `None` where something does not fit the horizon.
    pub(super) fn time(&mut self, allowed: &[Min], aim: Min) -> Option<Verdict> {
        self.clear();
        let printers = self.printers.len();
        let mut verdict = Verdict { past: 0, makespan: 0, late: false };
        let mut done = |order: usize, at: Min, clock: &Clock| {
            verdict.past += clock.past(allowed[order].min(aim), at);
            verdict.makespan = verdict.makespan.max(at);
            verdict.late |= at > allowed[order];
        };
        loop {
            let (mut key, mut next) = (Min::MAX, 0);
            for (at, &other) in self.times.key.iter().enumerate() {
                if other < key {
                    (key, next) = (other, at);
                }
            }
            if key == Min::MAX {
                break;
            }
            if next >= printers {
                let order = next - printers;
                let packed = self.pack(order)?;
                done(order, packed, &self.clock);
            } else if self.times.stands[next].holds {
                self.harvest(next)?;
            } else {
                self.load(next)?;
            }
        }
        for (order, o) in self.problem.orders.iter().enumerate() {
            if !self.packing.is_done(self.problem, order) {
                return None;
            }
            for &(part, copies) in o.needs.iter().filter(|_| o.boxes.is_empty()) {
                for share in (1..=SHARES).map(|s| copies * s / SHARES).filter(|&share| share > 0) {
                    done(order, self.packing.usable(order, part, share)?, &self.clock);
                }
            }
        }
        Some(verdict)
    }

    fn clear(&mut self) {
        let problem = self.problem;
        self.crew.clear();
        self.packing.clear(problem, &self.now.turn);
        let times = &mut self.times;
        times.left.copy_from_slice(&times.places);
        times.boxes.iter_mut().for_each(Vec::clear);
        for (printer, line) in self.now.lines.iter().enumerate() {
            let class = &problem.classes[self.printers[printer].0];
            times.jobs[printer].clear();
            let first = line.first();
            let holds = first.is_some_and(|job| job.held);
            let ready = class.running.as_ref().map_or(0, |running| running.ready);
            let since = if holds { ready.max(0) } else { 0 };
            if holds {
                times.jobs[printer].push(JobTimes { load: None, ready, harvest: None });
            }
            times.stands[printer] = Stands { done: 0, holds, since, material: class.material };
            let key = first.map_or(Min::MAX, |job| if holds { job.harvest_key.max(since) } else { job.load_key });
            times.key[printer] = key;
        }
        for order in 0..problem.orders.len() {
            self.await_box(order, 0);
        }
    }

    /// The key of a shipment's next box, begun no sooner than the one before it.
    fn await_box(&mut self, order: usize, earliest: Min) {
        let begun = self.times.boxes[order].len();
        let wished = self.now.boxes[order].get(begun).copied().unwrap_or(0);
        let next = self.packing.next(self.problem, order);
        self.times.next_box[order] = next;
        self.times.key[self.printers.len() + order] = next.map_or(Min::MAX, |n| n.there.max(earliest).max(wished));
    }

    /// Packs a shipment's next box; when that is done.
    fn pack(&mut self, order: usize) -> Option<Min> {
        let next = self.times.next_box[order]?;
        let earliest = self.times.boxes[order].last().copied().unwrap_or(0);
        let stretch = self.crew.first(next.there.max(earliest), self.problem.pack_box)?;
        self.crew.book(stretch);
        self.packing.begin(self.problem, order, next);
        self.times.boxes[order].push(stretch.from);
        self.await_box(order, stretch.from);
        Some(stretch.to)
    }

    fn job(&self, printer: usize) -> (Job, &Class) {
        (self.now.lines[printer][self.times.stands[printer].done], &self.problem.classes[self.printers[printer].0])
    }

    fn load(&mut self, printer: usize) -> Option<()> {
        let problem = self.problem;
        let (job, class) = self.job(printer);
        let mode = &problem.modes[job.mode];
        let stands = self.times.stands[printer];
        let swap = stands.material.is_some_and(|material| material != mode.material);
        let minutes = mode.load + if swap { problem.changeover } else { 0 };
        let mut from = stands.since.max(job.not_before);
        let load = loop {
            let stretch = self.crew.first(from, minutes)?;
            if stretch.to + mode.to_ready() > problem.horizon {
                return None;
            }
            match self.times.load_at(problem, class, mode, stretch) {
                Ok(()) => break stretch,
                Err(later) => from = later,
            }
        };
        self.crew.book(load);
        let first = problem.nights.partition_point(|night| night.0 < load.to);
        let nights = self.times.nights_of(problem, load.to, load.to + mode.print).count();
        self.times.left[first..first + nights].iter_mut().for_each(|left| *left -= 1);
        let ready = load.to + mode.to_ready();
        self.times.jobs[printer].push(JobTimes { load: Some(placed(load)), ready, harvest: None });
        self.times.stands[printer] = Stands { holds: true, since: ready, ..stands };
        self.times.key[printer] = job.harvest_key.max(ready);
        Some(())
    }

    fn harvest(&mut self, printer: usize) -> Option<()> {
        let problem = self.problem;
        let (job, class) = self.job(printer);
        let mode = &problem.modes[job.mode];
        let stands = self.times.stands[printer];
        let mut from = stands.since;
        let harvest = loop {
            let stretch = self.crew.first(from, mode.harvest)?;
            match class.downtime.iter().find(|d| d.0 < stretch.to && stretch.from < d.1) {
                Some(down) => from = down.1,
                None => break stretch,
            }
        };
        self.crew.book(harvest);
        let times = &mut self.times.jobs[printer][stands.done];
        times.harvest = Some(placed(harvest));
        let loaded = times.load.map_or(BEFORE_START, |load| load.from);
        let done = stands.done + 1;
        let next = self.now.lines[printer].get(done);
        self.times.stands[printer] = Stands { done, holds: false, since: harvest.to, material: Some(mode.material) };
        self.times.key[printer] = next.map_or(Min::MAX, |next| next.load_key.max(harvest.to));
        for &(part, copies) in &mode.yields {
            self.packing.arrive(problem, part, loaded, harvest.to + problem.finish[part], copies);
        }
        for order in 0..problem.orders.len() {
            if mode.yields.iter().any(|&(part, _)| self.packing.lacks(order, part)) {
                self.await_box(order, self.times.boxes[order].last().copied().unwrap_or(0));
            }
        }
        Some(())
    }

    /// Tasks come in turn by the minutes that they were given.
    pub(super) fn take_keys(&mut self) {
        for (job, times) in self.now.lines.iter_mut().flatten().zip(self.times.jobs.iter().flatten()) {
            if let Some(load) = times.load {
                job.load_key = load.from;
            }
            if let Some(harvest) = times.harvest {
                job.harvest_key = harvest.from;
            }
        }
        self.now.boxes.clone_from(&self.times.boxes);
    }

    /// The runs as they were timed.
    pub(super) fn runs(&self) -> Vec<PlacedRun> {
        let mut runs = Vec::new();
        for (&(class, slot), (line, times)) in self.printers.iter().zip(self.now.lines.iter().zip(&self.times.jobs)) {
            for (job, times) in line.iter().zip(times) {
                let Some(harvest) = times.harvest else { continue };
                runs.push(PlacedRun { class, slot, mode: job.mode, load: times.load, ready: times.ready, harvest });
            }
        }
        runs
    }
}

fn placed(stretch: Stretch) -> PlacedTask {
    PlacedTask { pool: stretch.shift, from: stretch.from, to: stretch.to }
}
