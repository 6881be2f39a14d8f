//! Spares in mid-week: how many more copies a shipment is to have, now that part of the dice has fallen.
//!
//! What the rule asks of a plan made anew: copies of runs that the log has taken off are there for certain, as many as
//! were counted; runs that print, or wait to be loaded, fail and lose copies at the rates in the tables, as ever. With
//! both, all parts of each shipment must suffice with the confidence.
//!
//! So a plate that failed takes spares away and a plate that succeeded makes those that are left worth more, and only
//! counting shows whether more have to be printed. The plan is lived on with the copies that it has left for
//! each shipment, spares among them. Where the chance falls short then, lots are added to the shipment's weakest part until it
//! does not: first copies that nobody needs, already counted or of runs that are there in time, then runs to be made
//! again. The life is lived anew with so many copies asked for, and looked at again, because which plates it makes them with
//! only shows then. Where nothing falls short nothing is added, and the old plan stays as it is.

use super::Moment;
use crate::follow::script::Script;
use crate::follow::supply::From;
use crate::follow::trace::{Lived, Stay};
use crate::problem::{Min, Problem};
use platewright_model::Plan;
use platewright_model::plan::{Allocation, Source};
use platewright_model::spares::{Tally, reaches};
use platewright_model::{Count, Instance};
use std::collections::{BTreeMap, HashMap};

/// How often lots are added before the confidence counts as out of reach.
const ROUNDS: usize = 40;

/// How many lots are added to one shipment at a time before it is lived again.
const MOST_LOTS: usize = 400;

/// A plan with its promises cut down to what is left, and how many spares that makes, slot by slot.
pub(super) struct Asked {
    pub plan: Plan,
    spares: Vec<i64>,
    rounds: usize,
}

/// What came of looking at a life.
pub(super) enum Verdict {
    /// Every shipment's parts suffice.
    Suffices,
    /// More is asked for now.
    More,
    /// As much as could be asked for does not suffice.
    OutOfReach,
}

impl Asked {
    /// What the plan's runs still give.
    pub fn of(moment: &Moment<'_>, old: &Plan) -> Asked {
        let mut plan = old.clone();
        let due = |name: &str| {
            let shipment = moment.room.shipments.iter().position(|s| s.name == name);
            shipment.map(|s| (moment.room.shipments[s].due.map_or(i64::MAX, |due| (due - moment.room.farm.start).0), s))
        };
        let counted = counted(moment, old);
        let mut given: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
        for (at, row) in old.allocation.iter().enumerate() {
            if let Source::Run(run) = &row.source {
                given.entry((run, &row.part)).or_default().push(at);
            }
        }
        for ((run, part), mut rows) in given {
            let Some(of_run) = counted.get(run) else { continue };
            let good = of_run.get(part).copied().unwrap_or(0);
            let total = |rows: &[Allocation], at: &[usize]| -> u64 {
                at.iter().map(|&at| rows[at].count.0.saturating_add(rows[at].spare.0)).sum()
            };
            let mut over = total(&plan.allocation, &rows).saturating_sub(good);
            // What is lost is lost to those due last, and of that to spares first.
            rows.sort_by_key(|&at| std::cmp::Reverse((due(&old.allocation[at].shipment), at)));
            for spare in [true, false] {
                for &at in &rows {
                    let row = &mut plan.allocation[at];
                    let cell = if spare { &mut row.spare } else { &mut row.count };
                    let cut = over.min(cell.0);
                    cell.0 -= cut;
                    over -= cut;
                }
            }
        }
        for row in &mut plan.allocation {
            row.count = Count(row.count.0.saturating_add(row.spare.0));
            row.spare = Count(0);
        }
        plan.allocation.retain(|row| row.count.0 > 0);
        Asked { plan, spares: Vec::new(), rounds: 0 }
    }

