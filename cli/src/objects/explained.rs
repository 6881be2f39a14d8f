//! The object of `explain`.

use super::{stamp, weighted};
use crate::commands::explain::words;
use platewright_model::{Instance, Plan};
use platewright_report::gains::Gain;
use platewright_report::why::{self, Chain};
use platewright_solver::decide::{Claim, Contradiction, Size};
use serde::Serialize;
use serde_json::Number;

/// What `explain --json` prints.
#[derive(Debug, Serialize)]
pub struct Explained {
    outcome: &'static str,
    makespan_minutes: Option<i64>,
    bound_minutes: Option<i64>,
    late_minutes: Option<Number>,
    reasons: Vec<String>,
    contradiction: Option<Vec<String>>,
    contradiction_size: Option<&'static str>,
    chains: Vec<ChainObject>,
    gains_from_makespan_minutes: Option<i64>,
    gains: Vec<GainObject>,
}

#[derive(Debug, Serialize)]
struct ChainObject {
    shipment: String,
    ready: String,
    last_part: Option<String>,
    last_run: Option<String>,
    printer: Option<String>,
    minutes: Vec<CauseObject>,
}

#[derive(Debug, Serialize)]
struct CauseObject {
    cause: &'static str,
    minutes: i64,
}

#[derive(Debug, Serialize)]
struct GainObject {
    change: String,
    makespan_minutes: i64,
    sooner_minutes: i64,
    less_late_minutes: Number,
    proven: bool,
    plan: String,
}

/// A plan that breaks rules.
pub fn broken() -> Explained {
    nothing("broken")
}

/// No plan, and the claims that contradict.
pub fn none(instance: &Instance, proven: bool, reasons: &[String], clash: Option<&Contradiction<Claim>>) -> Explained {
    let outcome = if proven { "infeasible" } else { "unknown" };
    Explained {
        reasons: reasons.to_vec(),
        contradiction: contradiction(instance, clash),
        contradiction_size: clash.map(size),
        ..nothing(outcome)
    }
}

/// A plan, why it ends when it does, and what more would gain.
///
/// Gains are counted from a plan of the farm as it is.
pub fn plan(
    instance: &Instance,
    plan: &Plan,
    clash: Option<&Contradiction<Claim>>,
    (from, gains): (&Plan, &[Gain<'_>]),
) -> Explained {
    let claims = &plan.claims;
    let last = plan.shipments.iter().map(|s| s.ready).max();
    let told = plan.shipments.iter().filter(|s| s.late.0 > 0 || Some(s.ready) == last);
    Explained {
        makespan_minutes: Some(claims.makespan.0),
        bound_minutes: Some(claims.bound.0),
        late_minutes: Some(weighted(claims.late)),
        reasons: claims.prices.clone(),
        contradiction: contradiction(instance, clash),
        contradiction_size: clash.map(size),
        chains: told
            .filter_map(|s| why::chain(instance, plan, &s.shipment))
            .map(|chain| chain_object(instance, chain))
            .collect(),
        gains_from_makespan_minutes: (!gains.is_empty()).then_some(from.claims.makespan.0),
        gains: gains.iter().map(|gain| gain_object(from, gain)).collect(),
        ..nothing(claims.outcome.word())
    }
}

fn nothing(outcome: &'static str) -> Explained {
    Explained {
        outcome,
        makespan_minutes: None,
        bound_minutes: None,
        late_minutes: None,
        reasons: Vec::new(),
        contradiction: None,
        contradiction_size: None,
        chains: Vec::new(),
        gains_from_makespan_minutes: None,
        gains: Vec::new(),
    }
}

fn contradiction(instance: &Instance, clash: Option<&Contradiction<Claim>>) -> Option<Vec<String>> {
    clash.map(|clash| clash.wishes.iter().map(|claim| words(instance, claim)).collect())
}

fn size(clash: &Contradiction<Claim>) -> &'static str {
    match clash.size {
        Size::Smallest => "smallest",
        Size::SmallestProvable => "smallest-provable",
        Size::Irreducible => "irreducible",
    }
}

fn chain_object(instance: &Instance, chain: Chain) -> ChainObject {
    let minutes = chain.by_cause();
    let last = chain.last;
    ChainObject {
        shipment: chain.shipment,
        ready: stamp(instance, chain.ready),
        last_part: last.as_ref().map(|last| last.part.clone()),
        last_run: last.as_ref().map(|last| last.run.clone()),
        printer: last.map(|last| last.printer),
        minutes: minutes.into_iter().map(|(cause, m)| CauseObject { cause: cause.words(), minutes: m.0 }).collect(),
    }
}

fn gain_object(base: &Plan, gain: &Gain<'_>) -> GainObject {
    let (late, sooner) = gain.over(base);
    GainObject {
        change: gain.words.clone(),
        makespan_minutes: gain.plan.claims.makespan.0,
        sooner_minutes: sooner.0,
        less_late_minutes: weighted(late),
        proven: gain.is_proven(base),
        plan: gain.folder.clone(),
    }
}
