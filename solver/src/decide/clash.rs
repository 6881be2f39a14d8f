//! Why dates cannot be kept, or no plan exists: the dates and rules that contradict each other.
//!
//! The due dates, the end of the horizon, and those rules and circumstances of the farm that somebody could decide
//! otherwise are taken for claims. The deletion filter ([`super::contradiction`]) then leaves a set that cannot hold
//! together, by proof, and of which none can be left out without losing the proof.

use super::meet::in_minutes;
use super::{Planner, contradiction};
use crate::complete;
use crate::problem::Problem;
use platewright_model::instance::ShipmentId;
use platewright_model::{Count, Instance, Instant, WeightedMinutes};

/// A complete search for a proof looks at no more than so many states, in rooms of at most so many printers.
const STATES: u64 = 400_000;
const FEW_PRINTERS: usize = 6;

/// Something that is claimed of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Claim {
    /// Nothing prints with nobody there.
    Attended,
    /// At most so many printers print with nobody there.
    AtMost(Count),
    /// No run prints longer with nobody there.
    NoLonger(platewright_model::Minutes),
    /// Only plates that close a bag are used.
    WholeBags,
    /// Downtime is kept free.
    Downtime,
    /// No shift starts on the dates of `closures.csv`.
    Closures,
    /// Nothing loaded before its release goes into the shipment.
    Release(ShipmentId),
    /// The shipment is ready by a moment: its due date, or the end of the horizon.
    Ready(ShipmentId, Instant),
}

/// The claims that contradict each other, where that is proven: due dates together with rules where dates are late, the
/// end of the horizon with them where no plan exists (`within_horizon`).
pub fn clash(planner: &Planner<'_>, instance: &Instance, within_horizon: bool) -> Option<Vec<Claim>> {
    let claims = claims(instance, within_horizon);
    let mut impossible = |kept: &[usize]| {
        (planner.progress)("which wishes contradict", None);
        let kept: Vec<&Claim> = kept.iter().filter_map(|&claim| claims.get(claim)).collect();
        !planner.is_over() && is_impossible(planner, instance, &kept)
    };
    let left = contradiction(claims.len(), &mut impossible)?;
    Some(left.into_iter().filter_map(|claim| claims.get(claim).cloned()).collect())
}

/// Rules first, so that they are blamed only where dates alone are not enough; of dates the latest first.
fn claims(instance: &Instance, within_horizon: bool) -> Vec<Claim> {
    let rules = &instance.farm.unattended;
    let mut claims = Vec::new();
    let ids = || (0..).map(ShipmentId).zip(&instance.shipments);
    if !instance.closures.is_empty() {
        claims.push(Claim::Closures);
    }
    if !instance.downtime.is_empty() {
        claims.push(Claim::Downtime);
    }
    claims.extend(ids().filter(|(_, s)| s.release.is_some()).map(|(id, _)| Claim::Release(id)));
    if instance.farm.whole_plates_per_bag {
        claims.push(Claim::WholeBags);
    }
    if rules.allowed {
        claims.extend(rules.max_minutes.map(Claim::NoLonger));
        claims.extend(rules.max_printers.map(Claim::AtMost));
    } else {
        claims.push(Claim::Attended);
    }
    let end = instance.farm.horizon_end();
    let by = |due: Option<Instant>| if within_horizon { Some(end) } else { due };
    let mut dates: Vec<(ShipmentId, Instant)> = ids().filter_map(|(id, s)| Some((id, by(s.due)?))).collect();
    dates.sort_by_key(|&(id, at)| std::cmp::Reverse((at, id)));
    claims.extend(dates.into_iter().map(|(id, at)| Claim::Ready(id, at)));
    claims
}

/// Whether it is proven that no plan has all of these.
fn is_impossible(planner: &Planner<'_>, instance: &Instance, kept: &[&Claim]) -> bool {
    let mut asked = instance.clone();
    let has = |claim: &dyn Fn(&Claim) -> bool| kept.iter().any(|kept| claim(kept));
    if !has(&|claim| *claim == Claim::Attended) {
        asked.farm.unattended.allowed = true;
    }
    if !has(&|claim| matches!(claim, Claim::AtMost(_))) {
        asked.farm.unattended.max_printers = None;
    }
    if !has(&|claim| matches!(claim, Claim::NoLonger(_))) {
        asked.farm.unattended.max_minutes = None;
    }
    asked.farm.whole_plates_per_bag &= has(&|claim| *claim == Claim::WholeBags);
    if !has(&|claim| *claim == Claim::Downtime) {
        asked.downtime.clear();
    }
    if !has(&|claim| *claim == Claim::Closures) {
        asked.closures.clear();
    }
    let mut deadlines = vec![None; asked.shipments.len()];
    for (id, shipment) in (0..).map(ShipmentId).zip(&mut asked.shipments) {
        if !has(&|claim| *claim == Claim::Release(id)) {
            shipment.release = None;
        }
        shipment.due = kept.iter().find_map(|claim| match claim {
            Claim::Ready(of, at) if *of == id => Some(*at),
            _ => None,
        });
        deadlines[id.index()] = shipment.due;
    }
    let problem = Problem::new(&asked);
    if planner.excludes(&problem, &in_minutes(&problem, &deadlines)) {
        return true;
    }
    // Shipments without a date would only be in the way of a complete search.
    asked.shipments.retain(|shipment| shipment.due.is_some());
    if asked.printers.len() > FEW_PRINTERS || asked.shipments.is_empty() {
        return false;
    }
    let problem = Problem::new(&asked);
    let found = complete::search(&problem, false, None, STATES, &|| planner.is_over());
    let late = WeightedMinutes(found.late_bound) > WeightedMinutes::ZERO;
    late || (found.proven && found.best.is_none_or(|best| best.merit(&problem, false).late > 0))
}
