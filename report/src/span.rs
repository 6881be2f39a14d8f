//! The stretch of time that a plan's figures are about.

use platewright_model::{Instance, Instant, Minutes, Plan};

/// A half-open stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// Its first minute.
    pub from: Instant,
    /// The minute after its last.
    pub to: Instant,
}

impl Span {
    /// From the farm's start to the last shipment's ready time or the last harvest, whichever is later.
    pub fn of_plan(instance: &Instance, plan: &Plan) -> Span {
        let from = instance.farm.start;
        let shipped = plan.shipments.iter().map(|s| s.ready);
        let harvested = plan.runs.iter().map(|r| r.harvest_to);
        Span { from, to: shipped.chain(harvested).max().map_or(from, |to| to.max(from)) }
    }

    /// How long it is; never negative.
    pub fn length(self) -> Minutes {
        Minutes((self.to - self.from).0.max(0))
    }

    /// The part of it that lies within another.
    pub fn within(self, other: Span) -> Span {
        let from = self.from.max(other.from).min(other.to);
        Span { from, to: self.to.min(other.to).max(from) }
    }

    /// Whether it has no minute.
    pub fn is_empty(self) -> bool {
        self.to <= self.from
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_outside_is_empty() {
        let span = |from, to| Span { from: Instant(from), to: Instant(to) };
        assert_eq!(span(0, 10).within(span(4, 20)), span(4, 10));
        assert!(span(0, 3).within(span(4, 20)).is_empty());
        assert!(span(30, 33).within(span(4, 20)).is_empty());
        assert_eq!(span(7, 3).length(), Minutes(0));
    }
}
