//! Why dates cannot be kept, or no plan exists: the dates and rules that contradict each other.
//!
//! The due dates, the end of the horizon, and those rules and circumstances of the farm that somebody could decide
//! otherwise are taken for claims. A set of them that cannot hold together, by proof, is then made as small as it can be
//! (`wishes.rs`). Proofs are prices, and in the smallest rooms a complete search, which says as well what
//! can be granted. A plan with some dates late is of use here: it keeps all the others, and every rule.

use super::Planner;
use super::meet::in_minutes;
use super::wishes::{Contradiction, Size, Verdict, contradiction};
use crate::complete;
use crate::problem::Problem;
use platewright_model::instance::ShipmentId;
use platewright_model::{Count, Instance, Instant, Plan};

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

/// The claims that contradict each other, where that is proven: due dates together with rules where a plan has dates
/// late, the end of the horizon with them where no plan exists.
pub fn clash(planner: &Planner<'_>, instance: &Instance, late: Option<&Plan>) -> Option<Contradiction<Claim>> {
    let claims = claims(instance, late.is_none());
    let positions = |set: &[usize]| set.iter().filter_map(|&at| claims.get(at)).cloned().collect::<Vec<Claim>>();
    let holds = |claim: &Claim, plan: &Plan| match claim {
        Claim::Ready(id, by) => plan.shipments.get(id.index()).is_some_and(|s| s.ready <= *by),
        _ => true,
    };
    let granted: Vec<usize> = match late {
        Some(plan) => (0..claims.len()).filter(|&at| holds(&claims[at], plan)).collect(),
        None => Vec::new(),
    };
    let mut ask = |set: &[usize]| {
        (planner.progress)("which wishes contradict", None);
        if planner.is_over() { Verdict::Open } else { verdict(planner, instance, &positions(set)) }
    };
    let Contradiction { wishes, size } = contradiction(claims.len(), &granted, &mut ask)?;
    // Once time is up nothing more is asked.
    let size = if planner.is_over() { Size::Irreducible } else { size };
    Some(Contradiction { wishes: positions(&wishes), size })
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

/// Whether a plan can have all of these.
fn verdict(planner: &Planner<'_>, instance: &Instance, kept: &[Claim]) -> Verdict {
    let mut asked = instance.clone();
    let has = |claim: &dyn Fn(&Claim) -> bool| kept.iter().any(claim);
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
        return Verdict::Impossible;
    }
    let dated: Vec<usize> = (0..deadlines.len()).filter(|&of| deadlines[of].is_some()).collect();
    if dated.is_empty() {
        return Verdict::Granted;
    }
    if asked.printers.len() > FEW_PRINTERS {
        return Verdict::Open;
    }
    // Shipments without a date would only be in the way of a complete search.
    let problem = problem.only(&dated);
    let found = complete::search(&problem, false, None, STATES, &|| planner.is_over());
    let late = found.best.map(|best| best.merit(&problem, false).late);
    match late {
        _ if found.late_bound > 0 => Verdict::Impossible,
        // What is not late here keeps every rule but those that the search does not know.
        Some(0) if problem.confidence.is_none() && problem.orders.iter().all(|o| o.after.is_none()) => Verdict::Granted,
        Some(0) => Verdict::Open,
        _ if found.proven => Verdict::Impossible,
        _ => Verdict::Open,
    }
}
