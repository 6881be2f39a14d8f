//! What only the tables together can tell: that the order cannot be counted, made or worked on at all.
//!
//! These are asked only where the tables they rest on have no fault of their own.

use super::findings::{At, Findings, Wrong};
use super::{limits, number, words};
use crate::fault::FaultCode;
use crate::instance::{Instance, PartId, ShipmentId};
use crate::units::Count;
use crate::{kits, roster};
use std::collections::BTreeMap;

/// Tells of needed parts that cannot be had and of a room that nobody works in.
pub(super) fn check(instance: &Instance, findings: &mut Findings) {
    if !findings.any_outside(&["farm.toml", "downtime.csv", "shifts.csv", "closures.csv"])
        && check_counts(instance, findings)
    {
        check_makeable(instance, findings);
    }
    if !findings.any_in(&["farm.toml", "shifts.csv", "closures.csv"]) && roster::stretches(instance).is_empty() {
        let message = format!("Nobody is on shift within the {} days from the start.", instance.farm.horizon_days);
        let help = "See that a row's days fall within the horizon of farm.toml and are not all in closures.csv.";
        findings.add(At::file("shifts.csv"), Wrong::new(FaultCode::NoShift, message, help));
    }
}

/// All parts of all shipments, each part once.
fn needed(instance: &Instance) -> BTreeMap<PartId, u64> {
    let mut all = BTreeMap::new();
    for shipment in (0..).map(ShipmentId).take(instance.shipments.len()) {
        for (part, count) in kits::needs(instance, shipment) {
            let sum: &mut u64 = all.entry(part).or_default();
            *sum = sum.saturating_add(count.0);
        }
    }
    all
}

fn check_counts(instance: &Instance, findings: &mut Findings) -> bool {
    let all = needed(instance).into_values().fold(0_u64, u64::saturating_add);
    if all <= limits::ALL_PARTS {
        return true;
    }
    let most = number::grouped(limits::ALL_PARTS);
    let message = format!("The shipments need {} parts in all; {most} is the most.", number::grouped(all));
    let at = At::file("shipments.csv").column("quantity");
    findings.add(
        at,
        Wrong::new(
            FaultCode::TooManyParts,
            message,
            "Check the quantities; split a larger order and plan it in steps.",
        ),
    );
    false
}

fn check_makeable(instance: &Instance, findings: &mut Findings) {
    let mut at_hand: BTreeMap<PartId, u64> = instance.stock.iter().map(|s| (s.part, s.quantity.0)).collect();
    for running in &instance.running {
        let group = instance.printers[running.printer.index()].group;
        for (part, count) in instance.plates[running.plate.index()].on(group).map_or(&[][..], |on| &on.copies) {
            *at_hand.entry(*part).or_default() += count.0;
        }
    }
    for (id, need) in needed(instance) {
        let short = need.saturating_sub(at_hand.get(&id).copied().unwrap_or(0));
        if short == 0 {
            continue;
        }
        let making = |usable: bool| {
            let makes = move |copies: &[(PartId, Count)]| {
                copies.iter().any(|(part, _)| *part == id) && (!usable || closes_bags(instance, copies))
            };
            instance.plates.iter().filter(move |plate| plate.on_groups.iter().any(|on| makes(&on.copies)))
        };
        let name = &instance.parts[id.index()].name;
        if making(false).next().is_none() {
            let message = format!(
                "No plate makes \"{name}\", and the order needs {} more than there are.",
                number::grouped(short)
            );
            let help = format!("Add a row for {name}, or see that its name is written alike in parts.csv and here.");
            let at = At::file("plates.csv").column("part");
            findings.add(at, Wrong::new(FaultCode::NoPlateForPart, message, help));
        } else if instance.farm.whole_plates_per_bag && making(true).next().is_none() {
            let plates = words::listed(making(false).map(|plate| plate.name.as_str()));
            let message = format!(
                "No plate of \"{name}\" divides its bag ({plates}), so that whole_plates_per_bag leaves none, and the order \
                 needs {} more than there are.",
                number::grouped(short)
            );
            let help = "Add a plate whose copies divide per_bag in parts.csv, change per_bag, or turn the rule off in farm.toml.";
            let at = At::file("plates.csv").column("copies");
            findings.add(at, Wrong::new(FaultCode::NoPlateClosesBag, message, help));
        }
    }
}

/// Whether the copies of every part on the plate divide its bag.
fn closes_bags(instance: &Instance, copies: &[(PartId, Count)]) -> bool {
    copies.iter().all(|(part, count)| {
        instance.parts[part.index()].per_bag.is_none_or(|bag| count.0 > 0 && bag.0.is_multiple_of(count.0))
    })
}
