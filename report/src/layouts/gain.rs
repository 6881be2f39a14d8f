//! What other plates gain, told from two plans: those of before and those with the layouts that the engine chose.

use crate::layouts::page::listed;
use crate::phases::Names;
use platewright_model::instance::{GroupId, PartId};
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};
use std::collections::BTreeMap;

/// What a part was printed on before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartGain {
    /// Which part.
    pub part: PartId,
    /// Runs of plates that hold it by copies, before.
    pub before: BTreeMap<u64, usize>,
    /// The same after.
    pub after: BTreeMap<u64, usize>,
}

impl PartGain {
    /// Harvests that are no longer needed; negative where there are more.
    pub fn fewer_harvests(&self) -> i64 {
        self.before.values().sum::<usize>() as i64 - self.after.values().sum::<usize>() as i64
    }

    /// `cable-clip: 50-up instead of 25-up, 4 fewer harvests`.
    pub fn words(&self, instance: &Instance) -> String {
        let part = instance.parts.get(self.part.index()).map_or("", |p| p.name.as_str());
        let ups = |runs: &BTreeMap<u64, usize>, not: &BTreeMap<u64, usize>| {
            let own: Vec<String> = runs.keys().filter(|n| !not.contains_key(n)).map(|n| format!("{n}-up")).collect();
            listed(&own)
        };
        let (came, went) = (ups(&self.after, &self.before), ups(&self.before, &self.after));
        let what = match (came.as_str(), went.as_str()) {
            ("", "") => "the same plates, otherwise mixed".to_owned(),
            ("", went) => format!("no longer {went}"),
            (came, "") => format!("{came} as well"),
            (came, went) => format!("{came} instead of {went}"),
        };
        format!("{part}: {what}, {}.", harvests(self.fewer_harvests()))
    }
}

/// The parts whose mix of plates is another, in part order.
pub fn gains(before: (&Instance, &Plan), after: (&Instance, &Plan)) -> Vec<PartGain> {
    let (mut was, mut is) = (runs(before.0, before.1), runs(after.0, after.1));
    let parts = (0..).map(PartId).take(before.0.parts.len());
    parts
        .filter_map(|part| {
            let (before, after) = (was.remove(&part).unwrap_or_default(), is.remove(&part).unwrap_or_default());
            (before != after).then_some(PartGain { part, before, after })
        })
        .collect()
}

/// The names of plates, with the groups, that a plan runs.
pub fn plates_used(instance: &Instance, plan: &Plan) -> Vec<(String, GroupId)> {
    let names = Names::of(instance);
    let mut used: Vec<(String, GroupId)> =
        plan.runs.iter().filter_map(|run| Some((run.plate.clone(), names.plate_of(run)?.2.group))).collect();
    used.sort();
    used.dedup();
    used
}

/// What layouts are cut for, less being better: lateness, makespan, harvests. That a shipment before the last is ready sooner
/// is not worth cutting any.
pub fn worth(plan: &Plan) -> (WeightedMinutes, Minutes, u64) {
    (plan.claims.late, plan.claims.makespan, plan.claims.runs.0)
}

/// What the change is worth as a whole.
pub fn whole(before: &Plan, after: &Plan) -> String {
    let sooner = before.claims.makespan - after.claims.makespan;
    let late = WeightedMinutes(before.claims.late.0 - after.claims.late.0);
    let fewer = before.claims.runs.0 as i64 - after.claims.runs.0 as i64;
    let lateness = match late {
        WeightedMinutes::ZERO => String::new(),
        less => format!("weighted lateness falls by {}; ", Minutes(less.in_minutes().round() as i64)),
    };
    let ships = match sooner {
        Minutes::ZERO => "everything ships at the same minute".to_owned(),
        Minutes(later) if later < 0 => format!("everything ships {} later", Minutes(-later)),
        sooner => format!("everything ships {sooner} sooner"),
    };
    format!("{lateness}{ships}, with {}", harvests(fewer))
}

fn harvests(fewer: i64) -> String {
    match fewer {
        0 => "as many harvests".to_owned(),
        1 => "1 fewer harvest".to_owned(),
        -1 => "1 more harvest".to_owned(),
        less if less > 0 => format!("{less} fewer harvests"),
        more => format!("{} more harvests", -more),
    }
}

fn runs(instance: &Instance, plan: &Plan) -> BTreeMap<PartId, BTreeMap<u64, usize>> {
    let names = Names::of(instance);
    let mut runs: BTreeMap<PartId, BTreeMap<u64, usize>> = BTreeMap::new();
    for (_, _, on) in plan.runs.iter().filter_map(|run| names.plate_of(run)) {
        for (part, copies) in &on.copies {
            *runs.entry(*part).or_default().entry(copies.0).or_default() += 1;
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use platewright_model::Count;

    #[test]
    fn other_plates_are_told_with_the_harvests_they_save() {
        let instance = sample::instance();
        let before = sample::plan(&instance);
        let mut after = before.clone();
        after.runs.pop();
        after.runs[0].plate = "cup-9".into();
        let told: Vec<String> =
            gains((&instance, &before), (&instance, &after)).iter().map(|g| g.words(&instance)).collect();
        assert_eq!(
            told,
            [
                "cup: 9-up instead of 4-up, as many harvests.",
                "base: the same plates, otherwise mixed, 1 fewer harvest."
            ]
        );
        assert_eq!(
            plates_used(&instance, &after),
            [("base-1".to_owned(), GroupId(1)), ("cup-9".to_owned(), GroupId(0))]
        );
    }

    #[test]
    fn layouts_are_worth_dates_and_then_harvests_alone() {
        let instance = sample::instance();
        let known = sample::plan(&instance);
        let mut other = known.clone();
        other.shipments[0].ready = other.shipments[0].ready - Minutes(60);
        assert_eq!(worth(&other), worth(&known), "ready sooner before the last");
        other.claims.runs = Count(known.claims.runs.0 + 1);
        assert!(worth(&known) < worth(&other), "a harvest more");
        other.claims.makespan = known.claims.makespan - Minutes(1);
        assert!(worth(&other) < worth(&known), "all sooner, for a harvest more");
    }

    #[test]
    fn the_whole_is_told_in_time_and_harvests() {
        let instance = sample::instance();
        let before = sample::plan(&instance);
        let mut after = before.clone();
        assert_eq!(whole(&before, &after), "everything ships at the same minute, with as many harvests");
        after.claims.makespan = before.claims.makespan - Minutes(360);
        after.claims.runs = Count(2);
        assert_eq!(whole(&before, &after), "everything ships 6 h sooner, with 1 fewer harvest");
        assert_eq!(whole(&after, &before), "everything ships 6 h later, with 1 more harvest");
        after.claims.late = WeightedMinutes(-60_000);
        assert!(whole(&before, &after).starts_with("weighted lateness falls by 1 h; everything"));
    }
}
