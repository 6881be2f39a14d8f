//! The dispatcher: walks the minutes as the room would live them. The quick engine ([`quick()`]) begins with it.
//!
//! Whenever an operator is free, the empty printer whose load is worth most is loaded, else the plate that has waited
//! longest is harvested. What a load is worth is read off a longest path over the coming days ([`Outlook`]): it knows
//! which plate still fits before the shift's end, which one belongs in the night, and what either leaves for tomorrow.
//! Prices per part follow the need: they start from the plate mix, rise for parts that lag behind the others, and are
//! higher for shipments that are due sooner. The outlook is made anew every other hour and whenever a part is complete.

mod quick;
mod way;
mod weave;

pub use quick::quick;

use crate::demand::Line;
use crate::floor::{Booked, Floor};
use crate::history::{Leave, Leg, Outlook, Scratch, Tariff, Window};
use crate::mix;
use crate::problem::{Min, Problem};
use crate::room::{Room, is_clear};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap, VecDeque};

/// How far the outlook reaches at least, and how long it stays fresh.
const REACH: Min = 3 * 1440;
const FRESH: Min = 120;

/// How far the outlook reaches: over the longest plate and the longest stretch with nobody on shift at either end of it.
fn reach(problem: &Problem<'_>) -> Min {
    let plate = problem.modes.iter().map(|m| m.load + problem.changeover + m.to_ready() + m.harvest).max().unwrap_or(0);
    let alone = problem.nights.iter().map(|n| n.1 - n.0).max().unwrap_or(0);
    REACH.max(plate + 2 * alone + 1440)
}

/// How the dispatcher weighs things.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    /// How strongly a part that lags behind the others is preferred, in hundredths.
    pub lag: i64,
    /// How much dearer each shipment is than the one due after it, in hundredths (100: no difference).
    pub urgency: i64,
}

impl Manner {
    /// The manners tried, in order; the best result counts.
    pub fn all(problem: &Problem<'_>) -> Vec<Manner> {
        let lags = [60, 25, 120];
        let urgencies: &[i64] = if problem.orders.len() > 1 { &[150, 300, 100] } else { &[100] };
        lags.iter().flat_map(|&lag| urgencies.iter().map(move |&urgency| Manner { lag, urgency })).collect()
    }
}

struct Walk<'p> {
    floor: Floor<'p>,
    price: Vec<i64>,
    need: Vec<i64>,
    rank: Vec<i64>,
    manner: Manner,
    /// Classes that share an outlook, and by class which of these.
    terrains: Vec<Vec<usize>>,
    terrain_of: Vec<usize>,
    reach: Min,
    /// Empty printers by class and material held, those longest empty first.
    empty: BTreeMap<(usize, Option<usize>), VecDeque<usize>>,
    /// Printers by the minute their plate is ready.
    printing: BinaryHeap<Reverse<(Min, usize)>>,
    /// Printers whose harvest is under way, by its end, with the material they then hold.
    clearing: BinaryHeap<Reverse<(Min, usize, usize)>>,
    /// What is on each printer: the leg so far, and its booked load.
    on: Vec<Option<(Leg, Option<crate::schedule::PlacedTask>)>>,
    /// The last minute at which each printer's plate was counted on being harvested.
    expected: Vec<Min>,
    /// By minute, the next one at which anybody is on shift.
    staffed: Vec<Min>,
}

/// Plays the whole plan through once. `stop` ends it early; what is booked by then stays.
pub fn dispatch<'p>(problem: &'p Problem<'p>, price: &[i64], manner: Manner, stop: &dyn Fn() -> bool) -> Floor<'p> {
    let deadlines = vec![problem.horizon; problem.orders.len()];
    let floor = Floor::new(problem, &deadlines);
    let machines = floor.machines.len();
    let mut by_due: Vec<usize> = (0..problem.orders.len()).collect();
    by_due.sort_by_key(|&o| (problem.orders[o].due.unwrap_or(Min::MAX).min(problem.orders[o].ready_by), o));
    let mut rank = vec![0; problem.orders.len()];
    for (at, &order) in by_due.iter().rev().enumerate() {
        rank[order] = at as i64;
    }
    let terrains = problem.terrains();
    let mut walk = Walk {
        floor,
        price: price.to_vec(),
        need: mix::total_needs(problem),
        rank,
        manner,
        terrain_of: (0..problem.classes.len())
            .map(|c| terrains.iter().position(|t| t.contains(&c)).unwrap_or(0))
            .collect(),
        terrains,
        reach: reach(problem),
        empty: BTreeMap::new(),
        printing: BinaryHeap::new(),
        clearing: BinaryHeap::new(),
        on: vec![None; machines],
        expected: vec![0; machines],
        staffed: staffed(problem),
    };
    walk.settle_in();
    walk.live(stop);
    walk.floor
}

