//! A plan in indices and minutes, as the player follows it.

use super::slack;
use crate::after;
use crate::problem::{Min, Mode, Problem};
use platewright_model::instance::{CrewId, Instance};
use platewright_model::plan::{Plan, Source, Work};
use platewright_model::{Instant, roster};
use std::collections::{BTreeMap, HashMap};
use std::fmt;
use std::ops::Range;

/// No operator in particular.
pub const ANYBODY: usize = usize::MAX;

/// A run of the plan.
#[derive(Debug, Clone)]
pub struct Job {
    /// Its printer.
    pub printer: usize,
    /// Index into [`Script::modes`].
    pub mode: usize,
    /// When its load begins; none where it is on its printer from the start.
    pub load_from: Option<Min>,
    /// Who loads.
    pub loader: usize,
    /// Printed and cooled, as planned.
    pub ready: Min,
    /// When its harvest begins.
    pub harvest_from: Min,
    /// Who harvests.
    pub harvester: usize,
    /// Slots that get copies of it, and how many, those due first in front.
    pub gives: Vec<(usize, i64)>,
    /// The due rank of the most urgent shipment that it gives to.
    pub rank: usize,
}

/// A box to be packed.
#[derive(Debug, Clone)]
pub struct Packing {
    /// Its shipment.
    pub order: usize,
    /// Position of its line in the shipment.
    pub line: usize,
    /// When the plan packs it.
    pub from: Min,
    /// Who packs.
    pub packer: usize,
    /// Slots, and how much of each must be usable: what this and all earlier boxes of the shipment hold.
    pub takes: Vec<(usize, i64)>,
}

/// What one shipment needs of one part.
#[derive(Debug, Clone, Copy)]
pub struct Slot {
    /// The shipment.
    pub order: usize,
    /// The part.
    pub part: usize,
    /// How many, spares among them where they are asked for.
    pub need: i64,
}

/// One person.
#[derive(Debug, Clone)]
pub struct Person {
    /// The crew.
    pub crew: CrewId,
    /// The number within the crew.
    pub number: u32,
    /// On shift, in order, half-open.
    pub stretches: Vec<(Min, Min)>,
    /// What the plan has for them, in order: from, to, what.
    pub diary: Vec<(Min, Min, Duty)>,
}

/// A planned task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
    /// Load a job.
    Load(usize),
    /// Harvest a job.
    Harvest(usize),
    /// Pack a box, by its position in [`Script::boxes`].
    Pack(usize),
}

/// The plan and what it is carried out with.
pub struct Script<'p> {
    /// The compiled instance.
    pub problem: &'p Problem<'p>,
    /// Its modes, and those that only the plan has.
    pub modes: Vec<Mode>,
    /// Share of runs of a mode that fail whole.
    pub failure: Vec<f64>,
    /// Modes that may be loaded, by part.
    pub makers: Vec<Vec<usize>>,
    /// By printer: its group, its material at the start, its downtime.
    pub printers: Vec<Machine>,
    /// The plan's runs, in its order.
    pub jobs: Vec<Job>,
    /// By printer, its jobs in order of load; one that is there from the start comes first.
    pub queues: Vec<Vec<usize>>,
    /// The plan's boxes, by shipment, in order of their start.
    pub boxes: Vec<Packing>,
    /// By shipment, its boxes.
    pub boxes_of: Vec<Vec<usize>>,
    /// Everybody.
    pub people: Vec<Person>,
    /// What shipments need, part by part.
    pub slots: Vec<Slot>,
    /// By part, its slots, those due first in front.
    pub slots_of: Vec<Vec<usize>>,
    /// By shipment, its slots.
    pub slots_in: Vec<Range<usize>>,
    /// By shipment, its place in the order of due dates, a first lot before the rest.
    pub rank: Vec<usize>,
    /// By shipment, when it opens by the plan: at its release, or when its first lot has been looked over.
    pub opens: Vec<Min>,
    /// By shipment, how late its copies may come without making it late, or later than planned.
    pub deadline: Vec<Min>,
    /// What stock gives to slots.
    pub from_stock: Vec<(usize, i64)>,
    /// By minute, the next one at which anybody is on shift.
    pub staffed: Vec<Min>,
    /// By minute, how many minutes before it somebody is on shift.
    pub attended: Vec<Min>,
    /// By unattended stretch, the jobs that are planned to print into it and to be loaded before.
    pub in_night: Vec<Vec<usize>>,
    /// By job, how much later it may be harvested before a due date is missed.
    pub slack: Vec<Min>,
}

