//! Why a shipment is ready when it is: the printer that has its last part, told back to the start.
//!
//! Every minute from the start to the ready time of a shipment is put down to one cause along that printer: printing,
//! handling, a ready plate with nobody there, and so on. Where boxes are packed after the last part, the packing and the
//! wait for it belong to the chain too.

use crate::page::{Grid, Lean, Page};
use crate::phases::{Names, Phases};
use crate::span::Span;
use crate::wall::{Wall, clock_hours, percent};
use platewright_model::plan::{Run, Source, Work};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::{BTreeMap, HashMap};

/// What a minute of the chain goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The printer prints.
    Printing,
    /// The plate cools.
    Cooling,
    /// The printer is loaded, with the changeover, or harvested.
    Handling,
    /// A ready plate waits with nobody there.
    BlockedUnattended,
    /// A ready plate waits while somebody is there.
    BlockedAttended,
    /// The printer is empty, or down, with nobody there.
    EmptyUnattended,
    /// The printer is empty, or down, while somebody is there.
    EmptyAttended,
    /// The part is finished after its harvest.
    Finishing,
    /// All parts are there, and the last box waits for a packer.
    WaitingToPack,
    /// The last box is packed.
    Packing,
}

impl Cause {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Printing => "printing",
            Cause::Cooling => "cooling",
            Cause::Handling => "loading and harvesting",
            Cause::BlockedUnattended => "a ready plate, nobody there",
            Cause::BlockedAttended => "a ready plate, somebody there",
            Cause::EmptyUnattended => "empty or down, nobody there",
            Cause::EmptyAttended => "empty or down, somebody there",
            Cause::Finishing => "finishing the last part",
            Cause::WaitingToPack => "waiting to be packed",
            Cause::Packing => "packing the last box",
        }
    }
}

/// What leads to a shipment's ready time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// The shipment.
    pub shipment: String,
    /// When it is ready.
    pub ready: Instant,
    /// The run, printer and part that come last; none where everything comes from stock.
    pub last: Option<Last>,
    /// Causes in the order of time.
    pub steps: Vec<(Cause, Span)>,
}

/// The last part of a shipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Last {
    /// The run that makes it.
    pub run: String,
    /// On which printer.
    pub printer: String,
    /// Which part.
    pub part: String,
    /// When the harvest of the run ends.
    pub harvested: Instant,
}

impl Chain {
    /// Minutes by cause.
    pub fn by_cause(&self) -> BTreeMap<Cause, Minutes> {
        let mut minutes = BTreeMap::new();
        for (cause, span) in &self.steps {
            *minutes.entry(*cause).or_default() += span.length();
        }
        minutes
    }
}

/// The chain of a shipment; none where the plan does not list it.
pub fn chain(instance: &Instance, plan: &Plan, shipment: &str) -> Option<Chain> {
    let ready = plan.shipments.iter().find(|s| s.shipment == shipment)?.ready;
    let start = instance.farm.start;
    let mut steps: Vec<(Cause, Span)> = Vec::new();
    let last = last_part(instance, plan, shipment);
    let mut end = ready;
    if let Some(packing) = plan.tasks.iter().filter(|t| is_packing(&t.work, shipment)).max_by_key(|t| t.to)
        && packing.to == ready
    {
        steps.push((Cause::Packing, Span { from: packing.from, to: packing.to }));
        let there = last.as_ref().map_or(start, |(_, usable)| *usable).max(start);
        steps.push((Cause::WaitingToPack, Span { from: there.min(packing.from), to: packing.from }));
        end = there.min(packing.from);
    }
    let last = last.map(|(last, _)| last);
    if let Some(last) = &last {
        steps.push((Cause::Finishing, Span { from: last.harvested.min(end), to: end }));
        back_along(instance, plan, &last.printer, last.harvested.min(end), &mut steps);
    }
    steps.retain(|(_, span)| !span.is_empty());
    steps.reverse();
    Some(Chain { shipment: shipment.to_owned(), ready, last, steps })
}

fn is_packing(work: &Work, of: &str) -> bool {
    matches!(work, Work::Pack { shipment, .. } if shipment == of)
}

/// The part that is usable last, and when.
fn last_part(instance: &Instance, plan: &Plan, shipment: &str) -> Option<(Last, Instant)> {
    let runs: HashMap<&str, &Run> = plan.runs.iter().map(|run| (run.run.as_str(), run)).collect();
    let finish: HashMap<&str, Minutes> = instance.parts.iter().map(|p| (p.name.as_str(), p.finish)).collect();
    let given = plan.allocation.iter().filter(|given| given.shipment == shipment);
    let usable = given.filter_map(|given| {
        let Source::Run(run) = &given.source else { return None };
        let run = runs.get(run.as_str())?;
        let last = Last {
            run: run.run.clone(),
            printer: run.printer.clone(),
            part: given.part.clone(),
            harvested: run.harvest_to,
        };
        Some((last, run.harvest_to + finish.get(given.part.as_str()).copied().unwrap_or_default()))
    });
    usable.max_by(|a, b| a.1.cmp(&b.1).then_with(|| b.0.run.cmp(&a.0.run)))
}

