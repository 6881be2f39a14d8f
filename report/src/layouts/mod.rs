//! Plates worth cutting: what other counts of a part would take, and what they would mean for the room.
//!
//! The known plates of a part on a group, those that hold nothing else, give a line of minutes over copies ([`fit`]).
//! Every count that closes a bag in whole plates, up to the largest that is known or that the bed holds, is then held
//! against the room's usual day and night ([`room`]). Handling minutes follow the known plates the same way, since fifty
//! clips take longer to clear than one body; cooling and failure rate are those of the known plate nearest in count.

pub mod fit;
pub mod gain;
mod page;
pub mod room;

pub use page::studies_section;

use fit::{Fit, Unfit};
use platewright_model::instance::{GroupId, PartId, PlateOnGroup};
use platewright_model::{Count, Instance, Minutes, kits};
use room::UsualDay;
use std::collections::BTreeMap;

/// Without a bag to close, at most so many counts are looked at.
const COUNTS_WITHOUT_BAG: u64 = 12;

/// How many copies may be looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Most {
    /// As many as the largest known plate of the group holds.
    #[default]
    Known,
    /// So many, whatever is known.
    Copies(u64),
}

/// Copies of one size in straight rows on a bed, turned by a right angle or not, whichever holds more.
///
/// Sizes in millimetres; a copy's size includes the gap to its neighbour. 0 where a size is not above 0.
pub fn on_bed(bed: (f64, f64), copy: (f64, f64)) -> u64 {
    // Two sixths are a third, but for the last bit.
    let fit = |room: f64, size: f64| if room > 0.0 && size > 0.0 { (room / size + 1e-9).floor() as u64 } else { 0 };
    let rows = |(w, d): (f64, f64)| fit(bed.0, w).saturating_mul(fit(bed.1, d));
    rows(copy).max(rows((copy.1, copy.0)))
}

/// What is known, fitted and possible for one part on one group.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// Which part.
    pub part: PartId,
    /// On which printers.
    pub group: GroupId,
    /// Names, copies and minutes of the known plates that hold only this part, by copies.
    pub known: Vec<(String, u64, Minutes)>,
    /// The line through them.
    pub fit: Result<Fit, Unfit>,
    /// The counts looked at, ascending; empty without a line.
    pub layouts: Vec<Layout>,
}

/// One count of copies on a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The known plate's name; none for a layout that has yet to be cut.
    pub plate: Option<String>,
    /// How many copies; all of them are lost when the plate fails.
    pub copies: u64,
    /// Printing time, known or fitted and rounded up.
    pub minutes: Minutes,
    /// Fewer or more copies than any known plate holds: the line is stretched beyond what it was fitted to.
    pub stretched: bool,
    /// Cooling time.
    pub cool: Minutes,
    /// Operator minutes to load.
    pub load: Minutes,
    /// Operator minutes to harvest.
    pub harvest: Minutes,
    /// Share of runs that fail.
    pub failure_rate: f64,
}

impl Layout {
    /// From load start to harvest end where nothing waits.
    pub fn occupied(&self) -> Minutes {
        self.load + self.minutes + self.cool + self.harvest
    }

    /// Printer minutes that one copy occupies.
    pub fn per_part(&self) -> f64 {
        self.occupied().0 as f64 / self.copies as f64
    }

    /// How many such runs end one after the other within a usual staffed stretch.
    pub fn in_a_shift(&self, day: UsualDay) -> i64 {
        day.staffed.0 / self.occupied().0.max(1)
    }

    /// Printing minutes in a usual night when it is loaded in the last minute of the shift; none where there is no
    /// night, or where the limits on unattended printing forbid it.
    pub fn in_a_night(&self, instance: &Instance, day: UsualDay) -> Option<Minutes> {
        let printed = day.night?.min(self.minutes);
        let rules = &instance.farm.unattended;
        let too_long = rules.max_minutes.is_some_and(|most| printed > most);
        (rules.allowed && rules.max_printers != Some(Count(0)) && !too_long).then_some(printed)
    }

