//! Changes of sequences that leave every need covered.

use super::{Job, Sequences};
use crate::problem::Min;
use rand::Rng;

/// By how many minutes a task's or a box's turn is moved.
const TURN: Min = 60;
const BOX_TURNS: [Min; 6] = [-900, -60, -20, 20, 60, 300];
/// How often a part that lacks copies, or has too many, is put right in one move.
const AMENDS: usize = 4;

/// What was changed, as it was.
pub(super) struct Before {
    lines: Vec<(usize, Vec<Job>)>,
    turn: Option<Vec<usize>>,
    boxes: Option<Vec<Vec<Min>>>,
}

impl Sequences<'_> {
    /// Changes something at random; `None` where that came to nothing.
    pub(super) fn change(&mut self) -> Option<Before> {
        let (printer, at) = self.any_job()?;
        let mut before = Before { lines: vec![(printer, self.now.lines[printer].clone())], turn: None, boxes: None };
        let changed = match self.rng.random_range(0..100) {
            0..30 => self.exchange(printer, at, &mut before),
            30..60 => self.shift(printer, at, &mut before),
            60..75 => self.lay_out_otherwise(printer, at, &mut before),
            75..85 => self.exchange_rests(printer, at, &mut before),
            85..91 => self.move_turn(printer, at),
            91..95 => self.keep_waiting(printer, at),
            95..97 => self.exchange_shipments(&mut before),
            97..99 => self.move_boxes(&mut before),
            _ => {
                self.remove(printer, at);
                true
            }
        };
        if changed && self.supply.iter().zip(&self.need).all(|(supply, need)| supply >= need) {
            return Some(before);
        }
        self.take_back(before);
        None
    }

    /// Takes a change back.
    pub(super) fn take_back(&mut self, before: Before) {
        for (printer, line) in before.lines {
            self.now.lines[printer] = line;
        }
        if let Some(turn) = before.turn {
            self.now.turn = turn;
        }
        if let Some(boxes) = before.boxes {
            self.now.boxes = boxes;
        }
        self.count_supply();
    }

    /// Copies that all jobs make.
    pub(super) fn count_supply(&mut self) {
        self.supply.clear();
        self.supply.resize(self.need.len(), 0);
        for job in self.now.lines.iter().flatten() {
            self.problem.modes[job.mode].yields.iter().for_each(|&(part, copies)| self.supply[part] += copies);
        }
    }

    fn count(&mut self, mode: usize, sign: i64) {
        self.problem.modes[mode].yields.iter().for_each(|&(part, copies)| self.supply[part] += sign * copies);
    }

    /// A job that was not on a printer at the start.
    fn any_job(&mut self) -> Option<(usize, usize)> {
        let jobs: usize = self.now.lines.iter().map(Vec::len).sum();
        let mut at = self.rng.random_range(0..jobs.max(1));
        for (printer, line) in self.now.lines.iter().enumerate() {
            if at < line.len() {
                return (!line[at].held).then_some((printer, at));
            }
            at -= line.len();
        }
        None
    }

    /// A place in a sequence, behind what was on the printer at the start.
    fn any_place(&mut self) -> (usize, usize) {
        let printer = self.rng.random_range(0..self.now.lines.len());
        let line = &self.now.lines[printer];
        (printer, self.rng.random_range(first_place(line)..=line.len()))
    }

    /// The modes that printers of the same class may load.
    fn modes_on(&self, printer: usize) -> &[usize] {
        &self.problem.classes[self.printers[printer].0].modes
    }

    /// The mode in which a printer makes what a mode makes: the same one, the same plate, or as many copies.
    fn on(&self, printer: usize, mode: usize) -> Option<usize> {
        let (modes, own) = (&self.problem.modes, self.modes_on(printer));
        let same_plate = || own.iter().find(|&&m| modes[m].plate == modes[mode].plate);
        let as_many = || own.iter().find(|&&m| modes[m].yields == modes[mode].yields);
        own.iter().find(|&&m| m == mode).or_else(same_plate).or_else(as_many).copied()
    }

    fn remember(&self, printer: usize, before: &mut Before) {
        if before.lines.iter().all(|line| line.0 != printer) {
            before.lines.push((printer, self.now.lines[printer].clone()));
        }
    }

    fn insert(&mut self, printer: usize, at: usize, mode: usize) {
        let line = &mut self.now.lines[printer];
        let key = match (line.get(at), at.checked_sub(1)) {
            (Some(next), _) => next.load_key,
            (None, Some(last)) => line[last].harvest_key,
            (None, None) => 0,
        };
        line.insert(at, Job { mode, held: false, not_before: 0, load_key: key, harvest_key: key });
        self.count(mode, 1);
    }

    fn remove(&mut self, printer: usize, at: usize) -> usize {
        let job = self.now.lines[printer].remove(at);
        self.count(job.mode, -1);
        job.mode
    }

    /// Two jobs take each other's place.
    fn exchange(&mut self, a: usize, i: usize, before: &mut Before) -> bool {
        let Some((b, j)) = self.any_job() else { return false };
        let (x, y) = (self.now.lines[a][i].mode, self.now.lines[b][j].mode);
        let (Some(here), Some(there)) = (self.on(a, y), self.on(b, x)) else { return false };
        if x == y {
            return false;
        }
        self.remember(b, before);
        for (printer, at, old, new) in [(a, i, x, here), (b, j, y, there)] {
            self.now.lines[printer][at].mode = new;
            self.count(old, -1);
            self.count(new, 1);
        }
        true
    }

    /// A job goes to another place.
    fn shift(&mut self, a: usize, i: usize, before: &mut Before) -> bool {
        let (b, j) = self.any_place();
        let Some(mode) = self.on(b, self.now.lines[a][i].mode) else { return false };
        self.remember(b, before);
        self.remove(a, i);
        let j = if a == b && j > i { j - 1 } else { j };
        self.insert(b, j, mode);
        true
    }

    /// A part is made by another plate: one job is changed, others go or come until the copies suffice.
    fn lay_out_otherwise(&mut self, printer: usize, at: usize, before: &mut Before) -> bool {
        let modes = &self.problem.modes;
        let mode = self.now.lines[printer][at].mode;
        let Some(&(part, _)) = modes[mode].yields.first() else { return false };
        let makes = |m: &usize| modes[*m].yields.iter().any(|y| y.0 == part);
        let others: Vec<usize> = self.modes_on(printer).iter().copied().filter(|m| *m != mode && makes(m)).collect();
        self.remove(printer, at);
        if !others.is_empty() {
            let other = others[self.rng.random_range(0..others.len())];
            self.insert(printer, at, other);
        }
        for _ in 0..AMENDS {
            if self.supply[part] >= self.need[part] {
                let Some((other, at)) = self.any_job() else { continue };
                let yields = &modes[self.now.lines[other][at].mode].yields;
                if yields.iter().all(|y| self.supply[y.0] - y.1 >= self.need[y.0]) {
                    self.remember(other, before);
                    self.remove(other, at);
                }
                continue;
            }
            let (other, at) = self.any_place();
            let fitting: Vec<usize> = self.modes_on(other).iter().copied().filter(makes).collect();
            if !fitting.is_empty() {
                let mode = fitting[self.rng.random_range(0..fitting.len())];
                self.remember(other, before);
                self.insert(other, at, mode);
            }
        }
        true
    }

    /// Two printers that may load the same exchange all that follows a minute.
    fn exchange_rests(&mut self, a: usize, i: usize, before: &mut Before) -> bool {
        let alike: Vec<usize> =
            (0..self.printers.len()).filter(|&b| b != a && self.modes_on(b) == self.modes_on(a)).collect();
        if alike.is_empty() {
            return false;
        }
        let b = alike[self.rng.random_range(0..alike.len())];
        self.remember(b, before);
        let key = self.now.lines[a][i].load_key;
        let line = &self.now.lines[b];
        let j = line.partition_point(|job| job.load_key < key).max(first_place(line));
        let (rest_of_a, rest_of_b) = (self.now.lines[a].split_off(i), self.now.lines[b].split_off(j));
        self.now.lines[a].extend(rest_of_b);
        self.now.lines[b].extend(rest_of_a);
        true
    }

    /// A load or a harvest comes sooner or later in turn.
    fn move_turn(&mut self, printer: usize, at: usize) -> bool {
        let by = self.rng.random_range(-TURN..=TURN);
        let job = &mut self.now.lines[printer][at];
        let key = if self.rng.random_bool(0.5) { &mut job.load_key } else { &mut job.harvest_key };
        *key += by;
        by != 0
    }

    /// A load is kept for the next morning or release, or no longer.
    fn keep_waiting(&mut self, printer: usize, at: usize) -> bool {
        let job = &mut self.now.lines[printer][at];
        let next = self.waits.iter().find(|wait| wait.0 > job.load_key);
        job.not_before = if job.not_before > 0 { 0 } else { next.map_or(0, |wait| wait.1) };
        true
    }

    /// Two shipments are served in each other's turn.
    fn exchange_shipments(&mut self, before: &mut Before) -> bool {
        let shipments = self.now.turn.len();
        let (x, y) = (self.rng.random_range(0..shipments), self.rng.random_range(0..shipments));
        before.turn = Some(self.now.turn.clone());
        self.now.turn.swap(x, y);
        x != y
    }

    /// One box of a shipment, or all, come sooner or later in turn.
    fn move_boxes(&mut self, before: &mut Before) -> bool {
        let order = self.rng.random_range(0..self.now.boxes.len());
        let boxes = self.now.boxes[order].len();
        if boxes == 0 {
            return false;
        }
        before.boxes = Some(self.now.boxes.clone());
        let by = BOX_TURNS[self.rng.random_range(0..BOX_TURNS.len())];
        let one = self.rng.random_range(0..boxes);
        let which = if self.rng.random_bool(0.5) { 0..boxes } else { one..one + 1 };
        self.now.boxes[order][which].iter_mut().for_each(|key| *key += by);
        true
    }
}

/// Behind what was on the printer at the start.
fn first_place(line: &[Job]) -> usize {
    usize::from(line.first().is_some_and(|job| job.held))
}
