//! What each source yields of a part, and who gets how much of it.

use crate::phases::Names;
use platewright_model::instance::{PartId, ShipmentId};
use platewright_model::plan::Source;
use platewright_model::{Count, Instance, Instant, Plan, past};
use std::collections::{BTreeMap, HashMap};

/// Who gets pieces: shipments first, then the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Destination {
    /// A shipment.
    Shipment(ShipmentId),
    /// Nobody yet.
    Shelf,
}

/// Pieces of one part from one source.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Supply {
    /// Position of the run in the plan; none: stock. In this order where two come off in one minute.
    pub run: Option<usize>,
    /// Which part.
    pub part: PartId,
    /// When they come off.
    pub at: Instant,
    /// Who gets how many, in order of destination, none of them 0.
    pub shares: Vec<(Destination, u64)>,
}

impl Supply {
    /// How many pieces.
    pub fn count(&self) -> u64 {
        self.shares.iter().map(|(_, count)| count).sum()
    }
}

/// All supplies, by part, each in the order in which they come off. What the log has counted by the moment of a plan made
/// anew is as much as was counted.
pub(super) fn supplies(instance: &Instance, plan: &Plan) -> Vec<Vec<Supply>> {
    let mut given = given(instance, plan);
    let mut supplies: Vec<Vec<Supply>> = vec![Vec::new(); instance.parts.len()];
    let mut add = |supply: Supply| {
        if supply.count() > 0
            && let Some(of_part) = supplies.get_mut(supply.part.index())
        {
            of_part.push(supply);
        }
    };
    for part in (0..).map(PartId).take(instance.parts.len()) {
        let shares = given.remove(&(None, part)).unwrap_or_default();
        add(Supply { run: None, part, at: instance.farm.start, shares: shares.into_iter().collect() });
    }
    let names = Names::of(instance);
    let counted = plan.since.and_then(|since| past::fates(instance, plan, since).ok()).map(|known| known.1);
    let good = |at: usize, part: PartId, copies: Count| {
        let ended = counted.as_ref().and_then(|fates| fates.get(at)?.ended.as_ref());
        match ended.map(|ended| &ended.good) {
            None => copies,
            Some(None) => Count(0),
            Some(Some(good)) => good.iter().find(|(of, _)| *of == part).map_or(Count(0), |(_, good)| *good),
        }
    };
    for (at, run) in plan.runs.iter().enumerate() {
        for &(part, copies) in names.plate_of(run).into_iter().flat_map(|(_, _, plate)| &plate.copies) {
            let copies = good(at, part, copies);
            let shares = given.remove(&(Some(at), part)).unwrap_or_default();
            let mut shares: Vec<(Destination, u64)> = shares.into_iter().collect();
            let taken: u64 = shares.iter().map(|(_, count)| count).sum();
            if taken < copies.0 {
                shares.push((Destination::Shelf, copies.0 - taken));
            }
            add(Supply { run: Some(at), part, at: run.harvest_to, shares });
        }
    }
    for of_part in &mut supplies {
        of_part.sort_by_key(|supply| (supply.at, supply.run));
    }
    supplies
}

type Given = HashMap<(Option<usize>, PartId), BTreeMap<Destination, u64>>;

/// The allocation, by source and part.
fn given(instance: &Instance, plan: &Plan) -> Given {
    let runs: HashMap<&str, usize> = plan.runs.iter().enumerate().map(|(at, run)| (run.run.as_str(), at)).collect();
    let parts: HashMap<&str, PartId> =
        (0..).zip(&instance.parts).map(|(i, part)| (part.name.as_str(), PartId(i))).collect();
    let shipments: HashMap<&str, ShipmentId> =
        (0..).zip(&instance.shipments).map(|(i, shipment)| (shipment.name.as_str(), ShipmentId(i))).collect();
    let mut given = Given::new();
    for row in plan.allocation.iter().filter(|row| row.count.0 > 0) {
        let source = match &row.source {
            Source::Stock => Some(None),
            Source::Run(run) => runs.get(run.as_str()).map(|at| Some(*at)),
        };
        let (Some(source), Some(&part), Some(&shipment)) =
            (source, parts.get(row.part.as_str()), shipments.get(row.shipment.as_str()))
        else {
            continue;
        };
        let of_source = given.entry((source, part)).or_default();
        let count = of_source.entry(Destination::Shipment(shipment)).or_default();
        *count = count.saturating_add(row.count.0);
    }
    given
}
