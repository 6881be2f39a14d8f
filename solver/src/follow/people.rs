//! Who is there, who is free, and who has something planned meanwhile.

use super::script::{Duty, Person, Script};
use crate::problem::Min;

/// Which planned tasks have begun, or will never be.
#[derive(Debug, Clone)]
pub(super) struct Begun {
    pub(super) load: Vec<bool>,
    pub(super) harvest: Vec<bool>,
    pub(super) pack: Vec<bool>,
}

impl Begun {
    pub(super) fn none(script: &Script<'_>) -> Begun {
        let jobs = script.jobs.len();
        Begun { load: vec![false; jobs], harvest: vec![false; jobs], pack: vec![false; script.boxes.len()] }
    }

    fn of(&self, duty: Duty) -> bool {
        match duty {
            Duty::Load(job) => self.load[job],
            Duty::Harvest(job) => self.harvest[job],
            Duty::Pack(at) => self.pack[at],
        }
    }
}

#[derive(Debug, Clone, Default)]
struct Standing {
    busy_until: Min,
    /// When the task began that keeps them busy.
    began: Min,
    /// The stretch that is on or comes next, and when it begins for this person.
    stretch: usize,
    /// The first entry of the diary that may still be ahead.
    entry: usize,
}

/// The whole crew.
pub(super) struct Crew<'s> {
    script: &'s Script<'s>,
    standing: Vec<Standing>,
    /// By person and stretch, how many minutes late.
    late: Vec<Vec<Min>>,
}

impl<'s> Crew<'s> {
    /// Everybody, each so many minutes late for each stretch.
    pub(super) fn new(script: &'s Script<'s>, mut late: impl FnMut() -> Min) -> Crew<'s> {
        let late = script.people.iter().map(|p| p.stretches.iter().map(|_| late()).collect()).collect();
        Crew { script, standing: vec![Standing::default(); script.people.len()], late }
    }

    /// When somebody arrives, each time anybody does.
    pub(super) fn arrivals(&self) -> impl Iterator<Item = Min> + '_ {
        let people = self.script.people.iter().zip(&self.late);
        people.flat_map(|(p, late)| p.stretches.iter().zip(late).map(|(s, late)| s.0 + late))
    }

    /// Who can do a task of so many minutes from a minute on: the one who is asked for if possible. A task that comes as
    /// an extra leaves alone who has something planned meanwhile.
    pub(super) fn find(&mut self, asked: usize, at: Min, minutes: Min, extra: bool, begun: &Begun) -> Option<usize> {
        let can = |crew: &mut Self, who: usize| {
            crew.is_free(who, at, minutes) && (!extra || !crew.has_plans(who, at, minutes, begun))
        };
        if asked < self.standing.len() && can(self, asked) {
            return Some(asked);
        }
        (0..self.standing.len()).find(|&who| can(self, who))
    }

    /// The first minute from which on somebody on shift has nothing planned for so many minutes.
    pub(super) fn unplanned(&self, from: Min, minutes: Min, begun: &Begun) -> Option<Min> {
        let of_person = |person: &Person| {
            person.stretches.iter().filter(|stretch| from + minutes <= stretch.1).find_map(|&(start, end)| {
                let mut free = from.max(start);
                for entry in &person.diary[person.diary.partition_point(|entry| entry.1 <= free)..] {
                    if entry.0 >= free + minutes {
                        break;
                    }
                    if !begun.of(entry.2) {
                        free = free.max(entry.1);
                    }
                }
                (free + minutes <= end).then_some(free)
            })
        };
        self.script.people.iter().filter_map(of_person).min()
    }

    /// Whether somebody was on shift throughout.
    pub(super) fn was_there(&self, who: usize, from: Min, to: Min) -> bool {
        let person = self.script.people.get(who);
        person.is_some_and(|p| p.stretches.iter().any(|s| s.0 <= from && to <= s.1))
    }

    /// Books somebody.
    pub(super) fn book(&mut self, who: usize, from: Min, until: Min) {
        let standing = &mut self.standing[who];
        if until > standing.busy_until {
            (standing.began, standing.busy_until) = (from, until);
        }
    }

    fn is_free(&mut self, who: usize, at: Min, minutes: Min) -> bool {
        let (standing, person) = (&mut self.standing[who], &self.script.people[who]);
        while person.stretches.get(standing.stretch).is_some_and(|s| s.1 < at) {
            standing.stretch += 1;
        }
        let Some(stretch) = person.stretches.get(standing.stretch) else { return false };
        let from = stretch.0 + self.late[who][standing.stretch];
        // A task of no minutes has room at the edge of another one.
        let free = standing.busy_until <= at || (minutes == 0 && standing.began == at);
        free && from <= at && at + minutes <= stretch.1
    }

    fn has_plans(&mut self, who: usize, at: Min, minutes: Min, begun: &Begun) -> bool {
        let (standing, diary) = (&mut self.standing[who], &self.script.people[who].diary);
        while diary.get(standing.entry).is_some_and(|e| e.0 < at) {
            standing.entry += 1;
        }
        let mut ahead = diary[standing.entry..].iter().take_while(|e| e.0 < at + minutes);
        ahead.any(|e| !begun.of(e.2))
    }
}
