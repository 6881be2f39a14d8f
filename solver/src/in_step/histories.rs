//! What the printers of a timetable do, shift after shift.
//!
//! By day they print what the timetable is made for, overnight what is worth most of all that is still needed and ready by
//! their next harvest. Of two printers that leave and arrive in turn one leaves while the other arrives.

use super::InStep;
use super::timetable::{Rounds, Timetable};
use crate::history::Leg;
use crate::mix;
use crate::problem::{Min, Problem};

/// Shifts of one kind, and what is printed in them.
pub struct Season<'a, 'p> {
    /// The instance, with one class of printers.
    pub problem: &'a Problem<'p>,
    /// Each shift, and the least minutes from one of its rounds to the next.
    pub shift: InStep,
    /// The same.
    pub cycle: Min,
    /// When each shift begins; before the first all printers are empty.
    pub begins: Vec<Min>,
    /// What may be printed by day, where it takes no longer than a cycle leaves.
    pub by_day: &'a [usize],
    /// What a copy of each part is worth.
    pub price: &'a [i64],
}

/// Who is served when in the first shift, and in all that follow by turns; not at all where there is none.
type Turns<'t> = (Option<&'t Rounds>, Option<[&'t Rounds; 2]>);

impl Season<'_, '_> {
    /// The histories of all printers of two timetables, that of the first shift and that of all others, as far as they are
    /// harvested by a minute.
    pub fn histories(&self, first: &Timetable, others: &Timetable, until: Min) -> Vec<Vec<Leg>> {
        let in_step = others.in_step.iter().map(|rounds| [rounds, rounds]);
        let pairs = others.leave.iter().zip(&others.arrive);
        let mut turns = in_step.chain(pairs.flat_map(|(leave, arrive)| [[leave, arrive], [arrive, leave]]));
        let mut first = first.arrive.iter();
        let mut left = mix::total_needs(self.problem);
        let mut histories = Vec::new();
        loop {
            let of: Turns<'_> = (first.next(), turns.next());
            if let (None, None) = of {
                return histories;
            }
            histories.push(self.history(of, until, &mut left));
        }
    }

    fn history(&self, (first, others): Turns<'_>, until: Min, left: &mut [i64]) -> Vec<Leg> {
        let in_shift = |day: usize| if day == 0 { first } else { others.map(|turns| turns[day % 2]) };
        let mut legs = Vec::new();
        let mut holding: Option<Leg> = None;
        for (day, &begin) in self.begins.iter().enumerate() {
            for (round, &(harvest, load)) in in_shift(day).into_iter().flatten().enumerate() {
                if let (Some(at), Some(leg)) = (harvest, holding.take()) {
                    let (harvest_from, harvest_to) = (begin + at, begin + at + self.shift.harvest);
                    if harvest_to > until {
                        return legs;
                    }
                    legs.push(Leg { harvest_from, harvest_to, ..leg });
                }
                let Some(load_from) = load.map(|at| begin + at) else { continue };
                let print_from = load_from + self.shift.load;
                let mode = if round < self.shift.rounds {
                    self.dearest(self.by_day, self.cycle - self.shift.harvest - self.shift.load, left)
                } else {
                    let next = self.begins.get(day + 1).zip(in_shift(day + 1));
                    let harvest = next.and_then(|(begin, rounds)| Some(begin + rounds.first()?.0?));
                    harvest.and_then(|at| self.dearest(&self.problem.classes[0].modes, at - print_from, left))
                };
                let Some(mode) = mode else { continue };
                let mode_of = &self.problem.modes[mode];
                mode_of.yields.iter().for_each(|&(part, copies)| left[part] -= copies);
                let ready = print_from + mode_of.to_ready();
                let load_from = Some(load_from);
                holding = Some(Leg { mode, load_from, print_from, ready, harvest_from: 0, harvest_to: 0 });
            }
        }
        legs
    }

    /// Of what is ready in so many minutes and still needed, what is worth most; of what is worth the same, what prints
    /// longest.
    fn dearest(&self, modes: &[usize], within: Min, left: &[i64]) -> Option<usize> {
        let worth = |mode: usize| -> i64 {
            let of = |&(part, copies): &(usize, i64)| self.price[part] * copies.min(left[part].max(0));
            self.problem.modes[mode].yields.iter().map(of).sum()
        };
        let fits = |&mode: &usize| self.problem.modes[mode].to_ready() <= within && worth(mode) > 0;
        modes.iter().copied().filter(fits).max_by_key(|&m| (worth(m), self.problem.modes[m].print))
    }
}