/// A printer.
#[derive(Debug, Clone)]
pub struct Machine {
    /// Its group, by position in the instance.
    pub group: usize,
    /// What it holds at the start.
    pub material: Option<usize>,
    /// Down, in order, half-open.
    pub down: Vec<(Min, Min)>,
}

/// A plan that speaks of things which its instance does not have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotFollowed(pub String);

impl fmt::Display for NotFollowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotFollowed {}

impl<'p> Script<'p> {
    /// Compiles a plan of the instance behind the problem.
    ///
    /// # Errors
    /// The plan names a printer, plate, part, kit or shipment that the instance does not have, or puts a plate on a group
    /// that it is not listed for.
    pub fn of(problem: &'p Problem<'p>, plan: &Plan) -> Result<Script<'p>, NotFollowed> {
        let instance = problem.instance;
        let names = Names::of(instance);
        let mut script = Script::empty(problem);
        let people: HashMap<String, usize> = script
            .people
            .iter()
            .enumerate()
            .map(|(at, p)| (roster::operator_name(instance, p.crew, p.number), at))
            .collect();
        let who = |name: &str| people.get(name).copied().unwrap_or(ANYBODY);
        let mut by_name = HashMap::new();
        for (at, run) in plan.runs.iter().enumerate() {
            let job = script.job(&names, run, &who)?;
            by_name.insert(run.run.as_str(), at);
            script.queues[job.printer].push(at);
            script.jobs.push(job);
        }
        for row in &plan.allocation {
            let slot = names
                .shipment(&row.shipment)
                .zip(names.part(&row.part))
                .and_then(|(order, part)| script.slot(order, part))
                .ok_or_else(|| NotFollowed(format!("the plan gives {} to {}", row.part, row.shipment)))?;
            let count = row.count.0 as i64;
            match &row.source {
                Source::Stock => script.from_stock.push((slot, count)),
                Source::Run(run) => {
                    let unknown = || NotFollowed(format!("the plan has no run {run}, and allots copies of it"));
                    let at = *by_name.get(run.as_str()).ok_or_else(unknown)?;
                    script.jobs[at].gives.push((slot, count));
                }
            }
        }
        script.order_things();
        script.take_boxes(plan, &names, &who)?;
        script.keep_diaries();
        let ready = |name: &str| plan.shipments.iter().find(|row| row.shipment == name);
        let ready: Vec<Min> =
            instance.shipments.iter().map(|s| ready(&s.name).map_or(0, |row| script.minute(row.ready))).collect();
        script.slack = slack::of_jobs(&script, &ready);
        script.in_night = script.in_nights();
        for (at, order) in problem.orders.iter().enumerate() {
            let first = order.after.map_or(Min::MIN, |(first, hold)| ready[first].saturating_add(hold));
            script.opens[at] = order.release.max(first);
            script.deadline[at] = order.due.map_or(Min::MAX, |due| due.max(ready[at]));
        }
        Ok(script)
    }

    fn empty(problem: &'p Problem<'p>) -> Script<'p> {
        let instance = problem.instance;
        let parts = instance.parts.len();
        let mut makers = vec![Vec::new(); parts];
        let mut loadable: Vec<usize> = problem.classes.iter().flat_map(|c| c.modes.iter().copied()).collect();
        loadable.sort_unstable();
        loadable.dedup();
        for mode in loadable {
            for &(part, _) in &problem.modes[mode].yields {
                makers[part].push(mode);
            }
        }
        let mut printers = vec![Machine { group: 0, material: None, down: Vec::new() }; instance.printers.len()];
        for class in &problem.classes {
            for printer in &class.printers {
                printers[printer.index()].down = class.downtime.clone();
            }
        }
        for (machine, printer) in printers.iter_mut().zip(&instance.printers) {
            machine.group = printer.group.index();
            machine.material = printer.material.map(|m| m.index());
        }
        let by_due = by_due(problem);
        let mut rank = vec![0; by_due.len()];
        let (mut slots, mut slots_of) = (Vec::new(), vec![Vec::new(); parts]);
        let mut slots_in = vec![0..0; by_due.len()];
        for (at, &order) in by_due.iter().enumerate() {
            rank[order] = at;
            let first = slots.len();
            for &(part, need) in problem.orders[order].needs.iter().filter(|n| n.1 > 0) {
                slots_of[part].push(slots.len());
                slots.push(Slot { order, part, need });
            }
            slots_in[order] = first..slots.len();
        }
        let mut people: BTreeMap<(CrewId, u32), Vec<(Min, Min)>> = BTreeMap::new();
        for stretch in roster::stretches(instance) {
            let minute = |at: Instant| (at - instance.farm.start).0 as Min;
            people
                .entry((stretch.crew, stretch.operator))
                .or_default()
                .push((minute(stretch.from), minute(stretch.to)));
        }
        let mut staffed: Vec<Min> = (0..problem.horizon + 2).collect();
        for &(from, to) in &problem.nights {
            staffed[from as usize..to as usize].fill(to);
        }
        let failure = problem.modes.iter().map(|mode| {
            let plate = &instance.plates[mode.plate.index()];
            plate.on(mode.group).map_or(0.0, |on| on.failure_rate)
        });
        Script {
            failure: failure.collect(),
            modes: problem.modes.clone(),
            makers,
            queues: vec![Vec::new(); printers.len()],
            printers,
            jobs: Vec::new(),
            boxes: Vec::new(),
            boxes_of: vec![Vec::new(); problem.orders.len()],
            people: people
                .into_iter()
                .map(|((crew, number), stretches)| Person { crew, number, stretches, diary: Vec::new() })
                .collect(),
            slots,
            slots_of,
            slots_in,
            opens: rank.iter().map(|_| Min::MIN).collect(),
            deadline: rank.iter().map(|_| Min::MAX).collect(),
            rank,
            from_stock: Vec::new(),
            attended: attended(&staffed),
            staffed,
            slack: Vec::new(),
            in_night: Vec::new(),
            problem,
        }
    }

    /// The place of a part in a shipment's needs.
    pub fn slot(&self, order: usize, part: usize) -> Option<usize> {
        self.slots_of[part].iter().copied().find(|&slot| self.slots[slot].order == order)
    }

    /// Asks for so many spares beyond what shipments need, slot by slot. Boxes hold none; but those that take the last copy
    /// of a part are packed when its spares are there too, so that none of these comes after what it stands in for.
    pub(crate) fn ask_for_spares(&mut self, spares: &[i64]) {
        for packing in &mut self.boxes {
            for (slot, upto) in packing.takes.iter_mut().filter(|take| take.1 == self.slots[take.0].need) {
                *upto += spares[*slot];
            }
        }
        for (slot, spare) in self.slots.iter_mut().zip(spares) {
            slot.need += spare;
        }
    }

    fn minute(&self, at: Instant) -> Min {
        (at - self.problem.instance.farm.start).0.clamp(-1_000_000_000, 1_000_000_000) as Min
    }

    fn job(
        &mut self,
        names: &Names<'_>,
        run: &platewright_model::plan::Run,
        who: &impl Fn(&str) -> usize,
    ) -> Result<Job, NotFollowed> {
        let printer =
            names.printers.get(run.printer.as_str()).copied().ok_or_else(|| {
                NotFollowed(format!("run {} is on printer {}, which is not there", run.run, run.printer))
            })?;
        let mode = self.mode(names, &run.plate, printer).ok_or_else(|| {
            NotFollowed(format!("run {} prints {}, which is no plate for {}", run.run, run.plate, run.printer))
        })?;
        Ok(Job {
            printer,
            mode,
            load_from: run.load.as_ref().map(|load| self.minute(load.from)),
            loader: run.load.as_ref().map_or(ANYBODY, |load| who(&load.loader)),
            ready: self.minute(run.ready),
            harvest_from: self.minute(run.harvest_from),
            harvester: who(&run.harvester),
            gives: Vec::new(),
            rank: usize::MAX,
        })
    }

    fn mode(&mut self, names: &Names<'_>, plate: &str, printer: usize) -> Option<usize> {
        let plate = *names.plates.get(plate)?;
        let group = self.problem.instance.printers[printer].group;
        self.modes.iter().position(|m| m.plate.index() == plate && m.group == group).or_else(|| {
            let on = self.problem.instance.plates[plate].on(group)?;
            self.modes.push(Mode {
                plate: platewright_model::instance::PlateId(plate as u32),
                group,
                material: self.problem.instance.plates[plate].material.index(),
                load: on.load.0 as Min,
                print: on.minutes.0 as Min,
                cool: on.cool.0 as Min,
                harvest: on.harvest.0 as Min,
                yields: on.copies.iter().map(|(part, n)| (part.index(), n.0 as i64)).collect(),
            });
            self.failure.push(on.failure_rate);
            Some(self.modes.len() - 1)
        })
    }

    fn order_things(&mut self) {
        let jobs = &self.jobs;
        for queue in &mut self.queues {
            queue.sort_by_key(|&job| (jobs[job].load_from, jobs[job].harvest_from, job));
        }
        for job in &mut self.jobs {
            job.gives.sort_by_key(|&(slot, _)| (self.rank[self.slots[slot].order], slot));
            job.rank = job.gives.iter().map(|&(slot, _)| self.rank[self.slots[slot].order]).min().unwrap_or(usize::MAX);
        }
    }

    fn take_boxes(&mut self, plan: &Plan, names: &Names<'_>, who: &impl Fn(&str) -> usize) -> Result<(), NotFollowed> {
        let mut by_line: BTreeMap<(usize, usize), Vec<(Min, usize)>> = BTreeMap::new();
        for task in &plan.tasks {
            let Work::Pack { shipment, kit } = &task.work else { continue };
            let line = names.shipment(shipment).and_then(|order| {
                let lines = &self.problem.instance.shipments[order].lines;
                let at = lines.iter().position(|l| self.problem.instance.kits[l.kit.index()].name == *kit)?;
                let boxes = self.problem.orders[order].boxes.iter().position(|b| b.line == at)?;
                Some((order, boxes))
            });
            let key = line.ok_or_else(|| NotFollowed(format!("the plan packs {kit} for {shipment}")))?;
            by_line.entry(key).or_default().push((self.minute(task.from), who(&task.operator)));
        }
        for order in 0..self.problem.orders.len() {
            let lines = &self.problem.orders[order].boxes;
            let mut all: Vec<(Min, usize, usize)> = Vec::new();
            for (line, boxes) in lines.iter().enumerate() {
                let mut times = by_line.remove(&(order, line)).unwrap_or_default();
                times.sort_by_key(|t| t.0);
                // A box that the plan forgot is packed when its parts are there.
                let last = times.last().map_or(0, |t| t.0);
                times.resize(boxes.count() as usize, (last, ANYBODY));
                all.extend(times.into_iter().map(|(from, packer)| (from, line, packer)));
            }
            all.sort_by_key(|b| (b.0, b.1));
            let mut taken: BTreeMap<usize, i64> = BTreeMap::new();
            let mut next = vec![0i64; lines.len()];
            for (from, line, packer) in all {
                let boxes = &lines[line];
                let kits = boxes.kits_in_first(next[line] + 1) - boxes.kits_in_first(next[line]);
                next[line] += 1;
                for &(part, each) in &boxes.kit {
                    if let Some(slot) = self.slot(order, part) {
                        *taken.entry(slot).or_default() += kits * each;
                    }
                }
                let takes = boxes.kit.iter().filter_map(|&(part, _)| self.slot(order, part));
                let takes = takes.map(|slot| (slot, taken.get(&slot).copied().unwrap_or(0))).collect();
                self.boxes_of[order].push(self.boxes.len());
                self.boxes.push(Packing { order, line: boxes.line, from, packer, takes });
            }
        }
        Ok(())
    }

    fn in_nights(&self) -> Vec<Vec<usize>> {
        let print = |job: &Job| {
            let mode = &self.modes[job.mode];
            (job.ready - mode.to_ready(), job.ready - mode.cool)
        };
        let loaded = || self.jobs.iter().enumerate().filter(|(_, job)| job.load_from.is_some());
        let into = |&(a, b): &(Min, Min)| {
            loaded().filter(|(_, job)| print(job).0 < b && a < print(job).1).map(|(at, _)| at).collect()
        };
        self.problem.nights.iter().map(into).collect()
    }

    fn keep_diaries(&mut self) {
        let mut note = |who: usize, from: Min, minutes: Min, duty: Duty| {
            if let Some(person) = self.people.get_mut(who) {
                person.diary.push((from, from + minutes, duty));
            }
        };
        for (at, job) in self.jobs.iter().enumerate() {
            let mode = &self.modes[job.mode];
            if let Some(from) = job.load_from {
                note(job.loader, from, job.ready - mode.to_ready() - from, Duty::Load(at));
            }
            note(job.harvester, job.harvest_from, mode.harvest, Duty::Harvest(at));
        }
        for (at, packing) in self.boxes.iter().enumerate() {
            note(packing.packer, packing.from, self.problem.pack_box, Duty::Pack(at));
        }
        for person in &mut self.people {
            person.diary.sort_by_key(|entry| (entry.0, entry.1));
        }
    }
}

