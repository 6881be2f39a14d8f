//! What a planner should look at before trusting the week to the plan.

use crate::crew::{Shift, crew_hours};
use crate::nights::nights;
use crate::page::Page;
use crate::phases::{Names, phases};
use crate::shipments::standings;
use crate::surplus::balances;
use crate::wall::{Wall, percent};
use platewright_model::instance::{PartId, PlateId, PrinterId};
use platewright_model::{Count, Instance, Instant, Minutes, Plan};
use std::collections::{BTreeMap, BTreeSet};

/// One thing to look at.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// A shipment is ready after its due date.
    Late {
        /// Which.
        shipment: String,
        /// By how much.
        by: Minutes,
    },
    /// A shipment is in time by less than a working morning.
    Tight {
        /// Which.
        shipment: String,
        /// By how much.
        spare: Minutes,
    },
    /// Shifts in which the crew has hardly a free minute: any delay pushes the rest of the day.
    CrewFull {
        /// The fullest.
        shift: Shift,
        /// How many there are.
        shifts: usize,
    },
    /// Printers print with nobody there.
    Unattended {
        /// Most printers at once.
        most: usize,
        /// First minute at which so many print.
        from: Instant,
    },
    /// The tables state failure and reject rates.
    Rates {
        /// Failed runs to expect.
        failed_runs: f64,
        /// Runs in all.
        runs: usize,
        /// Rejected copies to expect of the runs that succeed.
        rejected: f64,
        /// The plan keeps spares for that; else it counts on every plate.
        spared: bool,
    },
    /// Printers without a run.
    IdlePrinters(Vec<PrinterId>),
    /// Plates without a run, though they might have one.
    UnusedPlates(Vec<PlateId>),
    /// Plates that would not close a bag, where only those that do are used.
    RuledOutPlates(Vec<PlateId>),
    /// Stock that stays on the shelf.
    UnusedStock(Vec<(PartId, Count)>),
}

/// Less to spare than this is worth a word.
const TIGHT: Minutes = Minutes(240);

/// A shift busier than this, in millionths, is worth a word.
const FULL: i64 = 900_000;

/// Everything to look at, the gravest first.
pub fn warnings(instance: &Instance, plan: &Plan) -> Vec<Warning> {
    let mut found = Vec::new();
    for standing in standings(plan) {
        let shipment = standing.shipment;
        match standing.spare {
            Some(spare) if spare < Minutes::ZERO => found.push(Warning::Late { shipment, by: Minutes(-spare.0) }),
            Some(spare) if spare < TIGHT => found.push(Warning::Tight { shipment, spare }),
            _ => {}
        }
    }
    found.extend(crew_full(instance, plan));
    found.extend(rates(instance, plan));
    found.extend(unattended(instance, plan));
    found.extend(unused(instance, plan));
    found
}

fn crew_full(instance: &Instance, plan: &Plan) -> Option<Warning> {
    let hours = crew_hours(instance, plan);
    let shifts = hours.iter().flat_map(|row| &row.shifts).filter(|s| !s.is_stump());
    let full: Vec<&Shift> = shifts.filter(|s| s.busy_share() > FULL).collect();
    let shift = full.iter().rev().max_by_key(|s| s.busy_share())?;
    Some(Warning::CrewFull { shift: **shift, shifts: full.len() })
}

fn rates(instance: &Instance, plan: &Plan) -> Option<Warning> {
    let names = Names::of(instance);
    let (mut failed_runs, mut rejected) = (0.0, 0.0);
    for (_, _, plate) in plan.runs.iter().filter_map(|run| names.plate_of(run)) {
        failed_runs += plate.failure_rate;
        let of_plate: f64 = plate
            .copies
            .iter()
            .filter_map(|(part, copies)| instance.parts.get(part.index()).map(|p| p.reject_rate * copies.0 as f64))
            .sum();
        rejected += of_plate * (1.0 - plate.failure_rate);
    }
    let spared = instance.farm.spares.is_some();
    (failed_runs + rejected > 0.0).then_some(Warning::Rates { failed_runs, runs: plan.runs.len(), rejected, spared })
}

fn unattended(instance: &Instance, plan: &Plan) -> Option<Warning> {
    let nights = nights(instance, plan);
    let most = nights.iter().rev().max_by_key(|n| n.most_at_once).filter(|n| n.most_at_once > 0)?;
    Some(Warning::Unattended { most: most.most_at_once, from: most.most_from })
}

