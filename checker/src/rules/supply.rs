//! RELEASE, ALLOCATION and BAG: which parts go where.

use crate::book::{Giver, Origin};
use crate::breach::Breach;
use crate::case::Case;
use crate::span::near;
use platewright_model::instance::{PartId, ShipmentId};
use platewright_model::plan::Source;
use platewright_model::{Count, Rule};
use std::collections::{BTreeMap, HashSet};

/// A run loaded before a shipment's release gives it nothing; one from `running.csv` was loaded before the start, and so
/// before any release. Stock always may.
pub(super) fn release(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for grant in &case.book.grants {
        let (Giver::Run(position), Some(shipment)) = (grant.source, grant.shipment) else { continue };
        let Some(run) = case.book.runs.get(position) else { continue };
        let Some(release) = case.instance.shipments[shipment.index()].release else { continue };
        let row = run.row;
        let (part, to) = (&grant.row.part, &grant.row.shipment);
        let message = match (run.origin, &row.load) {
            (Origin::Running(_), _) => {
                format!(
                    "{} was loaded before the start, {to} takes no {part} from before its release {}",
                    row.run,
                    case.at(release)
                )
            }
            (_, Some(load)) if near(load.from) < release => format!(
                "{} is loaded {}, {to} takes no {part} from before its release {}",
                row.run,
                case.at(near(load.from)),
                case.at(release)
            ),
            _ => continue,
        };
        let breach = Breach::of(Rule::Release, message).run(&row.run).printer(&row.printer).shipment(to);
        breaches.push(match &row.load {
            Some(load) => breach.at(near(load.from)),
            None => breach,
        });
    }
    breaches
}

/// Every need is met exactly, from named runs or stock, and no source gives more than it has.
pub(super) fn allocation(case: &Case) -> Vec<Breach> {
    let mut breaches = run_names(case);
    breaches.extend(rows(case));

    let mut given: BTreeMap<(Giver, PartId), u128> = BTreeMap::new();
    let mut met: BTreeMap<(ShipmentId, PartId), u128> = BTreeMap::new();
    for grant in &case.book.grants {
        let Some(part) = grant.part else { continue };
        *given.entry((grant.source, part)).or_default() +=
            u128::from(grant.row.count.0) + u128::from(grant.row.spare.0);
        if let Some(shipment) = grant.shipment {
            *met.entry((shipment, part)).or_default() += u128::from(grant.row.count.0);
        }
    }
    breaches.extend(given.into_iter().filter_map(|((source, part), count)| too_much(case, source, part, count)));
    breaches.extend(unmet(case, &met));
    breaches
}

/// What an allocation names must be one run.
fn run_names(case: &Case) -> Vec<Breach> {
    let mut seen = HashSet::new();
    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let (name, printer) = (&run.row.run, &run.row.printer);
        let message = if name.trim().is_empty() {
            format!("a run on {printer} has no name")
        } else if name == "stock" {
            format!("a run on {printer} is called stock, which stands for stock.csv")
        } else if !seen.insert(name) {
            format!("two runs are called {name}")
        } else {
            continue;
        };
        breaches.push(Breach::of(Rule::Allocation, message).run(name).printer(printer));
    }
    breaches
}

fn rows(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for grant in &case.book.grants {
        let row = grant.row;
        let breach = |message: String| {
            let breach = Breach::of(Rule::Allocation, message).shipment(&row.shipment);
            match &row.source {
                Source::Run(run) => breach.run(run),
                Source::Stock => breach,
            }
        };
        if let (Giver::Unknown, Source::Run(run)) = (grant.source, &row.source) {
            breaches.push(breach(format!(
                "{} for {} comes from {run:?}, and there is no such run",
                row.part, row.shipment
            )));
        }
        if grant.part.is_none() {
            breaches.push(breach(format!("{:?} for {} is no part", row.part, row.shipment)));
        }
        if grant.shipment.is_none() {
            breaches.push(breach(format!("{} goes to {:?}, and there is no such shipment", row.part, row.shipment)));
        }
        if row.count.0 == 0 && row.spare.0 == 0 {
            breaches.push(breach(format!("a row gives {} none of {}", row.shipment, row.part)));
        }
    }
    breaches
}

fn too_much(case: &Case, source: Giver, part: PartId, gives: u128) -> Option<Breach> {
    let named = case.part(part);
    let total = |counts: Vec<Count>| counts.iter().map(|count| u128::from(count.0)).sum::<u128>();
    match source {
        Giver::Unknown => None,
        Giver::Stock => {
            let rows = case.instance.stock.iter().filter(|stock| stock.part == part);
            let has = total(rows.map(|stock| stock.quantity).collect());
            let message = format!("stock gives {gives} of {named} and has {has}");
            (gives > has).then(|| Breach::of(Rule::Allocation, message))
        }
        Giver::Run(position) => {
            let run = case.book.runs.get(position)?;
            // What an unknown plate yields nobody knows; GROUP says so.
            run.plate?;
            let copies = run.yields().iter().filter(|(on_plate, _)| *on_plate == part);
            let yields = total(copies.map(|(_, copies)| *copies).collect());
            let message = format!("{} gives {gives} of {named} and yields {yields}", run.row.run);
            (gives > yields).then(|| Breach::of(Rule::Allocation, message).run(&run.row.run).printer(&run.row.printer))
        }
    }
}

/// The needs that are not met exactly, those of no copies among them.
fn unmet(case: &Case, met: &BTreeMap<(ShipmentId, PartId), u128>) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for (id, shipment) in (0..).map(ShipmentId).zip(&case.instance.shipments) {
        let needs = case.demand.shipment(id.index());
        let gets = met.range((id, PartId(0))..=(id, PartId(u32::MAX)));
        let mut balance: BTreeMap<PartId, (u128, u128)> = BTreeMap::new();
        for (&part, &count) in needs.into_iter().flatten() {
            balance.entry(part).or_default().0 = count;
        }
        for (&(_, part), &count) in gets {
            balance.entry(part).or_default().1 = count;
        }
        for (part, (need, get)) in balance.into_iter().filter(|(_, (need, get))| need != get) {
            let message = format!("{} needs {need} of {} and gets {get}", shipment.name, case.part(part));
            breaches.push(Breach::of(Rule::Allocation, message).shipment(&shipment.name));
        }
    }
    breaches
}

/// With `whole_plates_per_bag`, a run's copies divide the bag count of each of its parts that has one. What was on a
/// printer before anybody planned is let be.
pub(super) fn bag(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    if !case.instance.farm.whole_plates_per_bag {
        return breaches;
    }
    for run in case.book.runs.iter().filter(|run| run.planned()) {
        for (part, copies) in run.copies() {
            let Some(bag) = case.instance.parts[part.index()].per_bag else { continue };
            if copies.0 == 0 || bag.0 % copies.0 != 0 {
                let row = run.row;
                let message = format!(
                    "{} prints {}, whose {copies} of {} do not divide the bag of {bag}",
                    row.run,
                    row.plate,
                    case.part(*part)
                );
                breaches.push(Breach::of(Rule::Bag, message).run(&row.run).printer(&row.printer));
            }
        }
    }
    breaches
}
