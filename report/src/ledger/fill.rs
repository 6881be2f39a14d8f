//! Supplies poured into bags and trays.

use super::begun;
use super::supply::{Destination, Supply};
use super::{Fill, Give, Holder, Lot, MOST_LOTS, TooManyLots};
use chrono::NaiveDate;
use platewright_model::instance::Part;
use platewright_model::plan::Source;
use platewright_model::{Count, Instance, Plan};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// Some of a supply's pieces.
#[derive(Debug, Clone)]
pub(super) struct Scoop<'s> {
    pub(super) supply: &'s Supply,
    pub(super) shares: Vec<(Destination, u64)>,
}

impl<'s> Scoop<'s> {
    fn all(supply: &'s Supply) -> Scoop<'s> {
        Scoop { supply, shares: supply.shares.clone() }
    }

    pub(super) fn count(&self) -> u64 {
        self.shares.iter().map(|(_, count)| count).sum()
    }

    /// Who gets pieces of it.
    pub(super) fn users(&self) -> Vec<Destination> {
        self.shares.iter().map(|(destination, _)| *destination).collect()
    }

    /// Takes the first so many pieces off; the rest stays.
    pub(super) fn split_off(&mut self, count: u64) -> Scoop<'s> {
        let mut taken = Vec::new();
        let mut left = count;
        for (destination, there) in &mut self.shares {
            let take = left.min(*there);
            if take > 0 {
                taken.push((*destination, take));
                *there -= take;
                left -= take;
            }
        }
        self.shares.retain(|(_, count)| *count > 0);
        Scoop { supply: self.supply, shares: taken }
    }
}

/// What goes into one bag or tray.
pub(super) type Bin<'s> = Vec<Scoop<'s>>;

pub(super) fn size(bin: &Bin) -> u64 {
    bin.iter().map(Scoop::count).sum()
}

/// Every bag and tray, part by part, still without numbers.
pub(super) fn lots(instance: &Instance, plan: &Plan, supplies: &[Vec<Supply>]) -> Result<Vec<Lot>, TooManyLots> {
    let mut lots: Vec<Lot> = Vec::new();
    for (part, supplies) in instance.parts.iter().zip(supplies) {
        let mut scoops: Vec<Scoop> = supplies.iter().map(Scoop::all).collect();
        let mut begun = begun::bins(instance, plan, part, &mut scoops);
        let bins = match part.per_bag {
            Some(per_bag) if per_bag.0 > 0 => {
                let pieces: u64 = supplies.iter().map(Supply::count).sum();
                if pieces / per_bag.0 > MOST_LOTS {
                    return Err(TooManyLots);
                }
                if instance.farm.whole_plates_per_bag {
                    begun::top_up_with_plates(&mut begun, &mut scoops, per_bag.0);
                    whole_plates(&scoops, per_bag.0)
                } else {
                    begun::top_up(&mut begun, &mut scoops, per_bag.0);
                    by_destination(&scoops, |_| ()).into_values().flat_map(|s| pour(s, per_bag.0)).collect()
                }
            }
            _ => {
                let day = |supply: &Supply| instance.farm.clock.stamp(supply.at).date_naive();
                begun::top_up_days(&mut begun, &mut scoops, day);
                let days: BTreeMap<(Destination, NaiveDate), Vec<Scoop>> = by_destination(&scoops, day);
                days.into_values().flat_map(|scoops| pour(scoops, u64::MAX)).collect()
            }
        };
        let all = begun.into_iter().chain(bins.into_iter().map(|bin| (String::new(), bin)));
        lots.extend(all.filter_map(|(id, bin)| lot(instance, plan, part, bin).map(|lot| Lot { id, ..lot })));
        if lots.len() as u64 > MOST_LOTS {
            return Err(TooManyLots);
        }
    }
    Ok(lots)
}

/// Each destination's pieces, in order of harvest, parted once more by a key.
fn by_destination<'s, K: Ord>(
    scoops: &[Scoop<'s>],
    key: impl Fn(&Supply) -> K,
) -> BTreeMap<(Destination, K), Vec<Scoop<'s>>> {
    let mut parted: BTreeMap<(Destination, K), Vec<Scoop>> = BTreeMap::new();
    for scoop in scoops {
        for &share in &scoop.shares {
            let alone = Scoop { supply: scoop.supply, shares: vec![share] };
            parted.entry((share.0, key(scoop.supply))).or_default().push(alone);
        }
    }
    parted
}

