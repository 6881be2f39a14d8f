//! SPARES: with a confidence, the copies that a shipment is given suffice with that chance.
//!
//! A run's plate fails whole at its `failure_rate`; on one that does not, each copy is rejected at the part's
//! `reject_rate` by itself; stock is good. The chance counted is that of all parts of the shipment together, from the
//! rows of the plan's allocation, kit copies and spares alike:
//!
//! 1. Take a part and the runs that give the shipment only this one. Runs of equal failure rate and equal copies are
//!    one lot, of which a binomial number fails; the lots together give the distribution of *failed copies*. Whatever is
//!    left, with the copies from plates known to have succeeded, loses a binomial number of rejects. So the chance that
//!    the part suffices, given `m` copies from such plates, is a sum over failed copies of binomial sums ([`Part::chance`]).
//! 2. Runs that give the shipment several parts tie these together. Equal ones again are one lot; every way in which some
//!    of each lot succeed is weighed with its chance, and given it the parts are independent ([`together`]).
//!
//! In a plan made anew in mid-week, part of the dice has fallen: a run that the log has taken off by the plan's `since`
//! gives what was counted, for certain, as stock does. Whatever prints then or is loaded later is at risk like any other.
//!
//! Where there are more than [`WAYS`] such ways, each part is taken with all its runs for itself and the chances are
//! multiplied, which is never more than the chance counted jointly: plates that fail together only help (Harris 1960).
//!
//! All terms are 0 or more, so rounding is relative and small: below 1e-9 for a million copies. A chance short of the
//! confidence by no more than [`SLIGHT`] passes. Spares beyond [`SPARES_TOLD_APART`] of one part are not counted, which
//! makes a chance lower, never higher.
//!
//! Spares have to be there in time: one that is usable after the last copy that the shipment takes of its part could
//! stand in for nothing, since the shipment is promised for that minute.

use crate::book::Giver;
use crate::breach::Breach;
use crate::case::Case;
use platewright_model::instance::{PartId, ShipmentId};
use platewright_model::{Instant, Rule};
use std::collections::{BTreeMap, HashMap};

const SLIGHT: f64 = 1e-8;
const WAYS: u64 = 200_000;
const SPARES_TOLD_APART: u64 = 200_000;
const NEGLIGIBLE: f64 = 1e-20;

pub(super) fn spares(case: &Case) -> Vec<Breach> {
    let mut breaches = in_time(case);
    let Some(asked) = case.instance.farm.spares else { return breaches };
    for (id, shipment) in (0..).map(ShipmentId).zip(&case.instance.shipments) {
        // What is not given at all is ALLOCATION's to tell.
        let Some(given) = Given::to(case, id) else { continue };
        let chance = given.chance();
        if chance < asked.confidence - SLIGHT {
            let weakest = given
                .parts
                .iter()
                .map(|part| (part.alone(&given.shared), case.part(part.id)))
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .map(|(alone, part)| format!("; {part} alone: {}", percent(alone)));
            let message = format!(
                "what {} is given suffices with a chance of {}, {} is asked for{}",
                shipment.name,
                percent(chance),
                percent(asked.confidence),
                weakest.unwrap_or_default()
            );
            breaches.push(Breach::of(Rule::Spares, message).shipment(&shipment.name));
        }
    }
    breaches
}

/// Percent, rounded down to a thousandth of one, without idle zeros.
fn percent(chance: f64) -> String {
    let thousandths = (chance * 100_000.0 + 1e-6).floor() / 1000.0;
    format!("{thousandths} %")
}

/// Spares that come too late to be of use, or that nobody needs.
fn in_time(case: &Case) -> Vec<Breach> {
    let mut last: BTreeMap<(ShipmentId, PartId), Instant> = BTreeMap::new();
    let rows =
        || case.book.grants.iter().filter_map(|g| Some((g, g.shipment?, g.part?, case.book.usable(case.instance, g)?)));
    for (_, shipment, part, usable) in rows().filter(|r| r.0.row.count.0 > 0) {
        let latest = last.entry((shipment, part)).or_insert(usable);
        *latest = usable.max(*latest);
    }
    let mut breaches = Vec::new();
    for (grant, shipment, part, usable) in rows().filter(|r| r.0.row.spare.0 > 0) {
        let (part_name, to) = (case.part(part), &grant.row.shipment);
        let message = match last.get(&(shipment, part)) {
            None => format!("spare {part_name} is kept for {to}, which takes none"),
            Some(&latest) if usable > latest => format!(
                "spare {part_name} for {to} is usable {}, after the last that it takes, {}",
                case.at(usable),
                case.at(latest)
            ),
            Some(_) => continue,
        };
        let breach = Breach::of(Rule::Spares, message).shipment(to);
        breaches.push(match grant.source {
            Giver::Run(position) => match case.book.runs.get(position) {
                Some(run) => breach.run(&run.row.run).printer(&run.row.printer),
                None => breach,
            },
            Giver::Stock | Giver::Unknown => breach,
        });
    }
    breaches
}

