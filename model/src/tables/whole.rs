//! What only the tables together can tell: that the order cannot be counted, made or worked on at all.
//!
//! These are asked only where the tables they rest on have no fault of their own.

use super::findings::{At, Findings, Wrong};
use super::{folder, limits, number, words};
use crate::fault::FaultCode;
use crate::instance::{Instance, KitId, PartId};
use crate::units::Count;
use crate::{kits, roster};
use std::collections::BTreeMap;

/// Tells of needed parts that cannot be had and of a room that nobody works in.
pub(super) fn check(instance: &Instance, findings: &mut Findings) {
    if !findings.any_outside(&["farm.toml", "downtime.csv", "shifts.csv", "closures.csv"]) {
        let needed = needed(instance);
        if check_counts(&needed, findings) {
            check_makeable(instance, &needed, findings);
        }
    }
    let told = findings.any_in(&["farm.toml", "shifts.csv", "closures.csv"]) || findings.any_outside(&folder::ORDER);
    if !told && roster::stretches(instance).is_empty() {
        let message = format!("Nobody is on shift within the {} days from the start.", instance.farm.horizon_days);
        let help = "See that a row's days fall within the horizon of farm.toml and are not all in closures.csv.";
        findings.add(At::file("shifts.csv"), Wrong::new(FaultCode::NoShift, message, help));
    }
}

/// All parts of all shipments, each part once.
fn needed(instance: &Instance) -> BTreeMap<PartId, u64> {
    let mut wanted: BTreeMap<KitId, u64> = BTreeMap::new();
    for line in instance.shipments.iter().flat_map(|shipment| &shipment.lines) {
        *wanted.entry(line.kit).or_default() += line.quantity.0;
    }
    kits::expand(&instance.kits, wanted)
}

fn check_counts(needed: &BTreeMap<PartId, u64>, findings: &mut Findings) -> bool {
    let all = needed.values().copied().fold(0_u64, u64::saturating_add);
    if all <= limits::ALL_PARTS {
        return true;
    }
    let most = number::grouped(limits::ALL_PARTS);
    let message = format!("The shipments need {} parts in all; {most} is the most.", number::grouped(all));
    let help = "Check the quantities; split a larger order and plan it in steps.";
    let at = At::file("shipments.csv").column("quantity");
    findings.add(at, Wrong::new(FaultCode::TooManyParts, message, help));
    false
}

fn check_makeable(instance: &Instance, needed: &BTreeMap<PartId, u64>, findings: &mut Findings) {
    let at_hand = at_hand(instance);
    let makers = makers(instance);
    for (id, need) in needed {
        let short = need.saturating_sub(at_hand.get(id).copied().unwrap_or(0));
        let plates = makers.get(id);
        if short == 0 || plates.is_some_and(|plates| plates.iter().any(|maker| maker.usable)) {
            continue;
        }
        let name = &instance.parts[id.index()].name;
        let short = number::grouped(short);
        let (code, column, message, help) = match plates {
            None => (
                FaultCode::NoPlateForPart,
                "part",
                format!("No plate makes \"{name}\", and the order needs {short} more than there are."),
                format!("Add a row for {name}, or see that its name is written alike in parts.csv and here."),
            ),
            Some(plates) => (
                FaultCode::NoPlateClosesBag,
                "copies",
                format!(
                    "The order needs {short} \"{name}\" more than there are, and whole_plates_per_bag rules out every \
                     plate of it ({}).",
                    words::listed(plates.iter().map(|maker| maker.plate))
                ),
                "Add a plate whose copies divide per_bag in parts.csv, change per_bag, or turn the rule off in farm.toml."
                    .to_owned(),
            ),
        };
        findings.add(At::file("plates.csv").column(column), Wrong::new(code, message, help));
    }
}

/// What stock and the runs on printers give.
fn at_hand(instance: &Instance) -> BTreeMap<PartId, u64> {
    let mut at_hand: BTreeMap<PartId, u64> = instance.stock.iter().map(|s| (s.part, s.quantity.0)).collect();
    for running in &instance.running {
        let group = instance.printers[running.printer.index()].group;
        for (part, count) in instance.plates[running.plate.index()].on(group).map_or(&[][..], |on| &on.copies) {
            *at_hand.entry(*part).or_default() += count.0;
        }
    }
    at_hand
}

/// A plate on one group, for one of its parts.
struct Maker<'i> {
    plate: &'i str,
    /// Whether the farm's way of counting lets it be used.
    usable: bool,
}

/// Who makes each part.
fn makers(instance: &Instance) -> BTreeMap<PartId, Vec<Maker<'_>>> {
    let mut makers: BTreeMap<PartId, Vec<Maker<'_>>> = BTreeMap::new();
    for plate in &instance.plates {
        for on in &plate.on_groups {
            let usable = !instance.farm.whole_plates_per_bag || closes_bags(instance, &on.copies);
            for (part, _) in &on.copies {
                makers.entry(*part).or_default().push(Maker { plate: &plate.name, usable });
            }
        }
    }
    makers
}

/// Whether the copies of every part on the plate divide its bag.
fn closes_bags(instance: &Instance, copies: &[(PartId, Count)]) -> bool {
    copies.iter().all(|(part, count)| {
        instance.parts[part.index()].per_bag.is_none_or(|bag| count.0 > 0 && bag.0.is_multiple_of(count.0))
    })
}