    /// Harvests for a thousand copies.
    pub fn harvests_per_thousand(&self) -> u64 {
        1000_u64.div_ceil(self.copies)
    }
}

/// Studies every part and group that has a plate of that part alone, in the order of the tables; `only` these parts
/// where any are named.
pub fn studies(instance: &Instance, only: &[PartId], most: Most) -> Vec<Study> {
    let mut found = Vec::new();
    for (part, _) in (0..).map(PartId).zip(&instance.parts).filter(|(p, _)| only.is_empty() || only.contains(p)) {
        for (group, _) in (0..).map(GroupId).zip(&instance.groups) {
            found.extend(study(instance, part, group, most));
        }
    }
    found
}

fn study(instance: &Instance, part: PartId, group: GroupId, most: Most) -> Option<Study> {
    let mut alone: Vec<(&str, u64, &PlateOnGroup)> = instance
        .plates
        .iter()
        .filter_map(|plate| match plate.on(group)? {
            on if on.copies.len() == 1 => {
                on.copies.first().filter(|c| c.0 == part).map(|c| (plate.name.as_str(), c.1.0, on))
            }
            _ => None,
        })
        .collect();
    alone.sort_by_key(|known| known.1);
    let largest = alone.last()?.1;
    let known = alone.iter().map(|(name, copies, on)| ((*name).to_owned(), *copies, on.minutes)).collect();
    let fit = Fit::of(&alone.iter().map(|(_, copies, on)| (*copies, on.minutes.0)).collect::<Vec<_>>());
    let most = match most {
        Most::Known => largest,
        Most::Copies(most) => most,
    };
    let layouts = match &fit {
        Ok(fit) => counts(instance, part, most, &alone).into_iter().map(|n| layout(n, fit, &alone)).collect(),
        Err(_) => Vec::new(),
    };
    Some(Study { part, group, known, fit, layouts })
}

/// The counts worth a look: those that close a bag in whole plates; without a bag all, thinned out evenly; and those
/// of known plates that a farm may use.
fn counts(instance: &Instance, part: PartId, most: u64, alone: &[(&str, u64, &PlateOnGroup)]) -> Vec<u64> {
    let bag = instance.parts.get(part.index()).and_then(|p| p.per_bag).map(|bag| bag.0);
    let mut counts: Vec<u64> = match bag {
        Some(bag) => (1..=most.min(bag)).filter(|n| bag.is_multiple_of(*n)).collect(),
        None if most <= COUNTS_WITHOUT_BAG => (1..=most).collect(),
        None => (1..=COUNTS_WITHOUT_BAG).map(|n| (most * n).div_ceil(COUNTS_WITHOUT_BAG)).collect(),
    };
    let usable = |n: u64| !instance.farm.whole_plates_per_bag || bag.is_none_or(|bag| bag.is_multiple_of(n));
    counts.extend(alone.iter().map(|known| known.1).filter(|n| *n <= most && usable(*n)));
    counts.sort_unstable();
    counts.dedup();
    counts
}

fn layout(copies: u64, fit: &Fit, alone: &[(&str, u64, &PlateOnGroup)]) -> Layout {
    let nearest = alone.iter().min_by_key(|known| known.1.abs_diff(copies));
    let known = nearest.filter(|known| known.1 == copies);
    let line = |of: fn(&PlateOnGroup) -> Minutes| {
        let points: Vec<(u64, i64)> = alone.iter().map(|known| (known.1, of(known.2).0)).collect();
        let least = points.iter().map(|p| p.1).min().unwrap_or(0);
        match Fit::of(&points) {
            Ok(fit) => Minutes(fit.minutes(copies).max(least)),
            Err(_) => Minutes(points.iter().map(|p| p.1).max().unwrap_or(0)),
        }
    };
    let ends = (alone.first().map_or(0, |k| k.1), alone.last().map_or(0, |k| k.1));
    Layout {
        plate: known.map(|known| known.0.to_owned()),
        copies,
        minutes: known.map_or_else(|| Minutes(fit.minutes(copies)), |known| known.2.minutes),
        stretched: copies < ends.0 || copies > ends.1,
        cool: nearest.map_or(Minutes::ZERO, |known| known.2.cool),
        load: known.map_or_else(|| line(|on| on.load), |known| known.2.load),
        harvest: known.map_or_else(|| line(|on| on.harvest), |known| known.2.harvest),
        failure_rate: nearest.map_or(0.0, |known| known.2.failure_rate),
    }
}