fn unused(instance: &Instance, plan: &Plan) -> Vec<Warning> {
    let runs = phases(instance, plan);
    let printers: BTreeSet<PrinterId> = runs.iter().map(|r| r.printer).collect();
    let plates: BTreeSet<PlateId> = runs.iter().map(|r| r.plate).collect();
    let idle: Vec<PrinterId> =
        (0..).zip(&instance.printers).map(|(i, _)| PrinterId(i)).filter(|p| !printers.contains(p)).collect();
    let (ruled_out, no_run): (Vec<PlateId>, Vec<PlateId>) = (0..)
        .zip(&instance.plates)
        .map(|(i, _)| PlateId(i))
        .filter(|p| !plates.contains(p))
        .partition(|p| leaves_a_bag_open(instance, *p));
    let stock: Vec<(PartId, Count)> = balances(instance, plan)
        .into_iter()
        .map(|b| (b.part, b.surplus_stock()))
        .filter(|(_, left)| *left > Count(0))
        .collect();
    let mut found = Vec::new();
    if !idle.is_empty() {
        found.push(Warning::IdlePrinters(idle));
    }
    if !no_run.is_empty() {
        found.push(Warning::UnusedPlates(no_run));
    }
    if !ruled_out.is_empty() {
        found.push(Warning::RuledOutPlates(ruled_out));
    }
    if !stock.is_empty() {
        found.push(Warning::UnusedStock(stock));
    }
    found
}

/// Whether `whole_plates_per_bag` keeps the plate from running anywhere.
fn leaves_a_bag_open(instance: &Instance, plate: PlateId) -> bool {
    let closes = |(part, copies): &(PartId, Count)| {
        let per_bag = instance.parts.get(part.index()).and_then(|p| p.per_bag);
        per_bag.is_none_or(|bag| bag.0.is_multiple_of(copies.0))
    };
    let on_groups = instance.plates.get(plate.index()).map_or(&[][..], |p| &p.on_groups);
    instance.farm.whole_plates_per_bag && !on_groups.iter().any(|on| on.copies.iter().all(closes))
}

fn plate_names<'a>(instance: &'a Instance, plates: &[PlateId]) -> Vec<&'a str> {
    plates.iter().filter_map(|p| instance.plates.get(p.index())).map(|p| p.name.as_str()).collect()
}

impl Warning {
    /// The warning as a sentence.
    pub fn words(&self, instance: &Instance) -> String {
        let wall = Wall::of(instance);
        match self {
            Warning::Late { shipment, by } => format!("{shipment} is {by} late."),
            Warning::Tight { shipment, spare } if *spare == Minutes::ZERO => {
                format!("{shipment} is ready at the very minute it is due: one failed plate makes it late.")
            }
            Warning::Tight { shipment, spare } => {
                format!("{shipment} has only {spare} to spare: one failed plate may make it late.")
            }
            Warning::CrewFull { shift, shifts } => {
                let crew = instance.crews.get(shift.crew.index()).map_or("the crew", String::as_str);
                let share = percent(shift.busy, shift.paid);
                let others = match shifts - 1 {
                    0 => String::new(),
                    1 => ", and one other shift is nearly as full".to_owned(),
                    n => format!(", and {n} other shifts are nearly as full"),
                };
                format!(
                    "{crew} is {share} busy in the shift from {}{others}: there is no time for breaks, repairs or a delay.",
                    wall.say(shift.span.from)
                )
            }
            Warning::Rates { failed_runs, runs, rejected, spared } => format!(
                "{} At the rates in the tables, about {} of {runs} runs fail and about {} \
                 copies of the rest are rejected.",
                if *spared { "The spares are kept for bad luck." } else { "The plan counts on every plate." },
                expected(*failed_runs),
                expected(*rejected)
            ),
            Warning::Unattended { most, from } => format!(
                "{} with nobody there, most at once from {}. Unattended hot machines need what local codes, the printer \
                 maker and the insurer ask for; settle that before the first night.",
                if *most == 1 { "A printer prints".to_owned() } else { format!("Up to {most} printers print") },
                wall.say(*from)
            ),
            Warning::IdlePrinters(printers) => {
                let mut by_group: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
                for printer in printers.iter().filter_map(|p| instance.printers.get(p.index())) {
                    let group = instance.groups.get(printer.group.index()).map_or("", String::as_str);
                    by_group.entry(group).or_default().push(&printer.name);
                }
                let told: Vec<String> =
                    by_group.iter().map(|(group, names)| format!("{} ({group})", listed(names))).collect();
                format!("Printers without a run: {}.", told.join("; "))
            }
            Warning::UnusedPlates(plates) => format!("Plates not used: {}.", listed(&plate_names(instance, plates))),
            Warning::RuledOutPlates(plates) => format!(
                "Plates ruled out by whole_plates_per_bag, because they would not close a bag: {}.",
                listed(&plate_names(instance, plates))
            ),
            Warning::UnusedStock(stock) => {
                let told: Vec<String> = stock
                    .iter()
                    .filter_map(|(part, left)| instance.parts.get(part.index()).map(|p| format!("{left} {}", p.name)))
                    .collect();
                let told: Vec<&str> = told.iter().map(String::as_str).collect();
                format!("Stock not used: {}.", listed(&told))
            }
        }
    }
}

