//! What may be lost of an order to failed plates and rejected copies, and how much more would cover it.
//!
//! A plate fails whole, taking all its copies of the order along; of a plate that succeeds each copy is rejected by
//! itself. For each part the losses then have a mean and a variance, and the mean with 1.645 standard deviations covers
//! about nineteen cases of twenty, as if losses were normally distributed (a table of that distribution gives 1.645 for
//! 0.95). It is a margin, not a promise of a probability.

use crate::phases::Names;
use platewright_model::instance::PartId;
use platewright_model::plan::Source;
use platewright_model::{Instance, Plan};
use std::collections::{BTreeMap, HashMap};

/// Standard deviations above the mean that cover nineteen cases of twenty.
const COVER: f64 = 1.645;

/// What may be lost of one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// Copies lost on average.
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
}

impl Loss {
    /// Copies that cover about nineteen cases of twenty.
    pub fn cover(&self) -> u64 {
        (self.mean + COVER * self.variance.sqrt() - 1e-9).ceil().max(0.0) as u64
    }
}

/// What may be lost of each part that runs give to a shipment; parts that lose nothing are left out.
pub fn losses(instance: &Instance, plan: &Plan, shipment: &str) -> BTreeMap<PartId, Loss> {
    let names = Names::of(instance);
    let runs: HashMap<&str, _> = plan.runs.iter().map(|run| (run.run.as_str(), run)).collect();
    let parts: HashMap<&str, PartId> =
        (0..).map(PartId).zip(&instance.parts).map(|(id, part)| (part.name.as_str(), id)).collect();
    let mut losses: BTreeMap<PartId, Loss> = BTreeMap::new();
    for given in plan.allocation.iter().filter(|given| given.shipment == shipment) {
        let Source::Run(run) = &given.source else { continue };
        let plate = runs.get(run.as_str()).and_then(|run| names.plate_of(run));
        let (Some((_, _, plate)), Some(&part)) = (plate, parts.get(given.part.as_str())) else { continue };
        let rejected = instance.parts.get(part.index()).map_or(0.0, |p| p.reject_rate);
        let (count, failed) = (given.count.0 as f64, plate.failure_rate);
        let loss = losses.entry(part).or_insert(Loss { mean: 0.0, variance: 0.0 });
        loss.mean += count * (failed + (1.0 - failed) * rejected);
        // The variance within a plate that succeeds, and that between failing and succeeding.
        loss.variance += (1.0 - failed) * count * rejected * (1.0 - rejected);
        loss.variance += failed * (1.0 - failed) * (count * (1.0 - rejected)).powi(2);
    }
    losses.retain(|_, loss| loss.mean > 0.0);
    losses
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_plate_fails_whole_and_copies_are_rejected_one_by_one() {
        let mut instance = sample::instance();
        instance.plates[0].on_groups[0].failure_rate = 0.5;
        let losses = losses(&instance, &sample::plan(&instance), "shop");
        // Four cups of one run that fails every other time, else one of ten rejected: mean 2 + 0.2, variance
        // 0.5 x 0.36 + 0.25 x 3.6 x 3.6.
        let cups = losses[&PartId(0)];
        assert!((cups.mean - 2.2).abs() < 1e-12 && (cups.variance - 3.42).abs() < 1e-12, "{cups:?}");
        assert_eq!(cups.cover(), 6, "2.2 + 1.645 x 1.849");
        // Two runs of one base each fail one time in twenty.
        let bases = losses[&PartId(1)];
        assert!((bases.mean - 0.1).abs() < 1e-12 && (bases.variance - 0.095).abs() < 1e-12, "{bases:?}");
    }

    /// Binomial losses of single copies have the variance n p (1 - p), as any handbook says.
    #[test]
    fn rejects_alone_are_binomial() {
        let mut instance = sample::instance();
        instance.parts[0].reject_rate = 0.25;
        let loss = losses(&instance, &sample::plan(&instance), "shop")[&PartId(0)];
        assert_eq!((loss.mean, loss.variance), (1.0, 0.75));
    }

    #[test]
    fn a_shipment_that_is_not_there_loses_nothing() {
        let instance = sample::instance();
        assert!(losses(&instance, &sample::plan(&instance), "nobody").is_empty());
    }
}
