//! PACK: boxes are packed by an operator, from parts that are usable.
//!
//! A part is never in two boxes. So at the start of any box, what all boxes of the shipment started so far hold, over
//! all its rows, must be usable out of what the shipment is given; and within a row the k-th box to start is the k-th
//! box, the last being the one that may be filled in part.

use crate::book::Duty;
use crate::breach::Breach;
use crate::case::Case;
use crate::demand::Parts;
use crate::rules::people::{about, called, off_shift};
use platewright_model::instance::{PartId, Shipment, ShipmentLine};
use platewright_model::plan::Work;
use platewright_model::{Instant, Rule};
use std::collections::BTreeMap;

/// The box tasks of one shipment, by the position of their row in it, in the plan's order.
type Boxes<'c, 'a> = Vec<(usize, &'c Duty<'a>)>;

/// As many boxes as each row fills, each of its minutes and on shift, each from parts that are there.
pub(super) fn pack(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut boxes: Vec<Boxes> = vec![Vec::new(); case.instance.shipments.len()];
    for duty in &case.book.duties {
        let Work::Pack { shipment, kit } = &duty.row.work else { continue };
        let known = case.names.shipment(shipment);
        let line = known.and_then(|id| Some((id, line_of(case, &case.instance.shipments[id.index()], kit)?)));
        match line {
            Some((id, line)) => {
                boxes[id.index()].push((line, duty));
                alone(case, duty, &mut breaches);
            }
            None => {
                let message = format!("{} is packed {}, and none is to be", called(duty), case.during(duty.span));
                breaches.push(about(Rule::Pack, duty, message));
            }
        }
    }
    let supply = supply(case);
    for ((shipment, boxes), supply) in case.instance.shipments.iter().zip(boxes).zip(supply) {
        count(case, shipment, &boxes, &mut breaches);
        contents(case, shipment, boxes, supply, &mut breaches);
    }
    breaches
}

/// The position of the shipment's row of that kit, where its boxes are packed.
fn line_of(case: &Case, shipment: &Shipment, kit: &str) -> Option<usize> {
    let kit = case.names.kit(kit)?;
    shipment.lines.iter().position(|line| line.kit == kit && case.packs(line))
}

/// What a box task must be whatever is in the box.
fn alone(case: &Case, duty: &Duty, breaches: &mut Vec<Breach>) {
    let due = case.instance.farm.handling.pack_box;
    if duty.minutes != due {
        let message = format!("{} takes {}, {due} are due", called(duty), duty.minutes);
        breaches.push(about(Rule::Pack, duty, message));
    }
    if let Some(why) = off_shift(case, duty) {
        breaches.push(about(Rule::Pack, duty, format!("{}: {why}", called(duty))));
    }
}

fn count(case: &Case, shipment: &Shipment, boxes: &Boxes, breaches: &mut Vec<Breach>) {
    let mut packed = vec![0_u64; shipment.lines.len()];
    for (line, _) in boxes {
        packed[*line] += 1;
    }
    for (line, packed) in shipment.lines.iter().zip(packed).filter(|(line, _)| case.packs(line)) {
        let due = line.boxes();
        if packed != due.0 {
            let kit = &case.instance.kits[line.kit.index()].name;
            let message = format!("{} has {packed} boxes of {kit}, {due} are due", shipment.name);
            breaches.push(Breach::of(Rule::Pack, message).shipment(&shipment.name));
        }
    }
}

/// When how many of each part become usable, by shipment, in order of time.
fn supply(case: &Case) -> Vec<BTreeMap<PartId, Vec<(Instant, u128)>>> {
    let mut supply = vec![BTreeMap::new(); case.instance.shipments.len()];
    for grant in &case.book.grants {
        if let (Some(shipment), Some(part), Some(usable)) =
            (grant.shipment, grant.part, case.book.usable(case.instance, grant))
        {
            let arrivals: &mut Vec<_> = supply[shipment.index()].entry(part).or_default();
            arrivals.push((usable, u128::from(grant.row.count.0)));
        }
    }
    for arrivals in supply.iter_mut().flat_map(BTreeMap::values_mut) {
        arrivals.sort_unstable();
        let mut total = 0;
        for (_, count) in arrivals {
            total += *count;
            *count = total;
        }
    }
    supply
}

fn contents(
    case: &Case,
    shipment: &Shipment,
    mut boxes: Boxes,
    supply: BTreeMap<PartId, Vec<(Instant, u128)>>,
    breaches: &mut Vec<Breach>,
) {
    boxes.sort_by_key(|(line, duty)| (duty.span.from, *line));
    let mut started = vec![0_u64; shipment.lines.len()];
    let mut boxed = Parts::new();
    for (position, duty) in boxes {
        let line = &shipment.lines[position];
        let kits = kits_in_box(line, started[position]);
        started[position] += 1;
        let moment = duty.span.from;
        let mut missing = Vec::new();
        for (&part, &each) in case.demand.kit(line.kit).into_iter().flatten() {
            let needed = boxed.entry(part).or_default();
            *needed = needed.saturating_add(each.saturating_mul(kits.into()));
            let usable = supply.get(&part).map_or(0, |arrivals| usable_at(arrivals, moment));
            if usable < *needed {
                missing.push(format!("{needed} of {} are needed by then, {usable} are usable", case.part(part)));
            }
        }
        if !missing.is_empty() {
            let kit = &case.instance.kits[line.kit.index()].name;
            let message = format!(
                "box {} of {kit} for {} is packed {}: {}",
                started[position],
                shipment.name,
                case.at(moment),
                missing.join(", ")
            );
            breaches.push(about(Rule::Pack, duty, message));
        }
    }
}

/// How many kits are in the box after so many of the row's.
fn kits_in_box(line: &ShipmentLine, before: u64) -> u64 {
    let per_box = line.per_box.map_or(0, |per_box| per_box.0);
    line.quantity.0.saturating_sub(per_box.saturating_mul(before)).min(per_box)
}

fn usable_at(arrivals: &[(Instant, u128)], moment: Instant) -> u128 {
    let there = arrivals.partition_point(|(usable, _)| *usable <= moment);
    there.checked_sub(1).and_then(|last| arrivals.get(last)).map_or(0, |(_, total)| *total)
}