/// At most eight of them, the rest as a number.
fn listed(names: &[&str]) -> String {
    const SHOWN: usize = 8;
    let shown = names.get(..names.len().min(SHOWN)).unwrap_or(names).join(", ");
    match names.len().saturating_sub(SHOWN) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

fn expected(figure: f64) -> String {
    if figure < 0.05 {
        "0".to_owned()
    } else if figure < 10.0 {
        format!("{figure:.1}")
    } else {
        format!("{figure:.0}")
    }
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let warnings = warnings(instance, plan);
    if warnings.is_empty() {
        return;
    }
    page.heading("Look out");
    warnings.iter().for_each(|warning| page.item(&warning.words(instance)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn the_sample_week_has_its_warnings() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let told: Vec<String> = warnings(&instance, &plan).iter().map(|w| w.words(&instance)).collect();
        let starts = [
            "The plan counts on every plate. At the rates in the tables, about 0.1 of 3 runs fail and about 0.4 copies",
            "A printer prints with nobody there, most at once from Mon 2 Mar 17:00.",
            "Printers without a run: A2 (small).",
            "Plates not used: cup-9.",
            "Stock not used: 1 cup.",
        ];
        assert_eq!(told.len(), starts.len(), "{told:#?}");
        assert!(told.iter().zip(starts).all(|(t, s)| t.starts_with(s)), "{told:#?}");
    }

    #[test]
    fn late_and_nearly_late_shipments_come_first() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        for (due, words) in [
            (at(2, 7, 0), "shop is 4 min late."),
            (at(2, 7, 4), "shop is ready at the very minute it is due: one failed plate makes it late."),
            (at(2, 8, 4), "shop has only 1 h to spare: one failed plate may make it late."),
        ] {
            plan.shipments[0].due = Some(due);
            assert_eq!(warnings(&instance, &plan)[0].words(&instance), words);
        }
    }

    #[test]
    fn a_crew_without_a_free_minute_is_told_of() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.tasks[0].to = at(0, 16, 50);
        let told = warnings(&instance, &plan)[0].words(&instance);
        assert!(told.starts_with("day is 99 % busy in the shift from Mon 2 Mar 07:00: there is no time"), "{told}");
    }

    #[test]
    fn a_plate_that_would_not_close_a_bag_is_told_apart() {
        let mut instance = sample::instance();
        instance.farm.whole_plates_per_bag = true;
        instance.parts[0].per_bag = Some(Count(12));
        let told: Vec<String> =
            warnings(&instance, &sample::plan(&instance)).iter().map(|w| w.words(&instance)).collect();
        let ruled_out = told.iter().any(|t| t.starts_with("Plates ruled out") && t.ends_with("a bag: cup-9."));
        assert!(ruled_out && !told.iter().any(|t| t.starts_with("Plates not used")), "{told:#?}");
    }

    #[test]
    fn long_lists_are_cut_short() {
        assert_eq!(listed(&["a"; 8]), ["a"; 8].join(", "));
        assert_eq!(listed(&["a"; 10]), format!("{} and 2 more", ["a"; 8].join(", ")));
    }
}
