//! All printers' histories together, kept consistent with the room and with what is wanted.

use crate::demand::Demand;
use crate::history::{Leave, Leg, Standing, Window};
use crate::problem::{Min, Problem};
use crate::room::{Length, Room, next_down};
use crate::schedule::{PlacedRun, PlacedTask};

/// A run with its operators booked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Booked {
    /// The run.
    pub leg: Leg,
    /// Its load.
    pub load: Option<PlacedTask>,
    /// Its harvest.
    pub harvest: PlacedTask,
}

/// One printer.
#[derive(Debug, Clone, Default)]
pub struct Machine {
    /// Its class.
    pub class: usize,
    /// Its position within the class.
    pub slot: usize,
    /// Its runs in order.
    pub runs: Vec<Booked>,
}

/// Every printer's history.
#[derive(Debug, Clone)]
pub struct Floor<'p> {
    /// The instance.
    pub problem: &'p Problem<'p>,
    /// What is left of operators and nights.
    pub room: Room<'p>,
    /// What is left of the needs.
    pub demand: Demand<'p>,
    /// The printers, class by class.
    pub machines: Vec<Machine>,
    /// By class, the next downtime from each minute.
    pub down: std::sync::Arc<Vec<Vec<Min>>>,
    /// Operator time kept free for packing.
    kept: Vec<PlacedTask>,
}

