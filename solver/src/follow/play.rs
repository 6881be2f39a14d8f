//! The player: one life of a plan, event by event.

use super::luck::Luck;
use super::people::{Begun, Crew};
use super::script::{ANYBODY, Script};
use super::supply::{Cause, From, Lots, Supply};
use super::trace::{Done, Lived, Stay};
use super::{LOOK_AHEAD, PATIENCE};
use crate::problem::Min;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, VecDeque};
use std::ops::Bound::{Excluded, Unbounded};

/// How runs made again are fitted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Manner {
    /// Whether one for a shipment that is due earlier goes in front of the next planned run whatever that costs.
    pub urgent: bool,
    /// How much of its slack the next planned run waits for one.
    pub slack_percent: Min,
    /// How long a late task of the plan waits for somebody who has nothing else planned; with none, it goes first.
    pub patience: Min,
}

impl Default for Manner {
    fn default() -> Manner {
        Manner { urgent: true, slack_percent: 50, patience: 0 }
    }
}

impl Manner {
    /// All manners worth trying where there is time to try several.
    pub fn all() -> impl Iterator<Item = Manner> {
        let fits = [(true, 50), (false, 50), (false, 0), (true, 0), (false, 100), (true, 100)];
        let patient =
            |patience| fits.into_iter().map(move |(urgent, slack_percent)| Manner { urgent, slack_percent, patience });
        patient(PATIENCE).chain(patient(0))
    }
}

/// By part, the good copies and all that were printed; and why some are missing.
type Harvested<'h> = (&'h [(usize, i64, i64)], Cause);

/// What is on a printer.
#[derive(Debug, Clone, Copy)]
struct Held {
    from: From,
    mode: usize,
    /// When its load began.
    loaded: Min,
    ready: Min,
    /// All lost at that minute.
    lost: Option<Min>,
    /// When and by whom it is to be harvested.
    ask: Min,
    harvester: usize,
    cause: Cause,
    /// Its loss has been noticed.
    told: bool,
}

/// A printer as it stands.
#[derive(Debug, Clone, Default)]
struct Stand {
    queue: VecDeque<usize>,
    held: Option<Held>,
    material: Option<usize>,
    /// Somebody is at it until then.
    busy_until: Min,
    /// Under repair until then.
    broken_until: Min,
    /// The minute under which it is among those with something to do.
    open: Option<Min>,
    /// Since when its task waits for somebody.
    waits: Option<Min>,
    /// What last put it behind its plan.
    cause: Cause,
}

/// A run to be made again.
#[derive(Debug, Clone, Copy)]
struct Again {
    mode: usize,
    rank: usize,
    cause: Cause,
    since: Min,
}

/// What comes of trying to do a printer's or a shipment's next task.
enum Step {
    Begun,
    Waits,
    Nothing,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// A printer is empty.
    Cleared(usize),
    /// A printer may have something to do.
    Printer(usize),
    /// A shipment may have a box to pack.
    Order(usize),
    /// Somebody is there, or free.
    Somebody,
}

/// A life being lived.
pub struct Player<'s, L> {
    script: &'s Script<'s>,
    luck: L,
    manner: Manner,
    at: Min,
    events: BinaryHeap<Reverse<(Min, Event)>>,
    stands: Vec<Stand>,
    /// Printers, and beyond their number shipments, that have something to do, by the minute it was planned for.
    open: BTreeSet<(Min, usize)>,
    crew: Crew<'s>,
    begun: Begun,
    supply: Supply<'s>,
    /// By shipment, its next box and the end of its last.
    next_box: Vec<(usize, Min)>,
    again: Vec<Again>,
    night_use: Vec<i64>,
    unready: usize,
    keep: bool,
    stay_of_job: Vec<usize>,
    stay_of_again: Vec<usize>,
    lived: Lived,
}

const NOWHERE: usize = usize::MAX;

mod again;
mod boxes;
mod resume;

pub use resume::{Fate, Past};

