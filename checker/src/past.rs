//! What the log says of the time before a plan's `since`, worked out from its rows.
//!
//! A plan made anew in mid-week has a past that nobody can plan any more. It is held to the log ([`crate::rules`], LOG):
//! its runs were loaded and taken off when the log says so, and gave what was counted. What was done then is not judged
//! by the rules about doing; who gets which copies, what is packed from what, and every figure are, as ever.

use crate::span::Span;
use platewright_model::instance::{CrewId, PartId, PlateOnGroup, PrinterId};
use platewright_model::log::Event;
use platewright_model::{Count, Instance, Instant, Minutes, Plan, Rule};
use std::collections::HashMap;

/// The past of a plan; empty where it begins at the farm's start.
#[derive(Debug, Default)]
pub(crate) struct Past<'a> {
    pub since: Option<Instant>,
    fates: HashMap<&'a str, Fate>,
    /// Stretches in which the log has a printer down; for another day from `since` where nobody knows until when.
    pub down: Vec<(PrinterId, Span)>,
    /// Stretches in which the log has an operator absent.
    pub absent: Vec<(CrewId, u32, Span)>,
}

/// What the log says of one run.
#[derive(Debug, Clone)]
pub(crate) struct Fate {
    pub printer: PrinterId,
    pub line: u64,
    pub loaded: Option<Instant>,
    pub ended: Option<Ended>,
}

/// How a run came off its printer.
#[derive(Debug, Clone)]
pub(crate) struct Ended {
    pub at: Instant,
    /// What rows of its harvest count; nothing at all where it failed.
    counts: Option<Vec<Counted>>,
}

/// One row's count.
#[derive(Debug, Clone)]
struct Counted {
    /// None where the plate has one part.
    part: Option<PartId>,
    good: Option<Count>,
    rejected: Option<Count>,
}

impl<'a> Past<'a> {
    pub fn of(instance: &'a Instance, plan: &Plan) -> Past<'a> {
        let Some(since) = plan.since else { return Past::default() };
        let mut past = Past { since: Some(since), ..Past::default() };
        let mut open: HashMap<PrinterId, (Instant, Option<Instant>)> = HashMap::new();
        for entry in instance.log.iter().filter(|entry| entry.at <= since) {
            let at = entry.at;
            match &entry.event {
                Event::Loaded { printer, run } => past.fate(run, *printer, entry.line).loaded = Some(at),
                Event::Failed { printer, run } => {
                    past.fate(run, *printer, entry.line).ended = Some(Ended { at, counts: None });
                }
                Event::Harvested { printer, run, part, good, rejected } => {
                    let ended = &mut past.fate(run, *printer, entry.line).ended;
                    let ended = ended.get_or_insert(Ended { at, counts: None });
                    ended.counts.get_or_insert_default().push(Counted {
                        part: *part,
                        good: *good,
                        rejected: *rejected,
                    });
                }
                Event::Down { printer, until } => {
                    // One that was expected back has been, since it goes down anew.
                    if let Some((from, to)) = open.insert(*printer, (at, *until)) {
                        past.down.push((*printer, Span::new(from, to.unwrap_or(at))));
                    }
                }
                Event::Up { printer } => {
                    if let Some((from, _)) = open.remove(printer) {
                        past.down.push((*printer, Span::new(from, at)));
                    }
                }
                Event::Absent { crew, operator, until } => {
                    past.absent.push((*crew, *operator, Span::new(at, *until)));
                }
            }
        }
        let end = (since + Minutes::DAY).min(instance.farm.horizon_end());
        past.down.extend(open.into_iter().map(|(p, (from, to))| (p, Span::new(from, to.unwrap_or(end)))));
        past
    }

    fn fate(&mut self, run: &'a str, printer: PrinterId, line: u64) -> &mut Fate {
        self.fates.entry(run).or_insert(Fate { printer, line, loaded: None, ended: None })
    }

    pub fn of_run(&self, run: &str) -> Option<&Fate> {
        self.fates.get(run)
    }

    /// Every run that the log speaks of, by the line that does so first.
    pub fn runs(&self) -> Vec<(&'a str, &Fate)> {
        let mut all: Vec<_> = self.fates.iter().map(|(run, fate)| (*run, fate)).collect();
        all.sort_by_key(|(run, fate)| (fate.line, *run));
        all
    }

    /// Whether a breach of a rule about doing lies in the past altogether.
    pub fn is_over(&self, rule: Rule, from: Option<Instant>, to: Option<Instant>) -> bool {
        let doing = matches!(
            rule,
            Rule::Handling
                | Rule::Operator
                | Rule::Printer
                | Rule::Ready
                | Rule::Material
                | Rule::Downtime
                | Rule::Unattended
        );
        doing && self.since.zip(to.or(from)).is_some_and(|(since, end)| end <= since)
    }
}

impl Ended {
    /// The good copies of a plate's parts.
    pub fn good(&self, on: &PlateOnGroup) -> Vec<(PartId, Count)> {
        let Some(counts) = &self.counts else { return on.copies.iter().map(|(part, _)| (*part, Count(0))).collect() };
        let of = |&(part, copies): &(PartId, Count)| {
            let counted = counts.iter().find(|row| row.part.is_none_or(|of| of == part));
            let good = match counted.map(|row| (row.good, row.rejected)) {
                Some((Some(good), _)) => good.0,
                Some((None, Some(rejected))) => copies.0.saturating_sub(rejected.0),
                _ => copies.0,
            };
            (part, Count(good.min(copies.0)))
        };
        on.copies.iter().map(of).collect()
    }
}