/// By minute, the next minute at which anybody is on shift (beyond the horizon where nobody ever is again).
fn staffed(problem: &Problem<'_>) -> Vec<Min> {
    let minutes = problem.horizon as usize + 2;
    let mut next: Vec<Min> = (0..minutes as Min).collect();
    for &(from, to) in &problem.nights {
        next[from as usize..to as usize].fill(to);
    }
    next
}

impl<'p> Walk<'p> {
    fn settle_in(&mut self) {
        let problem = self.floor.problem;
        for m in 0..self.floor.machines.len() {
            let class_index = self.floor.machines[m].class;
            let class = &problem.classes[class_index];
            match &class.running {
                Some(on) => {
                    let mode = &problem.modes[on.mode];
                    let leg = Leg {
                        mode: on.mode,
                        load_from: None,
                        print_from: on.ready - mode.to_ready(),
                        ready: on.ready,
                        harvest_from: on.ready,
                        harvest_to: on.ready,
                    };
                    self.start(m, leg, None);
                }
                None => self.empty.entry((class_index, class.material)).or_default().push_back(m),
            }
        }
    }

    /// A plate starts on a printer; its copies are counted on from when it can first be harvested.
    fn start(&mut self, m: usize, leg: Leg, load: Option<crate::schedule::PlacedTask>) {
        let problem = self.floor.problem;
        let from = self.staffed.get(leg.ready.max(0) as usize).copied().unwrap_or(problem.horizon);
        self.expected[m] = from + problem.modes[leg.mode].harvest;
        self.floor.demand.count(leg.mode, leg.load_from, self.expected[m], true);
        self.on[m] = Some((leg, load));
        self.printing.push(Reverse((leg.ready, m)));
    }

    fn live(&mut self, stop: &dyn Fn() -> bool) {
        let problem = self.floor.problem;
        let mut scratches: Vec<Scratch> = self.terrains.iter().map(|_| Scratch::default()).collect();
        let room = Room::new(problem);
        let mut at = self.staffed[0];
        while at <= problem.horizon && !stop() {
            if self.floor.demand.is_met() && self.printing.is_empty() {
                break;
            }
            let until = (at + FRESH).min(problem.horizon);
            at = self.live_until(&room, at, until, &mut scratches);
        }
    }