    /// The plan to live by.
    pub fn script<'p>(&mut self, problem: &'p Problem<'p>) -> Result<Script<'p>, crate::follow::NotFollowed> {
        let mut script = Script::of(problem, &self.plan)?;
        if self.spares.is_empty() {
            let mut has = vec![0; script.slots.len()];
            let gives = script.jobs.iter().flat_map(|job| &job.gives).chain(&script.from_stock);
            gives.for_each(|&(slot, count)| has[slot] += count);
            self.spares = has.iter().zip(&script.slots).map(|(has, slot)| (has - slot.need).max(0)).collect();
        }
        script.ask_for_spares(&self.spares);
        Ok(script)
    }

    /// Looks whether what a life gives suffices, and asks for more where it does not.
    pub fn look(&mut self, moment: &Moment<'_>, script: &Script<'_>, lived: &Lived) -> Verdict {
        let Some(confidence) = script.problem.confidence else { return Verdict::Suffices };
        let mut more = false;
        for order in 0..script.problem.orders.len() {
            let mut parts: Vec<Lots> =
                script.slots_in[order].clone().map(|slot| Lots::of(moment, script, lived, slot)).collect();
            let had: Vec<u64> = parts.iter().map(|part| part.tally.copies()).collect();
            if !suffice(&mut parts, confidence) {
                return Verdict::OutOfReach;
            }
            for ((slot, part), had) in script.slots_in[order].clone().zip(&parts).zip(had) {
                let added = (part.tally.copies() - had) as i64;
                self.spares[slot] += added;
                more |= added > 0;
            }
        }
        self.rounds += 1;
        match more {
            false => Verdict::Suffices,
            true if self.rounds < ROUNDS => Verdict::More,
            true => Verdict::OutOfReach,
        }
    }
}

/// Adds lots to the weakest parts until all suffice together; false where there is nothing to add, or no end of it.
fn suffice(parts: &mut [Lots], confidence: f64) -> bool {
    let mut chances: Vec<f64> = parts.iter().map(Lots::chance).collect();
    for _ in 0..MOST_LOTS {
        if reaches(chances.iter().product(), confidence) {
            return true;
        }
        let Some(weakest) = (0..parts.len()).min_by(|&a, &b| chances[a].total_cmp(&chances[b])) else { return false };
        if !parts[weakest].add() {
            return false;
        }
        chances[weakest] = parts[weakest].chance();
    }
    false
}

/// What one shipment has of one part in a life, and what it could have.
struct Lots {
    need: u64,
    tally: Tally,
    /// Copies that nobody has, best last: how many, and the failure rate, none where they are counted.
    free: Vec<(u64, Option<f64>)>,
    /// A run made again.
    again: Option<(u64, f64)>,
}