/// Everything that one shipment is given, from the side of what can be lost.
struct Given {
    parts: Vec<Part>,
    shared: Vec<SharedLot>,
}

/// One part of a shipment.
struct Part {
    id: PartId,
    /// Its position in [`Given::parts`].
    place: usize,
    /// Copies needed beyond those that are there for certain.
    need: u64,
    reject_rate: f64,
    /// Runs that give the shipment nothing else: how many, by the bits of their failure rate and their copies.
    lots: BTreeMap<(u64, u64), u64>,
}

/// Equal runs that give the shipment several parts.
struct SharedLot {
    failure_rate: f64,
    /// Copies by position in [`Given::parts`].
    copies: Vec<u64>,
    runs: u64,
}

impl Given {
    /// Nothing where the shipment does not get what it needs.
    fn to(case: &Case, id: ShipmentId) -> Option<Given> {
        let needs = case.demand.shipment(id.index())?;
        let place: HashMap<PartId, usize> =
            needs.iter().filter(|n| *n.1 > 0).enumerate().map(|(at, n)| (*n.0, at)).collect();
        let mut taken = vec![0_u128; place.len()];
        let mut certain = vec![0_u128; place.len()];
        let mut by_run: BTreeMap<usize, Vec<u128>> = BTreeMap::new();
        for grant in case.book.grants.iter().filter(|g| g.shipment == Some(id)) {
            let Some(&at) = grant.part.and_then(|part| place.get(&part)) else { continue };
            let (count, spare) = (u128::from(grant.row.count.0), u128::from(grant.row.spare.0));
            taken[at] += count;
            match grant.source {
                Giver::Stock => certain[at] += count + spare,
                Giver::Run(position) => match &case.book.runs.get(position)?.good {
                    // No more than were counted, whatever a damaged plan says.
                    Some(good) => {
                        let counted = good.iter().find(|(part, _)| Some(*part) == grant.part);
                        certain[at] += (count + spare).min(counted.map_or(0, |(_, good)| u128::from(good.0)));
                    }
                    None => by_run.entry(position).or_insert_with(|| vec![0; place.len()])[at] += count + spare,
                },
                Giver::Unknown => {}
            }
        }
        let mut parts = Vec::with_capacity(place.len());
        for ((&part, &need), (taken, certain)) in needs.iter().filter(|n| *n.1 > 0).zip(taken.iter().zip(&certain)) {
            if *taken != need {
                return None;
            }
            let need = u64::try_from(need.saturating_sub(*certain)).ok()?;
            let reject_rate = case.instance.parts[part.index()].reject_rate;
            parts.push(Part { id: part, place: parts.len(), need, reject_rate, lots: BTreeMap::new() });
        }
        let mut shared: BTreeMap<(u64, Vec<u64>), u64> = BTreeMap::new();
        for (position, given) in by_run {
            let run = case.book.runs.get(position)?;
            let bits = run.as_if_on.map_or(0.0, |on| on.failure_rate).to_bits();
            // No more than the plate holds counts, whatever a damaged plan says.
            let held = |at: usize| {
                let on_plate = run.copies().iter().find(|(part, _)| *part == parts[at].id);
                given[at].min(on_plate.map_or(0, |(_, copies)| u128::from(copies.0))) as u64
            };
            let copies: Vec<u64> = (0..parts.len()).map(held).collect();
            let mut several = copies.iter().enumerate().filter(|c| *c.1 > 0);
            match (several.next(), several.next()) {
                (Some((at, &copies)), None) => *parts[at].lots.entry((bits, copies)).or_default() += 1,
                (Some(_), Some(_)) => *shared.entry((bits, copies.clone())).or_default() += 1,
                (None, _) => {}
            }
        }
        let shared = shared.into_iter().map(|((bits, copies), runs)| SharedLot {
            failure_rate: f64::from_bits(bits),
            copies,
            runs,
        });
        Some(Given { parts, shared: shared.collect() })
    }

    /// The chance that all parts suffice.
    fn chance(&self) -> f64 {
        let ways = self.shared.iter().try_fold(1_u64, |ways, lot| ways.checked_mul(lot.runs + 1));
        if ways.is_none_or(|ways| ways > WAYS) {
            return self.parts.iter().map(|part| part.alone(&self.shared)).product();
        }
        let given = |part: &Part| part.by_itself(&self.shared).copies();
        let failed: Vec<Vec<f64>> = self.parts.iter().map(|part| part.failed_copies(given(part))).collect();
        let mut known: Vec<HashMap<u64, f64>> = vec![HashMap::new(); self.parts.len()];
        together(&self.shared, 1.0, &mut vec![0; self.parts.len()], &mut |weight, sure| {
            let mut chance = weight;
            for (at, part) in self.parts.iter().enumerate() {
                chance *= *known[at].entry(sure[at]).or_insert_with(|| part.chance(&failed[at], sure[at]));
            }
            chance
        })
    }
}