    /// Lives with one outlook until it is stale; returns the minute reached.
    fn live_until(&mut self, room: &Room<'p>, from: Min, until: Min, scratches: &mut [Scratch]) -> Min {
        let problem = self.floor.problem;
        let tariff = self.tariff();
        let window = Window { from, to: (from + self.reach).min(problem.horizon), leave: Leave::Anything };
        let wanted = !self.floor.demand.is_met();
        // One outlook for all classes that differ only in how they stood at the start.
        let outlooks: Vec<Option<Outlook<'_>>> = self
            .terrains
            .iter()
            .zip(scratches.iter_mut())
            .map(|(terrain, scratch)| {
                let class = terrain[0];
                wanted.then(|| {
                    let memory = std::mem::take(scratch);
                    Outlook::new(room, &problem.classes[class], &tariff, window, &[], memory)
                })
            })
            .collect();
        let mut at = from;
        'minutes: while at <= until {
            self.clear(at);
            while self.load_one(at, &outlooks) {
                if self.a_part_is_complete(&tariff) {
                    break 'minutes;
                }
            }
            while self.harvest_one(at) {
                while self.load_one(at, &outlooks) {
                    if self.a_part_is_complete(&tariff) {
                        break 'minutes;
                    }
                }
            }
            at = self.staffed[at as usize + 1];
        }
        for (scratch, outlook) in scratches.iter_mut().zip(outlooks) {
            if let Some(outlook) = outlook {
                *scratch = outlook.into_scratch();
            }
        }
        at
    }

    /// Printers whose harvest has ended are empty.
    fn clear(&mut self, at: Min) {
        while let Some(&Reverse((to, m, material))) = self.clearing.peek() {
            if to > at {
                break;
            }
            self.clearing.pop();
            let class = self.floor.machines[m].class;
            self.empty.entry((class, Some(material))).or_default().push_back(m);
        }
    }

    fn tariff(&self) -> Tariff {
        let (mut left, mut all) = (0i64, 0i64);
        for part in 0..self.price.len() {
            left += self.floor.demand.missing(part) * self.price[part];
            all += self.need[part] * self.price[part];
        }
        let price = |part: usize, line: &Line| {
            // How much of this part is left, against how much of everything is left, in hundredths.
            let mine = 10_000 * self.floor.demand.missing(part) / self.need[part].max(1);
            let ours = (10_000 * left / all.max(1)).max(1);
            let lag = (100 + self.manner.lag * (100 * mine / ours - 100) / 100).clamp(50, 200);
            let mut price = self.price[part] * lag / 100;
            for _ in 0..self.rank[line.order].min(6) {
                price = price * self.manner.urgency / 100;
            }
            price.max(1)
        };
        self.floor.demand.tariff(&price)
    }

    /// Has something the outlook still counts on become worthless?
    fn a_part_is_complete(&self, tariff: &Tariff) -> bool {
        tariff.value.iter().enumerate().any(|(m, epochs)| {
            epochs.iter().any(|steps| !steps.is_empty())
                && self.floor.problem.modes[m].yields.iter().all(|y| self.floor.demand.missing(y.0) == 0)
        })
    }

    fn load_one(&mut self, at: Min, outlooks: &[Option<Outlook<'_>>]) -> bool {
        let problem = self.floor.problem;
        let mut choice: Option<(i64, usize, (usize, Option<usize>))> = None;
        for (&key, machines) in &self.empty {
            let Some(outlook) = outlooks[self.terrain_of[key.0]].as_ref().filter(|_| !machines.is_empty()) else {
                continue;
            };
            let Some((mode, gain)) = outlook.best_load(at, key.1) else { continue };
            let lengths = self.floor.room.of_mode[mode];
            let swap = problem.materials > 1
                && problem.changeover > 0
                && key.1.is_some_and(|held| held != problem.modes[mode].material);
            let length = if swap { lengths.change } else { lengths.load };
            let print_from = at + self.floor.room.lengths[length];
            let fits = self.floor.room.can_start(length, at)
                && print_from + problem.modes[mode].print <= self.floor.room.print_limit(print_from);
            if !fits {
                continue;
            }
            let margin = gain - outlook.empty((at + 1).min(problem.horizon), key.1);
            if margin >= 0 && choice.is_none_or(|c| margin > c.0) {
                choice = Some((margin, mode, key));
            }
        }
        let Some((_, mode, key)) = choice else { return false };
        let Some(m) = self.empty.get_mut(&key).and_then(VecDeque::pop_front) else { return false };
        let lengths = self.floor.room.of_mode[mode];
        let swap = problem.materials > 1
            && problem.changeover > 0
            && key.1.is_some_and(|held| held != problem.modes[mode].material);
        let length = if swap { lengths.change } else { lengths.load };
        let Some(task) = self.floor.room.book(length, at) else { return false };
        let print_from = task.to;
        let (print, ready) = (problem.modes[mode].print, print_from + problem.modes[mode].to_ready());
        self.floor.room.count_nights(print_from, print_from + print, true);
        let leg = Leg { mode, load_from: Some(at), print_from, ready, harvest_from: ready, harvest_to: ready };
        self.start(m, leg, Some(task));
        true
    }

    fn harvest_one(&mut self, at: Min) -> bool {
        let problem = self.floor.problem;
        let mut set_aside = Vec::new();
        let mut done = false;
        while let Some(&Reverse((ready, m))) = self.printing.peek() {
            if ready > at {
                break;
            }
            self.printing.pop();
            let Some((mut leg, load)) = self.on[m] else { continue };
            let class = self.floor.machines[m].class;
            let length = self.floor.room.of_mode[leg.mode].harvest;
            let to = at + problem.modes[leg.mode].harvest;
            let clear = is_clear(&self.floor.down[class], at, to);
            let open = clear && self.floor.room.can_start(length, at);
            let task = if open { self.floor.room.book(length, at) } else { None };
            let Some(harvest) = task else {
                set_aside.push(Reverse((ready, m)));
                continue;
            };
            leg.harvest_from = at;
            leg.harvest_to = to;
            self.floor.demand.count(leg.mode, leg.load_from, self.expected[m], false);
            self.floor.demand.count(leg.mode, leg.load_from, to, true);
            self.floor.machines[m].runs.push(Booked { leg, load, harvest });
            self.on[m] = None;
            self.clearing.push(Reverse((to, m, problem.modes[leg.mode].material)));
            self.clear(at);
            done = true;
            break;
        }
        self.printing.extend(set_aside);
        done
    }
}