/// Shipments in order of due dates. A first lot is as urgent as what comes after it, and goes before.
fn by_due(problem: &Problem<'_>) -> Vec<usize> {
    let orders = &problem.orders;
    let mut due: Vec<Min> = orders.iter().map(|o| o.due.unwrap_or(Min::MAX)).collect();
    let mut behind = vec![0; orders.len()];
    for last in 0..orders.len() {
        let line = after::line_of(problem, last);
        for (place, pair) in line.windows(2).enumerate() {
            due[pair[1]] = due[pair[1]].min(due[pair[0]]);
            behind[pair[1]] = behind[pair[1]].max(place + 1);
        }
    }
    let mut by_due: Vec<usize> = (0..orders.len()).collect();
    by_due.sort_by_key(|&o| (due[o], std::cmp::Reverse(behind[o]), o));
    by_due
}

/// By minute, how many minutes before it are staffed.
fn attended(staffed: &[Min]) -> Vec<Min> {
    let mut sum = 0;
    let minutes = (0..).zip(staffed);
    minutes
        .map(|(minute, &next)| {
            let before = sum;
            sum += Min::from(next == minute);
            before
        })
        .collect()
}

/// The instance's names.
struct Names<'a> {
    printers: HashMap<&'a str, usize>,
    plates: HashMap<&'a str, usize>,
    parts: HashMap<&'a str, usize>,
    shipments: HashMap<&'a str, usize>,
}

impl<'a> Names<'a> {
    fn of(instance: &'a Instance) -> Names<'a> {
        fn numbered<'a>(names: impl Iterator<Item = &'a String>) -> HashMap<&'a str, usize> {
            names.enumerate().map(|(at, name)| (name.as_str(), at)).collect()
        }
        Names {
            printers: numbered(instance.printers.iter().map(|p| &p.name)),
            plates: numbered(instance.plates.iter().map(|p| &p.name)),
            parts: numbered(instance.parts.iter().map(|p| &p.name)),
            shipments: numbered(instance.shipments.iter().map(|s| &s.name)),
        }
    }

    fn part(&self, name: &str) -> Option<usize> {
        self.parts.get(name).copied()
    }

    fn shipment(&self, name: &str) -> Option<usize> {
        self.shipments.get(name).copied()
    }
}