impl<'p> Floor<'p> {
    /// An empty floor. What is on printers at the start has to be booked like anything else, as a first leg.
    pub fn new(problem: &'p Problem<'p>, deadlines: &[Min]) -> Floor<'p> {
        let machines =
            problem.classes.iter().enumerate().flat_map(|(class, c)| {
                (0..c.printers.len()).map(move |slot| Machine { class, slot, runs: Vec::new() })
            });
        Floor {
            problem,
            room: Room::new(problem),
            demand: Demand::new(problem, deadlines),
            machines: machines.collect(),
            down: std::sync::Arc::new(problem.classes.iter().map(|c| next_down(c, problem.horizon)).collect()),
            kept: Vec::new(),
        }
    }

    /// Keeps operator time free for so many boxes of each shipment, the latest there is before its deadline.
    pub fn keep_for_packing(&mut self, boxes: &[i64], deadlines: &[Min]) {
        self.kept.drain(..).for_each(|task| self.room.unbook(task));
        for (&boxes, &deadline) in boxes.iter().zip(deadlines) {
            let mut at = deadline.min(self.problem.horizon);
            for _ in 0..boxes {
                let last = at - self.problem.pack_box;
                let free = (0..=last).rev().find(|&minute| self.room.can_start(self.room.of_box, minute));
                let Some(task) = free.and_then(|minute| self.room.book(self.room.of_box, minute)) else { break };
                at = task.from;
                self.kept.push(task);
            }
        }
    }

    /// All operators' tasks, with those kept for packing.
    pub fn tasks(&self) -> impl Iterator<Item = &PlacedTask> {
        let of_runs = self.machines.iter().flat_map(|m| &m.runs).flat_map(|run| run.load.iter().chain([&run.harvest]));
        of_runs.chain(&self.kept)
    }

    /// The room with nothing kept free for packing.
    pub fn room_to_pack(&self) -> Room<'p> {
        let mut room = self.room.clone();
        self.kept.iter().for_each(|&task| room.unbook(task));
        room
    }

    /// A floor with runs on it, in any order, each booked with the operators it has.
    pub fn with_runs(problem: &'p Problem<'p>, runs: &[PlacedRun], deadlines: &[Min]) -> Floor<'p> {
        let mut floor = Floor::new(problem, deadlines);
        let mut in_order: Vec<&PlacedRun> = runs.iter().collect();
        in_order.sort_by_key(|r| (r.class, r.slot, r.harvest.from, r.load.is_some()));
        // Machines are in the same order, and each run is on one of them, so this never looks beyond the last.
        let mut machine = 0;
        for run in in_order {
            let of = |m: &Machine| (m.class, m.slot);
            while of(&floor.machines[machine]) < (run.class, run.slot) {
                machine += 1;
            }
            let leg = Leg {
                mode: run.mode,
                load_from: run.load.map(|l| l.from),
                print_from: run.ready - problem.modes[run.mode].to_ready(),
                ready: run.ready,
                harvest_from: run.harvest.from,
                harvest_to: run.harvest.to,
            };
            let at = floor.machines[machine].runs.len();
            floor.rebook(machine, at, Booked { leg, load: run.load, harvest: run.harvest });
        }
        floor
    }

    /// Sets other deadlines; the runs stay.
    pub fn aim(&mut self, deadlines: &[Min]) {
        self.demand = Demand::new(self.problem, deadlines);
        for machine in &self.machines {
            for run in &machine.runs {
                self.demand.count(run.leg.mode, run.leg.load_from, run.leg.harvest_to, true);
            }
        }
    }

    /// Books a run behind position `at` of a printer's history. Returns false, with nothing changed, where no operator
    /// is free for it.
    pub fn book(&mut self, machine: usize, at: usize, leg: Leg) -> bool {
        let mut placed: Vec<PlacedTask> = Vec::with_capacity(2);
        for (length, from, _) in self.tasks_of(&leg) {
            match self.room.book(length, from) {
                Some(task) => placed.push(task),
                None => {
                    placed.into_iter().for_each(|task| self.room.unbook(task));
                    return false;
                }
            }
        }
        let Some(harvest) = placed.pop() else { return false };
        let load = placed.pop();
        self.put(machine, at, Booked { leg, load, harvest });
        true
    }

    /// A run's load, where it has one, and harvest: their lengths and when they begin and end.
    pub fn tasks_of(&self, leg: &Leg) -> impl Iterator<Item = (Length, Min, Min)> + use<> {
        let lengths = self.room.of_mode[leg.mode];
        let load = leg.load_from.map(|from| {
            let change = leg.print_from - from != self.room.lengths[lengths.load];
            (if change { lengths.change } else { lengths.load }, from, leg.print_from)
        });
        load.into_iter().chain([(lengths.harvest, leg.harvest_from, leg.harvest_to)])
    }

    fn put(&mut self, machine: usize, at: usize, run: Booked) {
        if run.leg.load_from.is_some() {
            let print = self.problem.modes[run.leg.mode].print;
            self.room.count_nights(run.leg.print_from, run.leg.print_from + print, true);
        }
        self.demand.count(run.leg.mode, run.leg.load_from, run.leg.harvest_to, true);
        self.machines[machine].runs.insert(at, run);
    }

    /// Puts a run back exactly as it was booked; its operators must still be free.
    pub fn rebook(&mut self, machine: usize, at: usize, run: Booked) {
        if let Some(task) = run.load {
            self.room.rebook(task);
        }
        self.room.rebook(run.harvest);
        self.put(machine, at, run);
    }

    /// Takes a run out.
    pub fn unbook(&mut self, machine: usize, at: usize) -> Booked {
        let run = self.machines[machine].runs.remove(at);
        if let Some(task) = run.load {
            self.room.unbook(task);
        }
        self.room.unbook(run.harvest);
        if run.leg.load_from.is_some() {
            let print = self.problem.modes[run.leg.mode].print;
            self.room.count_nights(run.leg.print_from, run.leg.print_from + print, false);
        }
        self.demand.count(run.leg.mode, run.leg.load_from, run.leg.harvest_to, false);
        run
    }

    /// The window that opens, and how the printer stands in it, when runs `from..to` of a printer are taken out, reaching at most to `end`.
    pub fn window(&self, machine: usize, from: usize, to: usize, end: Min) -> (Window, Standing) {
        let m = &self.machines[machine];
        let class = &self.problem.classes[m.class];
        let holding = match &class.running {
            Some(on) if from == 0 => Some((on.mode, on.ready)),
            _ => None,
        };
        let before = from.checked_sub(1).map(|at| &m.runs[at].leg);
        let after = m.runs.get(to).map(|r| &r.leg);
        let window = Window {
            from: before.map_or(0, |leg| leg.harvest_to),
            to: after.and_then(|leg| leg.load_from).map_or(end, |load| load.min(end)),
            leave: after.map_or(Leave::Anything, |leg| self.material_before(leg)),
        };
        let material = match before {
            Some(leg) => Some(self.problem.modes[leg.mode].material),
            None => class.material,
        };
        (window, Standing { material, holding })
    }

    /// What a run's load counts on: another material would make it longer or shorter.
    fn material_before(&self, leg: &Leg) -> Leave {
        let mode = &self.problem.modes[leg.mode];
        let load = leg.load_from.map_or(0, |from| leg.print_from - from);
        if load == mode.load { Leave::Holding(mode.material) } else { Leave::NotHolding(mode.material) }
    }

    /// All runs as a schedule lists them.
    pub fn runs(&self) -> Vec<PlacedRun> {
        let of = |m: &Machine| {
            let (class, slot) = (m.class, m.slot);
            m.runs
                .iter()
                .map(move |r| PlacedRun {
                    class,
                    slot,
                    mode: r.leg.mode,
                    load: r.load,
                    ready: r.leg.ready,
                    harvest: r.harvest,
                })
                .collect::<Vec<_>>()
        };
        self.machines.iter().flat_map(of).collect()
    }
}