/// The candidates as rows of `plates.csv`.
pub fn rows(instance: &Instance, candidates: &[&Candidate]) -> Vec<Vec<(&'static str, String)>> {
    let row = |candidate: &&Candidate| {
        let layout = &candidate.layout;
        vec![
            ("plate", candidate.plate.clone()),
            ("group", instance.groups.get(candidate.group.index()).cloned().unwrap_or_default()),
            ("part", instance.parts.get(candidate.part.index()).map(|p| p.name.clone()).unwrap_or_default()),
            ("copies", layout.copies.to_string()),
            ("minutes", layout.minutes.0.to_string()),
            ("cool_minutes", layout.cool.0.to_string()),
            ("load_minutes", layout.load.0.to_string()),
            ("harvest_minutes", layout.harvest.0.to_string()),
            ("failure_rate", layout.failure_rate.to_string()),
        ]
    };
    candidates.iter().map(row).collect()
}

/// A plate that has yet to be cut, as rows of `plates.csv` say it.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its name: the part and the count, unless another plate has that.
    pub plate: String,
    /// The part it holds.
    pub part: PartId,
    /// The printers it is for.
    pub group: GroupId,
    /// What it is.
    pub layout: Layout,
}

/// The layouts that no known plate is, where the shipments need the part, with names of their own.
pub fn candidates(instance: &Instance, studies: &[Study]) -> Vec<Candidate> {
    let needed = needed(instance);
    let mut taken: BTreeMap<String, (PartId, u64)> = BTreeMap::new();
    let mut found = Vec::new();
    for study in studies.iter().filter(|s| needed.contains_key(&s.part)) {
        let part = instance.parts.get(study.part.index()).map_or("", |p| p.name.as_str());
        for layout in study.layouts.iter().filter(|l| l.plate.is_none()) {
            let what = (study.part, layout.copies);
            let free = |name: &str, taken: &BTreeMap<String, (PartId, u64)>| {
                taken.get(name).is_none_or(|other| *other == what) && may_be_named(instance, name, what)
            };
            let plain = format!("{part}-{}", layout.copies);
            let name = std::iter::once(plain.clone())
                .chain((2_u64..).map(|n| format!("{plain}-{n}")))
                .find(|name| free(name, &taken))
                .unwrap_or(plain);
            taken.insert(name.clone(), what);
            found.push(Candidate { plate: name, part: study.part, group: study.group, layout: layout.clone() });
        }
    }
    found
}

/// A plate of that name may be on other groups already, with the same copies of the same part.
fn may_be_named(instance: &Instance, name: &str, (part, copies): (PartId, u64)) -> bool {
    let same = |on: &PlateOnGroup| on.copies == [(part, Count(copies))];
    instance.plates.iter().find(|p| p.name == name).is_none_or(|plate| plate.on_groups.iter().all(same))
}

/// Copies of each part that all shipments need together.
fn needed(instance: &Instance) -> BTreeMap<PartId, u64> {
    let mut needed = BTreeMap::new();
    for (id, _) in (0..).map(platewright_model::instance::ShipmentId).zip(&instance.shipments) {
        for (part, count) in kits::needs(instance, id) {
            *needed.entry(part).or_default() += count.0;
        }
    }
    needed
}

#[cfg(test)]
mod tests;
