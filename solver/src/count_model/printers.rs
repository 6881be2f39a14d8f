//! Printers: loads, plates that wait, harvests, and printers that stand idle, counted by slot.

use super::draft::{Begun, Draft, Harvested};
use super::places::{self, Place};
use super::program::Sense::{AtMost, Equal};
use crate::problem::Min;
use std::collections::BTreeMap;

/// Variables by the slot that they count in.
type BySlot = BTreeMap<usize, Vec<usize>>;

/// Printers that differ only in how they stand at the start.
struct Room {
    name: String,
    printers: i64,
    downtime: Vec<(Min, Min)>,
    /// Modes that may be loaded, and those that are on printers at the start.
    loadable: Vec<usize>,
    /// What printers without a plate hold, and how many of them do; where no changeover takes time, nobody asks.
    empty: BTreeMap<Option<usize>, i64>,
    /// Plates on printers at the start: mode, and when they are ready.
    held: Vec<(usize, Min, i64)>,
}

impl Draft<'_> {
    /// Writes down all printers.
    pub(super) fn add_printers(&mut self) {
        let rooms = self.rooms();
        let night_room = self.night_room(&rooms);
        let mut into_night: Vec<Vec<(usize, i64)>> = vec![Vec::new(); self.problem.nights.len()];
        for room in &rooms {
            self.add_room(room, &night_room, &mut into_night);
        }
        for ((night, terms), places) in into_night.into_iter().enumerate().zip(&night_room) {
            if let (Some(places), false) = (places, terms.is_empty()) {
                self.program.row(format!("night/n{night}"), terms, AtMost, (*places).max(0));
            }
        }
    }

    fn rooms(&self) -> Vec<Room> {
        let problem = self.problem;
        let terrains = problem.terrains();
        let mut rooms = Vec::new();
        for (number, terrain) in terrains.iter().enumerate() {
            let classes: Vec<_> = terrain.iter().map(|class| &problem.classes[*class]).collect();
            let Some(first) = classes.first() else { continue };
            let group = &self.groups[first.group.index()];
            let is_only = terrains.iter().filter(|other| problem.classes[other[0]].group == first.group).count() == 1;
            let mut room = Room {
                name: if is_only { group.clone() } else { format!("{group}+{number}") },
                printers: 0,
                downtime: first.downtime.clone(),
                loadable: first.modes.clone(),
                empty: BTreeMap::new(),
                held: Vec::new(),
            };
            for class in classes {
                let printers = class.printers.len() as i64;
                room.printers += printers;
                match &class.running {
                    Some(running) => room.held.push((running.mode, running.ready, printers)),
                    None => *room.empty.entry(self.state(class.material)).or_default() += printers,
                }
            }
            for mode in room.loadable.iter().copied().chain(room.held.iter().map(|held| held.0)) {
                room.empty.entry(self.state(Some(problem.modes[mode].material))).or_default();
            }
            rooms.push(room);
        }
        rooms
    }

    /// What is worth knowing of the material a printer holds.
    fn state(&self, material: Option<usize>) -> Option<usize> {
        material.filter(|_| self.problem.changeover > 0)
    }

    /// How many more printers may print into each night.
    fn night_room(&self, rooms: &[Room]) -> Vec<Option<i64>> {
        let held = |night: Min| -> i64 {
            let printing = rooms.iter().flat_map(|room| &room.held);
            printing.filter(|(mode, ready, _)| night < ready - self.problem.modes[*mode].cool).map(|held| held.2).sum()
        };
        let nights = self.problem.nights.iter();
        nights.map(|night| self.problem.night_printers.map(|most| most - held(night.0))).collect()
    }

    fn add_room(&mut self, room: &Room, night_room: &[Option<i64>], into_night: &mut [Vec<(usize, i64)>]) {
        let mut left: BTreeMap<Option<usize>, BySlot> = BTreeMap::new();
        let mut came: BTreeMap<Option<usize>, BySlot> = BTreeMap::new();
        let mut ready: BTreeMap<(usize, usize), BySlot> = BTreeMap::new();
        for &mode in &room.loadable {
            for &from in room.empty.keys() {
                for (place, variable, minutes) in self.add_loads(room, mode, from, night_room) {
                    left.entry(from).or_default().entry(place.slot).or_default().push(variable);
                    let at = self.slots.at(place.first + minutes + self.problem.modes[mode].to_ready());
                    let epoch = self.epoch(place.last);
                    ready.entry((mode, epoch)).or_default().entry(at).or_default().push(variable);
                    place.nights.iter().for_each(|night| into_night[*night].push((variable, 1)));
                }
            }
        }
        for (mode, ..) in &room.held {
            ready.entry((*mode, 0)).or_default();
        }
        let mut busy: BTreeMap<usize, Vec<(usize, i64)>> = BTreeMap::new();
        for ((mode, epoch), arrivals) in ready {
            let harvests = self.add_harvests(room, mode, epoch, &arrivals);
            let material = self.state(Some(self.problem.modes[mode].material));
            let of = &self.problem.modes[mode];
            let minutes = i64::from(of.load + of.to_ready() + of.harvest);
            for (place, variable) in harvests {
                let freed = self.slots.at(place.first + of.harvest);
                came.entry(material).or_default().entry(freed).or_default().push(variable);
                busy.entry(place.slot).or_default().push((variable, minutes));
            }
        }
        for (state, printers) in &room.empty {
            let none = BySlot::new();
            self.add_idle(room, *state, *printers, left.get(state).unwrap_or(&none), came.get(state).unwrap_or(&none));
        }
        if self.slots.length > 1 {
            self.add_printer_minutes(room, busy);
        }
    }

    /// Loads of a mode on printers that hold a material, with their minutes.
    fn add_loads(
        &mut self,
        room: &Room,
        mode: usize,
        from: Option<usize>,
        night_room: &[Option<i64>],
    ) -> Vec<(Place, usize, Min)> {
        let problem = self.problem;
        let of = &problem.modes[mode];
        let swaps = from.is_some_and(|held| held != of.material);
        let minutes = of.load + if swaps { problem.changeover } else { 0 };
        let held = match from {
            Some(material) if room.empty.len() > 1 => format!("/{}", self.materials[material]),
            None if room.empty.len() > 1 => "/blank".to_owned(),
            _ => String::new(),
        };
        let plate = self.plates[of.plate.index()].clone();
        let places = places::of_load(problem, self.slots, of, minutes, &room.downtime, night_room);
        let mut loads = Vec::new();
        for place in places {
            let name = format!("load/{plate}/{}{held}/w{}/s{}", room.name, place.pool, place.slot);
            let variable = self.program.whole(name, self.most_in_slot(room));
            self.begun.push(Begun { variable, pool: place.pool, slot: place.slot, minutes });
            loads.push((place, variable, minutes));
        }
        loads
    }

    /// Harvests of a mode loaded in an epoch, and the plates that wait for one.
    fn add_harvests(&mut self, room: &Room, mode: usize, epoch: usize, arrivals: &BySlot) -> Vec<(Place, usize)> {
        let of = &self.problem.modes[mode];
        let mut held: BTreeMap<usize, i64> = BTreeMap::new();
        for (_, ready, printers) in room.held.iter().filter(|held| held.0 == mode && epoch == 0) {
            *held.entry(self.slots.at(*ready)).or_default() += printers;
        }
        let first = arrivals.keys().chain(held.keys()).min().copied().unwrap_or(0);
        let name = format!("{}/{}{}", self.plates[of.plate.index()], room.name, self.epoch_name(epoch));
        let mut harvests = Vec::new();
        let mut by_slot = BySlot::new();
        for place in places::of_task(self.problem, self.slots, of.harvest, &room.downtime) {
            if place.slot < first {
                continue;
            }
            let called = format!("harvest/{name}/w{}/s{}", place.pool, place.slot);
            let variable = self.program.whole(called, self.most_in_slot(room));
            self.begun.push(Begun { variable, pool: place.pool, slot: place.slot, minutes: of.harvest });
            self.harvested.push(Harvested { variable, mode, epoch, ended: place.first + of.harvest });
            by_slot.entry(place.slot).or_default().push(variable);
            harvests.push((place, variable));
        }
        let changes: Vec<usize> = merged([arrivals.keys(), by_slot.keys()], held.keys());
        let mut waiting: Option<usize> = None;
        for (number, slot) in changes.iter().enumerate() {
            // Every plate is harvested in the end.
            let most = (number + 1 == changes.len()).then_some(0);
            let now = self.program.amount(format!("waiting/{name}/s{slot}"), most);
            let mut terms = vec![(now, 1)];
            terms.extend(waiting.map(|before| (before, -1)));
            terms.extend(arrivals.get(slot).into_iter().flatten().map(|load| (*load, -1)));
            terms.extend(by_slot.get(slot).into_iter().flatten().map(|harvest| (*harvest, 1)));
            let right = held.get(slot).copied().unwrap_or(0);
            self.program.row(format!("plates/{name}/s{slot}"), terms, Equal, right);
            waiting = Some(now);
        }
        harvests
    }

    /// Printers without a plate that hold a material.
    fn add_idle(&mut self, room: &Room, state: Option<usize>, printers: i64, left: &BySlot, came: &BySlot) {
        let held = match state {
            Some(material) if room.empty.len() > 1 => format!("/{}", self.materials[material]),
            None if room.empty.len() > 1 => "/blank".to_owned(),
            _ => String::new(),
        };
        let mut idle: Option<usize> = None;
        for slot in merged([left.keys(), came.keys()], std::iter::empty::<&usize>()) {
            let now = self.program.amount(format!("idle/{}{held}/s{slot}", room.name), None);
            let mut terms = vec![(now, 1)];
            terms.extend(idle.map(|before| (before, -1)));
            terms.extend(came.get(&slot).into_iter().flatten().map(|harvest| (*harvest, -1)));
            terms.extend(left.get(&slot).into_iter().flatten().map(|load| (*load, 1)));
            let right = if idle.is_none() { printers } else { 0 };
            self.program.row(format!("printers/{}{held}/s{slot}", room.name), terms, Equal, right);
            idle = Some(now);
        }
    }

    /// The minutes that runs really take, up to each slot, fit the printers: what rounding loses comes back here.
    fn add_printer_minutes(&mut self, room: &Room, busy: BTreeMap<usize, Vec<(usize, i64)>>) {
        let modes = room.loadable.iter().copied().chain(room.held.iter().map(|held| held.0));
        let overhang = modes.map(|mode| i64::from(self.problem.modes[mode].harvest - 1).max(0)).max().unwrap_or(0);
        let before: i64 = room
            .held
            .iter()
            .map(|(mode, _, printers)| {
                let of = &self.problem.modes[*mode];
                i64::from(of.load + of.to_ready()) * printers
            })
            .sum();
        let mut sum: Option<usize> = None;
        for (slot, mut terms) in busy {
            let end = self.slots.from(slot) + self.slots.length;
            let down: i64 = room.downtime.iter().map(|down| i64::from((down.1.min(end) - down.0).max(0))).sum();
            let most = room.printers * (i64::from(end) - down + overhang) + before;
            let now = self.program.amount(format!("busy/{}/s{slot}", room.name), Some(most));
            terms.iter_mut().for_each(|term| term.1 = -term.1);
            terms.push((now, 1));
            terms.extend(sum.map(|before| (before, -1)));
            self.program.row(format!("minutes/{}/s{slot}", room.name), terms, Equal, 0);
            sum = Some(now);
        }
    }

    /// No printer is loaded or harvested more than once a minute, and once more.
    fn most_in_slot(&self, room: &Room) -> i64 {
        room.printers * if self.slots.length == 1 { 1 } else { i64::from(self.slots.length) + 1 }
    }
}

/// The keys of several maps, each once, in order.
fn merged<'k>(
    keys: impl IntoIterator<Item = impl Iterator<Item = &'k usize>>,
    others: impl Iterator<Item = &'k usize>,
) -> Vec<usize> {
    let mut all: Vec<usize> = keys.into_iter().flatten().chain(others).copied().collect();
    all.sort_unstable();
    all.dedup();
    all
}
