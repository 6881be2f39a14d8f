//! How much earlier or later a stop may be than the plan has it, with everything else of the plan left as it is.
//!
//! A harvest may begin when the run is ready. It may be as late as the next load on that printer, the packing of a box
//! that takes its copies, the readiness of a shipment that does, or the printer's downtime allow.
//!
//! A load may be as late as its plate waits for its harvest anyway, as long as it stays out of the printer's downtime and
//! prints no minute more with nobody there (where that is limited): the end of printing must stay in the staffed time in
//! which the plan has it. It may be as early as the release of the shipments it serves, the end of a downtime before it
//! and the harvest before it allow. Being early takes nothing from anybody: printing that ends earlier ends with fewer
//! unattended minutes, not with more.
//!
//! All that is reasoned with one task moved and the others not. When a whole round is walked in another order several
//! move at once, and what is ready at a harvest depends on when it was loaded. So in walking no stop is later than the
//! plan by more than [`SLIP`], a harvest counts on a run that was loaded late by as much as it may be, and a load that is
//! a stop of its own, on the harvest before it having begun late by as much.

use crate::ledger::Ledger;
use crate::phases::Names;
use platewright_model::instance::PrinterId;
use platewright_model::plan::{Run, Source};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::HashMap;

/// Most minutes by which a stop is later in a walk than in the plan.
pub(super) const SLIP: Minutes = Minutes(30);

const NEVER: Instant = Instant(i64::MAX / 4);

/// When a stop may begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Window {
    /// Not before, if all else is as planned.
    pub earliest: Instant,
    /// Not after, if all else is as planned.
    pub latest: Instant,
    /// Not before, whatever was moved by a walk.
    pub walk_earliest: Instant,
    /// Not after, in a walk.
    pub walk_latest: Instant,
}

impl Window {
    /// The window of two tasks done one right after the other, the first of so many minutes.
    pub fn then(self, minutes: Minutes, second: Window) -> Window {
        Window {
            earliest: self.earliest.max(second.earliest - minutes),
            latest: self.latest.min(second.latest - minutes),
            walk_earliest: self.walk_earliest.max(second.walk_earliest - minutes),
            walk_latest: self.walk_latest.min(second.walk_latest - minutes),
        }
    }
}

/// What windows are made of.
pub(super) struct Windows<'p> {
    instance: &'p Instance,
    names: Names<'p>,
    /// Each printer's downtimes.
    down: HashMap<PrinterId, Vec<(Instant, Instant)>>,
    /// Stretches with nobody on shift, in order.
    gaps: Vec<(Instant, Instant)>,
    /// When somebody needs a run's copies to be usable, less what they take to finish.
    needed: HashMap<&'p str, Instant>,
    /// The latest release of the shipments that a run serves.
    release: HashMap<&'p str, Instant>,
    /// Each run's predecessor and successor on its printer.
    before: HashMap<&'p str, &'p Run>,
    after: HashMap<&'p str, &'p Run>,
}