/// Fills bins to the brim, one after the other.
fn pour(scoops: Vec<Scoop<'_>>, capacity: u64) -> Vec<Bin<'_>> {
    let mut bins: Vec<Bin> = Vec::new();
    let mut room = 0;
    for mut scoop in scoops {
        while scoop.count() > 0 {
            if room == 0 {
                bins.push(Vec::new());
                room = capacity;
            }
            let poured = scoop.split_off(room.min(scoop.count()));
            room -= poured.count();
            if let Some(bin) = bins.last_mut() {
                bin.push(poured);
            }
        }
    }
    bins
}

/// Bins that no plate is parted for, as the module's story says. A plate of more copies than a bag takes, which can only
/// have been on its printer at the start, and stock are counted out.
fn whole_plates<'s>(scoops: &[Scoop<'s>], capacity: u64) -> Vec<Bin<'s>> {
    let mut by_users: BTreeMap<Vec<Destination>, Vec<&Scoop<'s>>> = BTreeMap::new();
    for scoop in scoops {
        // Stock is counted anyway, so every shipment's is bagged by itself.
        if scoop.supply.run.is_some() {
            by_users.entry(scoop.users()).or_default().push(scoop);
        }
    }
    let mut counted = by_destination(scoops, |supply| supply.run.is_some());
    counted.retain(|(_, is_run), _| !is_run);
    for (destination, _) in counted.keys() {
        by_users.entry(vec![*destination]).or_default();
    }
    let mut bins = Vec::new();
    for (users, scoops) in by_users {
        let mut by_copies: BTreeMap<u64, Vec<Scoop>> = BTreeMap::new();
        let mut loose: Vec<Scoop> = match users[..] {
            [only] => counted.remove(&(only, false)).unwrap_or_default(),
            _ => Vec::new(),
        };
        for scoop in scoops {
            if scoop.count() > capacity {
                loose.push(scoop.clone());
            } else {
                by_copies.entry(scoop.count()).or_default().push(scoop.clone());
            }
        }
        let chunks = by_copies.into_iter().flat_map(|(copies, scoops)| {
            let plates = (capacity / copies) as usize;
            scoops.chunks(plates.max(1)).map(<[Scoop]>::to_vec).collect::<Vec<Bin>>()
        });
        let (full, left): (Vec<Bin>, Vec<Bin>) =
            chunks.chain(pour(loose, capacity)).partition(|bin| size(bin) == capacity);
        bins.extend(full);
        bins.extend(first_fit_decreasing(left, capacity));
    }
    bins
}

/// The largest first, each into the first bin with room.
fn first_fit_decreasing(mut left: Vec<Bin<'_>>, capacity: u64) -> Vec<Bin<'_>> {
    left.sort_by_key(|bin| Reverse(size(bin)));
    let mut bins: Vec<Bin> = Vec::new();
    for bin in left {
        match bins.iter_mut().find(|there| size(there) + size(&bin) <= capacity) {
            Some(there) => there.extend(bin),
            None => bins.push(bin),
        }
    }
    for bin in &mut bins {
        bin.sort_by_key(|scoop| (scoop.supply.at, scoop.supply.run));
    }
    bins
}

fn lot(instance: &Instance, plan: &Plan, part: &Part, bin: Bin) -> Option<Lot> {
    let fills: Vec<Fill> = bin.into_iter().filter_map(|scoop| fill(instance, plan, part, &scoop)).collect();
    let (opens, closes) = (fills.iter().map(|fill| fill.at).min()?, fills.iter().map(|fill| fill.usable).max()?);
    let holder = if part.per_bag.is_some() { Holder::Bag } else { Holder::Tray };
    Some(Lot { id: String::new(), holder, part: part.name.clone(), capacity: part.per_bag, fills, opens, closes })
}

fn fill(instance: &Instance, plan: &Plan, part: &Part, scoop: &Scoop) -> Option<Fill> {
    let (source, usable) = match scoop.supply.run {
        None => (Source::Stock, scoop.supply.at),
        Some(at) => (Source::Run(plan.runs.get(at)?.run.clone()), scoop.supply.at + part.finish),
    };
    let gives = scoop.shares.iter().map(|(destination, count)| Give {
        shipment: match destination {
            Destination::Shipment(id) => instance.shipments.get(id.index()).map(|shipment| shipment.name.clone()),
            Destination::Shelf => None,
        },
        count: Count(*count),
    });
    let whole = scoop.supply.run.is_some() && scoop.count() == scoop.supply.count();
    Some(Fill { source, gives: gives.collect(), whole, at: scoop.supply.at, usable })
}
