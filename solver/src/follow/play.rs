//! The player: one life of a plan, event by event.

use super::PATIENCE;
use super::luck::Luck;
use super::people::{Begun, Crew};
use super::script::{ANYBODY, Script};
use super::supply::{Cause, From, Supply};
use super::trace::{Done, Lived, Stay};
use crate::problem::Min;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap, VecDeque};

/// How runs made again are fitted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Manner {
    /// Whether one for a shipment that is due earlier goes in front of the next planned run whatever that costs.
    pub urgent: bool,
    /// How much of its slack the next planned run waits for one.
    pub slack_percent: Min,
    /// How long a late task of the plan waits for somebody who has nothing else planned; with none, it goes first.
    pub patience: Min,
    /// Whether a run made again takes only minutes and places in a night that nobody has planned, for as long as its
    /// shipment is in no hurry.
    pub aside: bool,
}

impl Default for Manner {
    fn default() -> Manner {
        Manner { urgent: true, slack_percent: 50, patience: 0, aside: true }
    }
}

impl Manner {
    /// All manners worth trying where there is time to try several.
    pub fn all() -> impl Iterator<Item = Manner> {
        let fits = [(true, 50), (false, 50), (false, 0), (true, 0), (false, 100), (true, 100)];
        let waits = [(true, PATIENCE), (true, 0), (false, PATIENCE), (false, 0)];
        waits.into_iter().flat_map(move |(aside, patience)| {
            fits.into_iter().map(move |(urgent, slack_percent)| Manner { urgent, slack_percent, patience, aside })
        })
    }
}

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
    /// Until when its harvest stands aside.
    aside: Min,
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
    /// Among those of this life.
    number: usize,
    mode: usize,
    /// The shipment that needs it first; it is not loaded before that opens.
    order: usize,
    cause: Cause,
    since: Min,
    /// Until when its load may stand aside.
    leisure: Min,
    /// Whether nothing of the plan was counted on when it was decided.
    certain: bool,
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
    /// A shipment opens.
    Opens,
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
    agains: usize,
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
mod harvest;
mod limits;
mod live;
mod load;
mod openings;
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
            agains: 0,
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
                aside: Min::MIN,
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

    fn later(&mut self, p: usize, at: Min) -> Step {
        self.push((at, Event::Printer(p)));
        Step::Nothing
    }

    /// Somebody for a task planned for a minute, that stands aside until another.
    fn somebody(&mut self, asked: usize, planned: Min, aside: Min, minutes: Min) -> Option<usize> {
        let patience = if asked == ANYBODY { PATIENCE } else { self.manner.patience };
        let until = aside.max(planned + patience);
        let late = (self.at > planned || asked == ANYBODY) && until > planned;
        let found = self.crew.find(asked, self.at, minutes, late, &self.begun);
        if found.is_none() && late {
            if self.at < until {
                self.push((until, Event::Somebody));
            } else {
                return self.crew.find(asked, self.at, minutes, false, &self.begun);
            }
        }
        found
    }

    fn work(&mut self, p: usize, done: Done) {
        self.crew.book(done.who, done.from, done.to);
        self.stands[p].busy_until = done.to;
        self.push((done.to, Event::Cleared(p)));
    }
}