impl<'p> Windows<'p> {
    pub fn of(instance: &'p Instance, plan: &'p Plan, ledger: &Ledger) -> Windows<'p> {
        let mut down: HashMap<PrinterId, Vec<(Instant, Instant)>> = HashMap::new();
        for row in &instance.downtime {
            down.entry(row.printer).or_default().push((row.from, row.to));
        }
        let mut by_printer: HashMap<&str, Vec<&Run>> = HashMap::new();
        for run in &plan.runs {
            by_printer.entry(&run.printer).or_default().push(run);
        }
        let (mut before, mut after) = (HashMap::new(), HashMap::new());
        for runs in by_printer.values_mut() {
            runs.sort_by_key(|run| run.harvest_from);
            for pair in runs.windows(2) {
                if let [first, second] = pair {
                    after.insert(first.run.as_str(), *second);
                    before.insert(second.run.as_str(), *first);
                }
            }
        }
        Windows {
            instance,
            names: Names::of(instance),
            down,
            gaps: roster::unattended(instance),
            needed: needed(instance, plan, ledger),
            release: releases(instance, plan),
            before,
            after,
        }
    }

    /// When the run's harvest may begin.
    pub fn harvest(&self, run: &Run, load_follows: bool) -> Window {
        let minutes = run.harvest_to - run.harvest_from;
        // A plate may wait through downtime; it is then harvested after it, whatever room there is before.
        let up = self.downtimes(run).map(|(_, to)| to).filter(|to| *to <= run.harvest_from).max();
        let earliest = up.map_or(run.ready, |up| up.max(run.ready)).min(run.harvest_from);
        let next_load = self.after.get(run.run.as_str()).filter(|_| !load_follows);
        let next_load = next_load.and_then(|next| next.load.as_ref()).map_or(NEVER, |load| load.from);
        let needed = self.needed.get(run.run.as_str()).copied().unwrap_or(NEVER);
        let next_down = self.next_down(run, run.harvest_to).unwrap_or(NEVER);
        let latest = (next_load.min(needed).min(next_down) - minutes).max(run.harvest_from);
        let blocked = run.harvest_from - run.ready;
        Window {
            earliest,
            latest,
            walk_earliest: earliest.max(run.ready + blocked.min(SLIP)).min(run.harvest_from),
            walk_latest: latest.min(run.harvest_from + SLIP),
        }
    }

    /// When the run's load may begin.
    pub fn load(&self, run: &Run, from: Instant, harvest_precedes: bool) -> Window {
        let harvested = self.before.get(run.run.as_str()).filter(|_| !harvest_precedes).map(|run| run.harvest_to);
        // A walk may move that harvest too.
        let walked = harvested.map(|harvested| (harvested + SLIP).min(from));
        let released = self.release.get(run.run.as_str()).copied();
        let up = self.downtimes(run).filter(|(_, to)| *to <= from).map(|(_, to)| to).max();
        let floor = [harvested, released, up, Some(self.instance.farm.start)].into_iter().flatten().max();
        let earliest = floor.unwrap_or(from).min(from);
        let mut late = (run.harvest_from - run.ready).max(Minutes::ZERO);
        if let Some(next_down) = self.next_down(run, run.ready) {
            late = late.min(next_down - run.ready);
        }
        late = late.min(self.late_with_nobody_there(run)).max(Minutes::ZERO);
        let walk_earliest = walked.map_or(earliest, |walked| earliest.max(walked));
        Window { earliest, latest: from + late, walk_earliest, walk_latest: from + late.min(SLIP) }
    }

    /// How late the run may be loaded before it prints more unattended minutes than the plan has it.
    fn late_with_nobody_there(&self, run: &Run) -> Minutes {
        let limits = self.instance.farm.unattended;
        if limits.allowed && limits.max_printers.is_none() && limits.max_minutes.is_none() {
            return NEVER - run.ready;
        }
        let cool = self.names.plate_of(run).map_or(Minutes::ZERO, |(_, _, plate)| plate.cool);
        let printed = run.ready - cool;
        match self.gaps.iter().find(|(_, to)| *to >= printed) {
            Some((from, _)) if *from < printed => Minutes::ZERO,
            Some((from, _)) => *from - printed,
            None => NEVER - run.ready,
        }
    }

    fn downtimes(&self, run: &Run) -> impl Iterator<Item = (Instant, Instant)> + '_ {
        let printer = self.names.plate_of(run).map(|(printer, _, _)| printer);
        printer.and_then(|printer| self.down.get(&printer)).into_iter().flatten().copied()
    }

    fn next_down(&self, run: &Run, after: Instant) -> Option<Instant> {
        self.downtimes(run).filter(|(from, _)| *from >= after).map(|(from, _)| from).min()
    }
}

/// When each run's copies must have been harvested, for the boxes and shipments that take them.
fn needed<'p>(instance: &Instance, plan: &'p Plan, ledger: &Ledger) -> HashMap<&'p str, Instant> {
    let runs: HashMap<&str, &'p str> = plan.runs.iter().map(|run| (run.run.as_str(), run.run.as_str())).collect();
    let finish: HashMap<&str, Minutes> = instance.parts.iter().map(|part| (part.name.as_str(), part.finish)).collect();
    let ready: HashMap<&str, Instant> = plan.shipments.iter().map(|s| (s.shipment.as_str(), s.ready)).collect();
    let mut needed: HashMap<&str, Instant> = HashMap::new();
    for packed in &ledger.boxes {
        let moment = match &packed.packing {
            Some(packing) => packing.from,
            None => ready.get(packed.shipment.as_str()).copied().unwrap_or(packed.closes),
        };
        for content in &packed.contents {
            let finish = finish.get(content.part.as_str()).copied().unwrap_or_default();
            for pieces in &content.pieces {
                let Source::Run(run) = &pieces.source else { continue };
                if let Some(&run) = runs.get(run.as_str()) {
                    let known = needed.entry(run).or_insert(NEVER);
                    *known = (*known).min(moment - finish);
                }
            }
        }
    }
    needed
}

fn releases<'p>(instance: &Instance, plan: &'p Plan) -> HashMap<&'p str, Instant> {
    let of_shipment: HashMap<&str, Instant> =
        instance.shipments.iter().filter_map(|s| Some((s.name.as_str(), s.release?))).collect();
    let mut releases: HashMap<&str, Instant> = HashMap::new();
    for row in &plan.allocation {
        if let (Source::Run(run), Some(&release)) = (&row.source, of_shipment.get(row.shipment.as_str())) {
            let known = releases.entry(run).or_insert(release);
            *known = (*known).max(release);
        }
    }
    releases
}