/// Sums over all ways in which plates of the lots succeed; `sure` holds the copies on those that did.
fn together(lots: &[SharedLot], weight: f64, sure: &mut Vec<u64>, of_way: &mut dyn FnMut(f64, &[u64]) -> f64) -> f64 {
    let Some((lot, others)) = lots.split_first() else { return of_way(weight, sure) };
    let mut sum = 0.0;
    for (fail, chance) in binomial(lot.runs, lot.failure_rate).into_iter().enumerate() {
        if chance * weight < NEGLIGIBLE {
            continue;
        }
        let succeed = lot.runs - fail as u64;
        for (sure, copies) in sure.iter_mut().zip(&lot.copies) {
            *sure += succeed * copies;
        }
        sum += together(others, weight * chance, sure, of_way);
        for (sure, copies) in sure.iter_mut().zip(&lot.copies) {
            *sure -= succeed * copies;
        }
    }
    sum
}

impl Part {
    /// As if it shared nothing: its lots, with those that hold other parts too.
    fn by_itself(&self, shared: &[SharedLot]) -> Part {
        let mut lots = self.lots.clone();
        for lot in shared {
            let copies = lot.copies.get(self.place).copied().unwrap_or(0);
            if copies > 0 {
                *lots.entry((lot.failure_rate.to_bits(), copies)).or_default() += lot.runs;
            }
        }
        Part { lots, ..*self }
    }

    /// The chance that this part suffices, whatever becomes of the others.
    fn alone(&self, shared: &[SharedLot]) -> f64 {
        let part = self.by_itself(shared);
        part.chance(&part.failed_copies(part.copies()), 0)
    }

    /// Copies on the runs that hold nothing else.
    fn copies(&self) -> u64 {
        self.lots.iter().fold(0, |sum: u64, (lot, runs)| sum.saturating_add(lot.1.saturating_mul(*runs)))
    }

    /// The chances of 0, 1, 2 … copies lost with their plates, as far as `given` copies in all can bear it.
    fn failed_copies(&self, given: u64) -> Vec<f64> {
        let most = given.saturating_sub(self.need).min(SPARES_TOLD_APART) as usize;
        let mut lost = vec![1.0];
        for (&(bits, copies), &runs) in &self.lots {
            let mut sum = vec![0.0; most + 1];
            for (fail, chance) in binomial(runs, f64::from_bits(bits)).into_iter().enumerate() {
                let of_these = (fail as u64).saturating_mul(copies);
                if of_these > most as u64 {
                    break;
                }
                for (total, before) in sum.iter_mut().skip(of_these as usize).zip(&lost) {
                    *total += chance * before;
                }
            }
            lost = sum;
        }
        lost
    }

    /// The chance that this part suffices, given so many copies on plates known to have succeeded.
    fn chance(&self, failed: &[f64], sure: u64) -> f64 {
        let copies = self.copies().saturating_add(sure);
        let of_lost = failed.iter().enumerate().filter(|c| *c.1 > 0.0).map(|(lost, &chance)| {
            let left = copies.saturating_sub(lost as u64);
            let spare = left.checked_sub(self.need)?;
            Some(chance * no_more_than(spare, left, self.reject_rate))
        });
        of_lost.flatten().sum::<f64>().min(1.0)
    }
}

/// The chance of at most so many rejects among so many copies.
fn no_more_than(most: u64, copies: u64, rate: f64) -> f64 {
    binomial(copies, rate).iter().take(usize::try_from(most).unwrap_or(usize::MAX).saturating_add(1)).sum()
}

/// The chances of 0, 1, … losses out of `n`: from the likeliest number outwards, in shares of it, then of their sum.
fn binomial(n: u64, rate: f64) -> Vec<f64> {
    let odds = rate / (1.0 - rate);
    let likeliest = ((n as f64 + 1.0) * rate).min(n as f64).floor() as u64;
    let mut shares = std::collections::VecDeque::from([1.0]);
    let mut at = (likeliest, 1.0);
    while at.0 < n && at.1 > NEGLIGIBLE {
        at = (at.0 + 1, at.1 * odds * (n - at.0) as f64 / (at.0 + 1) as f64);
        shares.push_back(at.1);
    }
    at = (likeliest, 1.0);
    while at.0 > 0 && at.1 > NEGLIGIBLE {
        at = (at.0 - 1, at.1 / odds * at.0 as f64 / (n - at.0 + 1) as f64);
        shares.push_front(at.1);
    }
    let all: f64 = shares.iter().sum();
    let impossible = std::iter::repeat_n(0.0, at.0 as usize);
    impossible.chain(shares.into_iter().map(|share| share / all)).collect()
}

#[cfg(test)]
mod tests;