/// What a printer did before a moment, the latest first.
fn back_along(instance: &Instance, plan: &Plan, printer: &str, until: Instant, steps: &mut Vec<(Cause, Span)>) {
    let names = Names::of(instance);
    let nobody = roster::unattended(instance);
    let mut phases: Vec<Phases> = plan
        .runs
        .iter()
        .filter(|r| r.printer == printer && r.harvest_to <= until)
        .filter_map(|r| names.phases(r))
        .collect();
    phases.sort_by_key(|run| std::cmp::Reverse(run.harvest.to));
    let mut edge = until;
    for run in phases {
        waiting(&nobody, Span { from: run.harvest.to, to: edge }, Cause::EmptyUnattended, Cause::EmptyAttended, steps);
        steps.push((Cause::Handling, run.harvest));
        waiting(&nobody, run.blocked, Cause::BlockedUnattended, Cause::BlockedAttended, steps);
        steps.extend([(Cause::Cooling, run.cooling), (Cause::Printing, run.printing), (Cause::Handling, run.load)]);
        edge = run.load.from;
    }
    let start = instance.farm.start;
    waiting(&nobody, Span { from: start, to: edge }, Cause::EmptyUnattended, Cause::EmptyAttended, steps);
    for (_, span) in steps {
        *span = Span { from: span.from.max(start), to: span.to.max(start) };
    }
}

/// A wait, cut where the room is staffed and where it is not; the latest first.
fn waiting(nobody: &[(Instant, Instant)], wait: Span, without: Cause, with: Cause, steps: &mut Vec<(Cause, Span)>) {
    if wait.is_empty() {
        return;
    }
    let mut edge = wait.to;
    for &(from, to) in nobody.iter().rev() {
        let night = Span { from, to }.within(wait);
        if !night.is_empty() {
            steps.push((with, Span { from: night.to, to: edge }));
            steps.push((without, night));
            edge = night.from;
        }
    }
    steps.push((with, Span { from: wait.from, to: edge }));
}

/// The chain as a section of a page.
pub fn chain_section(instance: &Instance, chain: &Chain, heading: &str, page: &mut Page) {
    let wall = Wall::of(instance);
    page.heading(heading);
    let ready = wall.say(chain.ready);
    match &chain.last {
        None => page.say(&format!("{} is ready {ready}, from stock.", chain.shipment)),
        Some(last) => page.say(&format!(
            "{} is ready {ready}. Its last part is {} of run {} on {}, harvested by {}. Along {}, from the start to then, in \
             hours:minutes:",
            chain.shipment,
            last.part,
            last.run,
            last.printer,
            wall.say(last.harvested),
            last.printer
        )),
    }
    let whole = chain.ready - instance.farm.start;
    let mut causes: Vec<(Cause, Minutes)> = chain.by_cause().into_iter().collect();
    causes.sort_by_key(|&(cause, minutes)| (std::cmp::Reverse(minutes), cause));
    let mut grid = Grid::new([("what", Lean::Left), ("time", Lean::Right), ("share", Lean::Right)]);
    for (cause, minutes) in causes {
        grid.row([cause.words().to_owned(), clock_hours(minutes), percent(minutes, whole)]);
    }
    page.table(&grid);
    let longest = chain.steps.iter().filter(|(cause, _)| !matches!(cause, Cause::Printing));
    if let Some((cause, span)) = longest.max_by_key(|(_, span)| (span.length(), span.from)) {
        page.say(&format!(
            "The longest stretch without printing: {}, {}, {}.",
            cause.words(),
            wall.span(span.from, span.to),
            span.length()
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn every_minute_up_to_the_ready_time_has_one_cause() {
        let instance = sample::instance();
        let chain = chain(&instance, &sample::plan(&instance), "shop").unwrap();
        let last = chain.last.clone().unwrap();
        assert_eq!((last.run.as_str(), last.printer.as_str(), last.part.as_str()), ("R0003", "B1", "base"));
        // Two bases of 3 + 600 + 4 minutes, each ready at 17:03 and waiting through a night that begins at 17:00.
        let by_cause: Vec<(Cause, i64)> = chain.by_cause().into_iter().map(|(cause, m)| (cause, m.0)).collect();
        assert_eq!(by_cause, [(Cause::Printing, 1200), (Cause::Handling, 14), (Cause::BlockedUnattended, 837 + 833)]);
        assert_eq!(by_cause.iter().map(|c| c.1).sum::<i64>(), (chain.ready - instance.farm.start).0);
        assert!(chain.steps.windows(2).all(|w| w[0].1.to == w[1].1.from));
    }

    #[test]
    fn waits_are_cut_at_the_shifts() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        // The second base is loaded three hours later than it could be.
        let run = &mut plan.runs[2];
        let load = run.load.as_mut().unwrap();
        load.from = at(1, 10, 4);
        load.print_from = at(1, 10, 7);
        run.ready = at(1, 20, 7);
        let chain = chain(&instance, &plan, "shop").unwrap();
        assert_eq!(chain.by_cause()[&Cause::EmptyAttended], Minutes(180));
        assert_eq!(chain.by_cause()[&Cause::BlockedUnattended], Minutes(837 + 653));
    }

    #[test]
    fn packing_after_the_last_part_belongs_to_it() {
        let mut instance = sample::instance();
        instance.parts[1].finish = Minutes(30);
        let mut plan = sample::plan(&instance);
        let pack = Work::Pack { shipment: "shop".into(), kit: "lamp".into() };
        let task =
            platewright_model::plan::Task { operator: "day-1".into(), work: pack, from: at(2, 8, 0), to: at(2, 8, 6) };
        plan.tasks.push(task);
        plan.shipments[0].ready = at(2, 8, 6);
        let chain = chain(&instance, &plan, "shop").unwrap();
        let by_cause = chain.by_cause();
        let of = |cause| by_cause.get(&cause).map(|m: &Minutes| m.0);
        assert_eq!([Cause::Finishing, Cause::WaitingToPack, Cause::Packing].map(of), [Some(30), Some(26), Some(6)]);
    }

    #[test]
    fn from_stock_there_is_no_chain() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.allocation.iter_mut().for_each(|given| given.source = Source::Stock);
        assert_eq!(chain(&instance, &plan, "shop").unwrap().last, None);
        assert_eq!(chain(&instance, &plan, "nobody"), None);
    }
}