impl Lots {
    fn of(moment: &Moment<'_>, script: &Script<'_>, lived: &Lived, slot: usize) -> Lots {
        let of = script.slots[slot];
        let problem = script.problem;
        let need = problem.orders[of.order].needs.iter().find(|n| n.0 == of.part).map_or(0, |n| n.1);
        let mut tally = Tally::new(problem.reject_rate[of.part]);
        let agains: Vec<&Stay> = lived.stays.iter().filter(|stay| stay.job.is_none()).collect();
        // What a run gives at several times fails together.
        let (mut taken, mut given): (BTreeMap<From, i64>, BTreeMap<From, i64>) = Default::default();
        for gift in lived.gifts.iter().filter(|gift| script.slots[gift.slot].part == of.part) {
            *taken.entry(gift.from).or_default() += gift.count;
            if gift.slot == slot {
                *given.entry(gift.from).or_default() += gift.count;
            }
        }
        for (from, copies) in given {
            let stay = match from {
                From::Stock => None,
                From::Job(job) => lived.stays.iter().find(|stay| stay.job == Some(job)),
                From::Again(number) => agains.get(number).copied(),
            };
            match stay.filter(|stay| !is_counted(moment, stay)) {
                None => tally.add_certain(copies.max(0) as u64),
                Some(stay) => tally.add_runs(1, copies.max(0) as u64, script.failure[stay.mode]),
            }
        }
        let opens = problem.orders[of.order].after.and_then(|(first, hold)| Some(lived.ready[first]? + hold));
        let opens = opens.unwrap_or(Min::MIN).max(problem.orders[of.order].release);
        let by = script.deadline[of.order].max(lived.ready[of.order].unwrap_or(Min::MIN));
        let stock = problem.stock[of.part] - taken.get(&From::Stock).copied().unwrap_or(0);
        let mut free = vec![(stock, None)];
        let mut number = 0;
        for stay in &lived.stays {
            let from = stay.job.map_or_else(|| From::Again(number), From::Job);
            number += usize::from(stay.job.is_none());
            let (Some(load), Some(harvest)) = (stay.load, stay.harvest) else { continue };
            let good = good_copies(moment, script, stay, of.part);
            let left = good - taken.get(&from).copied().unwrap_or(0);
            if load.from >= opens && harvest.to + problem.finish[of.part] <= by {
                free.push((left, (!is_counted(moment, stay)).then(|| script.failure[stay.mode])));
            }
        }
        let mut free: Vec<(u64, Option<f64>)> =
            free.into_iter().filter(|f| f.0 > 0).map(|(n, rate)| (n as u64, rate)).collect();
        free.sort_by(|a, b| {
            (a.1.is_none(), a.0).cmp(&(b.1.is_none(), b.0)).then(b.1.unwrap_or(0.0).total_cmp(&a.1.unwrap_or(0.0)))
        });
        let copies = |mode: usize| script.modes[mode].yields.iter().find(|y| y.0 == of.part).map_or(0, |y| y.1);
        let again = script.makers[of.part].iter().copied().min_by_key(|&mode| {
            let minutes = i64::from(script.modes[mode].print + script.modes[mode].cool);
            (copies(mode) <= 0, minutes)
        });
        let again = again.filter(|&mode| copies(mode) > 0).map(|mode| (copies(mode) as u64, script.failure[mode]));
        Lots { need: need.max(0) as u64, tally, free, again }
    }

    fn chance(&self) -> f64 {
        self.tally.chance(self.need)
    }

    /// One lot more; false where there is none.
    fn add(&mut self) -> bool {
        match (self.free.pop(), self.again) {
            (Some((copies, None)), _) => self.tally.add_certain(copies),
            (Some((copies, Some(rate))), _) | (None, Some((copies, rate))) => self.tally.add_runs(1, copies, rate),
            (None, None) => return false,
        }
        true
    }
}

fn is_counted(moment: &Moment<'_>, stay: &Stay) -> bool {
    stay.job.and_then(|job| moment.fates.get(job)).is_some_and(|fate| fate.ended.is_some())
}

/// The copies of a part that a run gives: those counted, or else all on its plate.
fn good_copies(moment: &Moment<'_>, script: &Script<'_>, stay: &Stay, part: usize) -> i64 {
    let ended = stay.job.and_then(|job| moment.fates.get(job)).and_then(|fate| fate.ended.as_ref());
    let all = script.modes[stay.mode].yields.iter().find(|y| y.0 == part).map_or(0, |y| y.1);
    match ended.map(|ended| &ended.good) {
        None => all,
        Some(None) => 0,
        Some(Some(good)) => good.iter().find(|g| g.0.index() == part).map_or(0, |g| g.1.0 as i64),
    }
}

/// By name, the good copies of runs that are off their printers.
fn counted<'a>(moment: &'a Moment<'_>, plan: &'a Plan) -> HashMap<&'a str, BTreeMap<&'a str, u64>> {
    let room: &Instance = moment.room;
    let of = |(run, fate): (&'a platewright_model::plan::Run, &'a platewright_model::past::Fate)| {
        let ended = fate.ended.as_ref()?;
        let good = ended.good.iter().flatten().map(|(part, n)| (room.parts[part.index()].name.as_str(), n.0));
        Some((run.run.as_str(), good.collect()))
    };
    plan.runs.iter().zip(moment.fates).filter_map(of).collect()
}
