//! Bags, trays and boxes that were begun before a plan was made anew: their labels are on them, so they keep their
//! numbers.
//!
//! The plan remembers each with the pieces that were in it. What the new allocation still sends where those pieces went stays in it
//! under its number, as far as it was counted good; what is sent elsewhere now is taken out into a lot with a number of
//! the new plan. A bag that is not full goes on being filled, a tray until its day is over.

use super::fill::{Bin, Scoop, size};
use super::supply::{Destination, Supply};
use super::{Fill, Ledger, TooManyLots, ledger};
use chrono::NaiveDate;
use platewright_model::instance::{Part, ShipmentId};
use platewright_model::log::Event;
use platewright_model::plan::{Labelled, LabelledBox, LabelledLot, LabelledPieces, Source};
use platewright_model::{Instance, Instant, Plan};
use std::collections::HashSet;

/// What of a plan's ledger is begun by a moment, for the plan that is made anew from there.
///
/// # Errors
/// Too many lots.
pub fn labelled(instance: &Instance, plan: &Plan, at: Instant) -> Result<Labelled, TooManyLots> {
    let Ledger { lots, boxes, .. } = ledger(instance, plan)?;
    let harvested: HashSet<&str> = instance
        .log
        .iter()
        .filter(|entry| entry.at <= at && matches!(entry.event, Event::Harvested { .. }))
        .filter_map(|entry| entry.event.run())
        .collect();
    let is_in = |fill: &&Fill| match &fill.source {
        Source::Stock => fill.at <= at,
        Source::Run(run) => harvested.contains(run.as_str()),
    };
    let lots = lots.into_iter().filter_map(|lot| {
        let pieces: Vec<LabelledPieces> = lot
            .fills
            .iter()
            .filter(is_in)
            .flat_map(|fill| {
                fill.gives.iter().map(|give| LabelledPieces {
                    source: fill.source.name().to_owned(),
                    shipment: give.shipment.clone(),
                    count: give.count.0,
                })
            })
            .collect();
        (!pieces.is_empty()).then_some(LabelledLot { number: lot.id, part: lot.part, pieces })
    });
    let boxes = boxes.into_iter().filter_map(|packed| {
        let place = packed.number.filter(|_| packed.closes <= at)?.0;
        Some(LabelledBox { number: packed.id, shipment: packed.shipment, kit: packed.kit, place })
    });
    Ok(Labelled { lots: lots.collect(), boxes: boxes.collect() })
}

/// The begun bags and trays of a part, with their numbers; what is in them is taken out of the scoops.
pub(super) fn bins<'s>(
    instance: &Instance,
    plan: &Plan,
    part: &Part,
    scoops: &mut Vec<Scoop<'s>>,
) -> Vec<(String, Bin<'s>)> {
    let mut bins = Vec::new();
    for lot in plan.labelled.lots.iter().filter(|lot| lot.part == part.name) {
        let mut bin: Bin = Vec::new();
        for pieces in &lot.pieces {
            let destination = match &pieces.shipment {
                None => Some(Destination::Shelf),
                Some(name) => (0..).zip(&instance.shipments).find(|s| s.1.name == *name).map(|s| shipment(s.0)),
            };
            let source = |scoop: &Scoop| {
                scoop.supply.run.map_or(Some(Source::STOCK), |run| plan.runs.get(run).map(|run| run.run.as_str()))
            };
            let there = scoops.iter_mut().filter(|scoop| source(scoop) == Some(&pieces.source));
            for scoop in there {
                let Some(share) = scoop.shares.iter_mut().find(|share| Some(share.0) == destination) else { continue };
                let taken = share.1.min(pieces.count);
                share.1 -= taken;
                match bin.last_mut().filter(|last| std::ptr::eq(last.supply, scoop.supply)) {
                    Some(last) => last.shares.push((share.0, taken)),
                    None => bin.push(Scoop { supply: scoop.supply, shares: vec![(share.0, taken)] }),
                }
            }
        }
        bin.retain(|scoop| scoop.count() > 0);
        if !bin.is_empty() {
            bins.push((lot.number.clone(), bin));
        }
    }
    for scoop in scoops.iter_mut() {
        scoop.shares.retain(|share| share.1 > 0);
    }
    scoops.retain(|scoop| scoop.count() > 0);
    bins
}

fn shipment(id: u32) -> Destination {
    Destination::Shipment(ShipmentId(id))
}

/// The only one who gets pieces of a bin.
fn only_user(bin: &Bin) -> Option<Destination> {
    let mut users = bin.iter().flat_map(|scoop| &scoop.shares).map(|share| share.0);
    let first = users.next()?;
    users.all(|user| user == first).then_some(first)
}

/// Goes on filling bags, each with what comes next for those whose it is.
pub(super) fn top_up<'s>(begun: &mut [(String, Bin<'s>)], scoops: &mut Vec<Scoop<'s>>, capacity: u64) {
    for (_, bin) in begun {
        let Some(user) = only_user(bin) else { continue };
        for scoop in scoops.iter_mut() {
            let room = capacity.saturating_sub(size(bin));
            let Some(share) = scoop.shares.iter_mut().find(|share| share.0 == user) else { continue };
            let taken = room.min(share.1);
            if taken > 0 {
                share.1 -= taken;
                bin.push(Scoop { supply: scoop.supply, shares: vec![(user, taken)] });
            }
        }
        scoops.iter_mut().for_each(|scoop| scoop.shares.retain(|share| share.1 > 0));
        scoops.retain(|scoop| scoop.count() > 0);
    }
}

/// Goes on filling bags with plates of the count that is in them, for the same shipments.
pub(super) fn top_up_with_plates<'s>(begun: &mut [(String, Bin<'s>)], scoops: &mut Vec<Scoop<'s>>, capacity: u64) {
    for (_, bin) in begun {
        let Some((users, copies)) = bin.first().map(|first| (first.users(), first.count())) else { continue };
        let alike = |scoop: &Scoop| scoop.users() == users && scoop.count() == copies && scoop.supply.run.is_some();
        if !bin.iter().all(alike) {
            continue;
        }
        while size(bin) + copies <= capacity
            && let Some(next) = scoops.iter().position(alike)
        {
            bin.push(scoops.remove(next));
        }
    }
}

/// Goes on filling trays until their days are over.
pub(super) fn top_up_days<'s>(
    begun: &mut [(String, Bin<'s>)],
    scoops: &mut Vec<Scoop<'s>>,
    day: impl Fn(&Supply) -> NaiveDate,
) {
    for (_, bin) in begun {
        let Some((user, today)) = only_user(bin).zip(bin.first().map(|first| day(first.supply))) else { continue };
        for scoop in scoops.iter_mut().filter(|scoop| day(scoop.supply) == today) {
            let share = scoop.shares.iter().position(|share| share.0 == user);
            if let Some(share) = share.map(|at| scoop.shares.remove(at)) {
                bin.push(Scoop { supply: scoop.supply, shares: vec![share] });
            }
        }
        scoops.retain(|scoop| scoop.count() > 0);
    }
}
