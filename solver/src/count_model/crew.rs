//! Operators: what each pool can do in each slot.

use super::draft::Draft;
use super::program::Sense::AtMost;
use crate::problem::{Min, Pool};
use std::collections::BTreeMap;

/// Terms by slot.
type BySlot = BTreeMap<usize, Vec<(usize, i64)>>;

impl Draft<'_> {
    /// Writes down all pools.
    pub(super) fn add_crew(&mut self) {
        let longest = self.begun.iter().map(|begun| begun.minutes).max().unwrap_or(0);
        for (number, pool) in self.problem.pools.iter().enumerate() {
            if self.slots.length == 1 {
                self.add_minutes(number, pool);
            } else {
                self.add_slots(number, pool, longest);
            }
        }
    }

    /// Minute by minute: no more tasks are under way than there are operators. Inside a pool such tasks can be dealt out
    /// to named people, because interval graphs are perfect.
    fn add_minutes(&mut self, number: usize, pool: &Pool) {
        let mut under_way = BySlot::new();
        for begun in self.begun.iter().filter(|begun| begun.pool == number) {
            for minute in 0..begun.minutes as usize {
                under_way.entry(begun.slot + minute).or_default().push((begun.variable, 1));
            }
        }
        let operators = pool.operators.len() as i64;
        for (slot, terms) in under_way {
            self.program.row(format!("crew/w{number}/s{slot}"), terms, AtMost, operators);
        }
        self.add_moments(number, operators);
    }

    /// Tasks of no minutes need an operator who is not in the middle of another task; one does for all of a minute.
    fn add_moments(&mut self, number: usize, operators: i64) {
        let mut moments: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut across = BySlot::new();
        for begun in self.begun.iter().filter(|begun| begun.pool == number) {
            if begun.minutes == 0 {
                moments.entry(begun.slot).or_default().push(begun.variable);
            }
            for minute in 1..begun.minutes as usize {
                across.entry(begun.slot + minute).or_default().push((begun.variable, 1));
            }
        }
        for (slot, tasks) in moments {
            let Some(mut terms) = across.remove(&slot) else { continue };
            let free = self.program.whole(format!("free/w{number}/s{slot}"), 1);
            terms.push((free, 1));
            self.program.row(format!("middle/w{number}/s{slot}"), terms, AtMost, operators);
            let most: i64 = tasks.iter().filter_map(|task| self.program.variables()[*task].most).sum();
            let mut terms: Vec<(usize, i64)> = tasks.into_iter().map(|task| (task, 1)).collect();
            terms.push((free, -most));
            self.program.row(format!("moment/w{number}/s{slot}"), terms, AtMost, 0);
        }
    }

    /// In longer slots: the work begun so far is done in the minutes so far, but for what is under way at the slot's end,
    /// at most one task for each operator.
    fn add_slots(&mut self, number: usize, pool: &Pool, longest: Min) {
        let operators = pool.operators.len() as i64;
        let mut work = BySlot::new();
        for begun in self.begun.iter().filter(|begun| begun.pool == number && begun.minutes > 0) {
            work.entry(begun.slot).or_default().push((begun.variable, i64::from(begun.minutes)));
        }
        let mut under_way: Option<usize> = None;
        for slot in self.slots.at(pool.from)..=self.slots.at(pool.to - 1) {
            let (from, to) = (self.slots.from(slot), self.slots.from(slot) + self.slots.length);
            let minutes = i64::from(pool.to.min(to) - pool.from.max(from)) * operators;
            let mut terms = work.remove(&slot).unwrap_or_default();
            terms.extend(under_way.take().map(|before| (before, 1)));
            if pool.to > to && longest > 1 {
                let name = format!("underway/w{number}/s{slot}");
                let left = self.program.amount(name, Some(operators * i64::from(longest - 1)));
                terms.push((left, -1));
                under_way = Some(left);
            }
            if !terms.is_empty() {
                self.program.row(format!("crew/w{number}/s{slot}"), terms, AtMost, minutes);
            }
        }
    }
}