impl<'s, L: Luck> Player<'s, L> {
    /// A life from the farm's start. With `keep`, everything done is kept and the life goes on until the last plate is
    /// off its printer; without, it ends when every shipment is ready.
    pub fn new(script: &'s Script<'s>, luck: L, keep: bool) -> Player<'s, L> {
        let mut player = Player::unsettled(script, luck, keep);
        for p in 0..script.printers.len() {
            player.settle(p);
        }
        player
    }

    /// Everybody expected, every printer empty and its list before it.
    fn unsettled(script: &'s Script<'s>, mut luck: L, keep: bool) -> Player<'s, L> {
        let orders = script.problem.orders.len();
        let crew = Crew::new(script, || luck.late());
        let mut player = Player {
            script,
            luck,
            manner: Manner::default(),
            at: 0,
            events: BinaryHeap::new(),
            stands: Vec::with_capacity(script.printers.len()),
            open: BTreeSet::new(),
            crew,
            begun: Begun::none(script),
            supply: Supply::new(script),
            next_box: vec![(0, 0); orders],
            again: Vec::new(),
            night_use: vec![0; script.problem.nights.len()],
            unready: orders,
            keep,
            stay_of_job: vec![NOWHERE; if keep { script.jobs.len() } else { 0 }],
            stay_of_again: Vec::new(),
            lived: Lived {
                ready: vec![None; orders],
                cause: vec![Cause::None; orders],
                waited: vec![0; script.problem.horizon as usize / 60 + 2],
                ..Lived::default()
            },
        };
        for (p, machine) in script.printers.iter().enumerate() {
            let queue = script.queues[p].iter().copied().collect();
            player.stands.push(Stand { queue, material: machine.material, ..Stand::default() });
        }
        for at in player.crew.arrivals().filter(|&at| at > 0).collect::<Vec<_>>() {
            player.push((at, Event::Somebody));
        }
        player
    }

    /// Puts on a printer what is there from the start.
    fn settle(&mut self, p: usize) {
        let Some(&job) = self.stands[p].queue.front() else { return };
        let asked = &self.script.jobs[job];
        if asked.load_from.is_none() {
            self.stands[p].queue.pop_front();
            let mode = asked.mode;
            let held = Held {
                from: From::Job(job),
                mode,
                loaded: crate::problem::BEFORE_START,
                ready: asked.ready,
                lost: None,
                ask: asked.harvest_from,
                harvester: asked.harvester,
                cause: Cause::None,
                told: false,
            };
            self.begun.load[job] = true;
            self.hold(p, held, None);
            self.count_nights(0, asked.ready - self.script.modes[mode].cool, 1);
        }
    }

    fn hold(&mut self, p: usize, held: Held, load: Option<Done>) {
        self.stands[p].material = Some(self.script.modes[held.mode].material);
        self.stands[p].held = Some(held);
        if self.keep {
            let job = if let From::Job(job) = held.from { Some(job) } else { None };
            let stay = self.lived.stays.len();
            match held.from {
                From::Job(job) => self.stay_of_job[job] = stay,
                _ => self.stay_of_again.push(stay),
            }
            self.lived.stays.push(Stay { job, printer: p, mode: held.mode, load, ready: held.ready, harvest: None });
        }
        self.push((held.lost.unwrap_or(held.ready.max(held.ask)).max(self.at), Event::Printer(p)));
    }

    /// The same life, with runs made again fitted in in another manner.
    pub fn with(self, manner: Manner) -> Player<'s, L> {
        Player { manner, ..self }
    }

    /// Lives to the end.
    pub fn live(mut self) -> Lived {
        self.wake_everything();
        loop {
            self.run_events();
            if self.finished() || !self.last_resort() {
                break;
            }
        }
        if self.keep {
            self.lived.gifts = self.supply.gifts();
        }
        self.lived
    }

    fn finished(&self) -> bool {
        self.unready == 0
    }

    /// Something to look at; what is past is looked at now.
    fn push(&mut self, (at, event): (Min, Event)) {
        self.events.push(Reverse((at.max(self.at), event)));
    }

    fn wake_everything(&mut self) {
        for p in 0..self.stands.len() {
            self.push((self.at, Event::Printer(p)));
        }
        for order in 0..self.lived.ready.len() {
            self.push((self.at, Event::Order(order)));
        }
        for part in 0..self.script.slots_of.len() {
            self.make_good(part, None, Cause::None, false);
        }
    }

    fn run_events(&mut self) {
        let over = |player: &Self| !player.keep && player.unready == 0;
        while let Some(&Reverse((at, _))) = self.events.peek() {
            if at > self.script.problem.horizon || over(self) {
                break;
            }
            self.at = at;
            while let Some(&Reverse((when, event))) = self.events.peek().filter(|e| e.0.0 == at) {
                debug_assert_eq!(when, at);
                self.events.pop();
                match event {
                    Event::Cleared(p) => self.wake_printer(p),
                    Event::Printer(p) => self.wake_printer(p),
                    Event::Order(order) => {
                        self.see_whether_ready(order);
                        if self.lived.ready[order].is_none() {
                            let planned = self.box_minute(order);
                            self.open.insert((planned, self.stands.len() + order));
                        }
                    }
                    Event::Somebody => {}
                }
            }
            self.do_what_can_be_done();
        }
    }

    fn wake_printer(&mut self, p: usize) {
        let stand = &self.stands[p];
        let planned = match &stand.held {
            Some(held) => held.lost.unwrap_or(held.ask),
            None => stand.queue.front().and_then(|&job| self.script.jobs[job].load_from).unwrap_or(self.at),
        };
        if let Some(old) = self.stands[p].open.replace(planned) {
            self.open.remove(&(old, p));
        }
        self.open.insert((planned, p));
    }

    fn box_minute(&self, order: usize) -> Min {
        let next = self.script.boxes_of[order].get(self.next_box[order].0);
        next.map_or(self.at, |&at| self.script.boxes[at].from)
    }

    /// Tries everything that is open, in the order of the plan, until nothing more can begin in this minute.
    fn do_what_can_be_done(&mut self) {
        let mut last = (Min::MIN, 0);
        while let Some(&key) = self.open.range((Excluded(last), Unbounded)).next() {
            last = key;
            let printers = self.stands.len();
            let step = if key.1 < printers { self.try_printer(key.1) } else { self.try_box(key.1 - printers) };
            let stand = self.stands.get_mut(key.1);
            if matches!(step, Step::Waits) {
                stand.map(|stand| stand.waits.get_or_insert(self.at));
                continue;
            }
            self.open.remove(&key);
            let Some(stand) = stand else { continue };
            stand.open = None;
            if matches!(step, Step::Begun)
                && let Some(since) = stand.waits.take()
            {
                let attended = &self.script.attended;
                self.lived.waited[since as usize / 60] +=
                    i64::from(attended[self.at as usize] - attended[since as usize]);
            }
        }
    }

    fn try_printer(&mut self, p: usize) -> Step {
        self.notice_loss(p);
        let stand = &self.stands[p];
        if stand.busy_until > self.at {
            return Step::Nothing;
        }
        if stand.broken_until > self.at {
            return self.later(p, stand.broken_until);
        }
        match stand.held {
            Some(held) => self.try_harvest(p, held),
            None => self.try_load(p),
        }
    }

    /// The loss of a plate is known from when somebody is there to see it.
    fn notice_loss(&mut self, p: usize) {
        let at = self.at;
        let unknown = |held: &&mut Held| held.lost.is_some_and(|lost| lost <= at) && !held.told;
        let Some(held) = self.stands[p].held.as_mut().filter(unknown) else { return };
        held.told = true;
        let held = *held;
        let none: Vec<_> =
            self.script.modes[held.mode].yields.iter().map(|&(part, copies)| (part, 0, copies)).collect();
        self.count(held, &none, at, held.cause);
    }

    fn later(&mut self, p: usize, at: Min) -> Step {
        self.push((at, Event::Printer(p)));
        Step::Nothing
    }

    fn try_harvest(&mut self, p: usize, held: Held) -> Step {
        let lost = held.lost.filter(|&lost| lost <= self.at);
        if lost.is_none() && held.ready.max(held.ask) > self.at {
            return Step::Nothing;
        }
        let minutes = self.script.modes[held.mode].harvest;
        if let Some(end) = self.down_during(p, self.at, self.at + minutes) {
            return self.later(p, end);
        }
        let Some(who) = self.somebody(held.harvester, held.lost.unwrap_or(held.ask.max(held.ready)), minutes) else {
            return Step::Waits;
        };
        let done = Done { from: self.at, to: self.at + minutes, who };
        self.work(p, done);
        let mut cause = held.cause;
        if cause == Cause::None && self.at > held.ask {
            cause = if held.ready > held.ask { Cause::Slow(held.mode) } else { Cause::Crew };
        }
        if cause != Cause::None {
            self.stands[p].cause = cause;
        }
        if lost.is_some() {
            self.end_stay(p, held, None, done);
            return Step::Begun;
        }
        let good = self.script.modes[held.mode].yields.iter().map(|&(part, copies)| {
            let good = self.luck.good(part, copies);
            self.lived.rejected += copies - good;
            (part, good, copies)
        });
        let good: Vec<(usize, i64, i64)> = good.collect();
        self.end_stay(p, held, Some((&good, cause)), done);
        Step::Begun
    }

    /// A plate is off its printer: its copies are counted, or it is only gone.
    fn end_stay(&mut self, p: usize, held: Held, good: Option<Harvested<'_>>, done: Done) {
        self.stands[p].held = None;
        if let From::Job(job) = held.from {
            self.begun.harvest[job] = true;
        }
        if self.keep {
            let stay = match held.from {
                From::Job(job) => self.stay_of_job[job],
                From::Again(at) => self.stay_of_again[at],
                From::Stock => return,
            };
            self.lived.stays[stay].harvest = Some(done);
        }
        if let Some((good, cause)) = good {
            self.count(held, good, done.to, cause);
        }
    }

    /// Takes in a run's copies and sees to what is missing.
    fn count(&mut self, held: Held, good: &[(usize, i64, i64)], harvested: Min, cause: Cause) {
        let script = self.script;
        let promised: &[(usize, i64)] = if let From::Job(job) = held.from { &script.jobs[job].gives } else { &[] };
        let short = self.supply.take(Lots { from: held.from, loaded: held.loaded, harvested, good, promised, cause });
        for &(part, _, _) in good {
            let usable = harvested + script.problem.finish[part];
            // Whoever is still waiting looks again when they are usable.
            for &slot in &script.slots_of[part] {
                let order = script.slots[slot].order;
                if self.lived.ready[order].is_none() {
                    self.push((usable, Event::Order(order)));
                    if short {
                        self.push((self.at, Event::Order(order)));
                    }
                }
            }
        }
        if short {
            let lost = good.iter().all(|g| g.1 == 0);
            for &(part, here, copies) in good {
                let cause = match cause {
                    Cause::Broke(_) | Cause::Failed(_) => cause,
                    _ if here < copies => Cause::Rejected(part),
                    other => other,
                };
                self.make_good(part, lost.then_some(held.mode), cause, false);
            }
        }
    }

    fn try_load(&mut self, p: usize) -> Step {
        let script = self.script;
        let next = self.stands[p].queue.front().copied();
        let due = next.map(|job| (job, script.jobs[job].load_from.unwrap_or(self.at)));
        let first = due.filter(|d| d.1 <= self.at).map(|d| script.jobs[d.0].rank);
        if !self.again.is_empty()
            && let Some(at) = self.again_for(p, due, first)
        {
            return self.load_again(p, at);
        }
        match due {
            Some((first, from)) if from <= self.at => {
                let place = self.fitting(p);
                let job = self.stands[p].queue.get(place).copied().unwrap_or(first);
                let asked = &script.jobs[job];
                let (load, harvest) = match place {
                    0 => ((from, asked.loader), (asked.harvest_from, asked.harvester)),
                    _ => ((self.at, ANYBODY), (self.at, ANYBODY)),
                };
                let step = self.load(p, From::Job(job), asked.mode, load, harvest);
                if matches!(step, Step::Begun) {
                    self.stands[p].queue.remove(place);
                    self.begun.load[job] = true;
                }
                step
            }
            Some((_, from)) => self.later(p, from),
            None => Step::Nothing,
        }
    }

    /// The place in a printer's list of the run to load now: the first, unless that one is late and the coming night or
    /// downtime keeps it out; then the first that they let in, of what the printer holds and released by now.
    fn fitting(&self, p: usize) -> usize {
        let script = self.script;
        let stand = &self.stands[p];
        let goes = |job: usize, swap: Min| {
            let mode = &script.modes[script.jobs[job].mode];
            let from = self.at + mode.load + swap;
            self.down_during(p, self.at, from + mode.to_ready()).is_none()
                && self.night_forbids(from, mode.print).is_none()
        };
        let Some(&first) = stand.queue.front() else { return 0 };
        let holds = |job: usize| stand.material.is_none_or(|held| held == script.modes[script.jobs[job].mode].material);
        let swap = if holds(first) { 0 } else { script.problem.changeover };
        if script.jobs[first].load_from.is_none_or(|from| from >= self.at) || goes(first, swap) {
            return 0;
        }
        let released = |job: usize| {
            let mut orders = script.jobs[job].gives.iter().map(|give| script.slots[give.0].order);
            orders.all(|order| script.problem.orders[order].release <= self.at)
        };
        let others = stand.queue.iter().enumerate().skip(1).take(LOOK_AHEAD);
        let mut others = others.filter(|(_, job)| holds(**job) && released(**job) && goes(**job, 0));
        others.next().map_or(0, |(place, _)| place)
    }

    fn load(
        &mut self,
        p: usize,
        from: From,
        mode: usize,
        (asked, loader): (Min, usize),
        (ask, harvester): (Min, usize),
    ) -> Step {
        let script = self.script;
        let m = &script.modes[mode];
        let swap = self.stands[p].material.is_some_and(|held| held != m.material);
        let minutes = m.load + if swap { script.problem.changeover } else { 0 };
        let print_from = self.at + minutes;
        if let Some(end) = self.down_during(p, self.at, print_from + m.to_ready()) {
            return self.later(p, end);
        }
        if let Some(end) = self.night_forbids(print_from, m.print) {
            return self.later(p, end);
        }
        let Some(who) = self.somebody(loader, asked, minutes) else { return Step::Waits };
        let done = Done { from: self.at, to: print_from, who };
        self.work(p, done);
        let stand = &mut self.stands[p];
        let cause = match stand.cause {
            _ if self.at <= asked => Cause::None,
            Cause::None => Cause::Crew,
            known => known,
        };
        stand.cause = cause;
        let printing = self.luck.print(mode, p, m.print);
        let lost = printing.lost_after.map(|after| print_from + after);
        self.count_nights(print_from, lost.unwrap_or(print_from + m.print), 1);
        let mut held = Held {
            from,
            mode,
            loaded: self.at,
            ready: print_from + printing.minutes + m.cool,
            lost,
            ask,
            harvester,
            cause,
            told: false,
        };
        if let Some(lost) = lost {
            held.cause = self.lose(p, mode, lost, printing.repair);
            // Nobody notices before somebody is there.
            held.lost = Some(script.staffed.get(lost as usize).copied().unwrap_or(lost));
        }
        self.hold(p, held, Some(done));
        Step::Begun
    }

    /// Everything on the plate will be lost; and with the printer broken, it is under repair from then on.
    fn lose(&mut self, p: usize, mode: usize, lost: Min, repair: Option<Min>) -> Cause {
        match repair {
            Some(minutes) => {
                self.lived.broken += 1;
                self.stands[p].broken_until = lost + minutes;
                Cause::Broke(p)
            }
            None => {
                self.lived.failed += 1;
                Cause::Failed(mode)
            }
        }
    }

    /// Somebody for a task planned for a minute.
    fn somebody(&mut self, asked: usize, planned: Min, minutes: Min) -> Option<usize> {
        let patience = if asked == ANYBODY { PATIENCE } else { self.manner.patience };
        let late = (self.at > planned || asked == ANYBODY) && patience > 0;
        let patient = late && self.at < planned + patience;
        let found = self.crew.find(asked, self.at, minutes, late, &self.begun);
        if found.is_none() && late {
            if patient {
                self.push((planned + patience, Event::Somebody));
            } else {
                return self.crew.find(asked, self.at, minutes, false, &self.begun);
            }
        }
        found
    }

    fn work(&mut self, p: usize, done: Done) {
        self.crew.book(done.who, done.to);
        self.stands[p].busy_until = done.to;
        self.push((done.to, Event::Cleared(p)));
    }

    /// The end of the first downtime that a stretch touches.
    fn down_during(&self, p: usize, from: Min, to: Min) -> Option<Min> {
        let down = &self.script.printers[p].down;
        let first = down.partition_point(|d| d.1 <= from);
        down.get(first).filter(|d| d.0 < to || (from == to && d.0 < from)).map(|d| d.1)
    }

    /// Whether a print would break a limit on unattended printing; then until when to wait.
    fn night_forbids(&self, from: Min, print: Min) -> Option<Min> {
        let problem = self.script.problem;
        if problem.night_printers.is_none() && problem.night_minutes.is_none() {
            return None;
        }
        let nights = &problem.nights;
        let mut k = nights.partition_point(|n| n.1 <= from);
        while let Some(&(a, b)) = nights.get(k).filter(|n| n.0 < from + print) {
            let full = problem.night_printers.is_some_and(|most| self.night_use[k] >= most);
            let long = problem.night_minutes.is_some_and(|most| b.min(from + print) - a.max(from) > most);
            if full || long {
                return Some(b);
            }
            k += 1;
        }
        None
    }

    fn count_nights(&mut self, from: Min, to: Min, by: i64) {
        let nights = &self.script.problem.nights;
        let mut k = nights.partition_point(|n| n.1 <= from);
        while nights.get(k).is_some_and(|n| n.0 < to) {
            self.night_use[k] += by;
            k += 1;
        }
    }
}
