//! Half-open stretches of time, and the one place that keeps a plan's times from overflowing anything.

use platewright_model::{Instant, Minutes};

/// From the first minute to the first minute after it; empty where both are the same, never backwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Span {
    pub from: Instant,
    pub to: Instant,
}

/// Two million years: farther than any table reaches, and a million such times still add up within an `i64`.
const FAR: i64 = 1 << 40;

/// The plan's time, drawn in so that it may be calculated with; a time this far out breaks its rules all the same.
pub(crate) fn near(time: Instant) -> Instant {
    Instant(time.0.clamp(-FAR, FAR))
}

impl Span {
    /// A stretch that ends before it starts is empty: the length it should have had is judged elsewhere.
    pub fn new(from: Instant, to: Instant) -> Span {
        Span { from, to: to.max(from) }
    }

    pub fn minutes(self) -> Minutes {
        self.to - self.from
    }

    /// Whether the two get in each other's way. A task of no minutes may sit at another's edge, not inside it.
    pub fn meets(self, other: Span) -> bool {
        self.from < other.to && other.from < self.to
    }

    pub fn overlap(self, other: Span) -> Option<Span> {
        self.meets(other).then(|| Span { from: self.from.max(other.from), to: self.to.min(other.to) })
    }

    /// Whether it lies in `outer`; one of no minutes may lie at either edge.
    pub fn within(self, outer: Span) -> bool {
        outer.from <= self.from && self.to <= outer.to
    }
}

/// The union, in order, adjoining stretches joined.
pub(crate) fn union(mut spans: Vec<Span>) -> Vec<Span> {
    spans.retain(|span| span.from < span.to);
    spans.sort_unstable();
    let mut joined: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
            _ => joined.push(span),
        }
    }
    joined
}

/// What `whole` has outside a union.
pub(crate) fn gaps(whole: Span, union: &[Span]) -> Vec<Span> {
    let mut gaps = Vec::new();
    let mut from = whole.from;
    for taken in union.iter().filter_map(|span| span.overlap(whole)) {
        if from < taken.from {
            gaps.push(Span { from, to: taken.from });
        }
        from = taken.to;
    }
    if from < whole.to {
        gaps.push(Span { from, to: whole.to });
    }
    gaps
}

/// The parts of a union that `span` touches, in order.
pub(crate) fn touched(union: &[Span], span: Span) -> impl Iterator<Item = Span> + '_ {
    let first = union.partition_point(|taken| taken.to <= span.from);
    union.iter().skip(first).map_while(move |taken| taken.overlap(span))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(from: i64, to: i64) -> Span {
        Span { from: Instant(from), to: Instant(to) }
    }

    #[test]
    fn a_task_of_no_minutes_may_sit_at_an_edge_but_not_inside() {
        assert!(!span(5, 5).meets(span(5, 9)) && !span(9, 9).meets(span(5, 9)));
        assert!(span(6, 6).meets(span(5, 9)) && span(5, 9).meets(span(6, 6)));
        assert!(span(9, 9).within(span(5, 9)) && span(5, 5).within(span(5, 9)) && !span(10, 10).within(span(5, 9)));
    }

    #[test]
    fn a_union_joins_what_overlaps_or_adjoins_and_its_gaps_are_the_rest() {
        let joined = union(vec![span(20, 30), span(0, 5), span(5, 8), span(22, 24), span(12, 12)]);
        assert_eq!(joined, [span(0, 8), span(20, 30)]);
        assert_eq!(gaps(span(-2, 40), &joined), [span(-2, 0), span(8, 20), span(30, 40)]);
        assert_eq!(gaps(span(3, 25), &joined), [span(8, 20)]);
        assert_eq!(gaps(span(9, 10), &joined), [span(9, 10)]);
    }

    #[test]
    fn only_what_is_touched_is_touched() {
        let joined = [span(0, 8), span(20, 30), span(40, 50)];
        assert_eq!(touched(&joined, span(8, 20)).count(), 0);
        assert_eq!(touched(&joined, span(7, 45)).collect::<Vec<_>>(), [span(7, 8), span(20, 30), span(40, 45)]);
        assert_eq!(touched(&joined, span(25, 25)).collect::<Vec<_>>(), [span(25, 25)]);
    }

    #[test]
    fn times_out_of_all_range_are_drawn_in() {
        assert_eq!(near(Instant(i64::MIN)), Instant(-FAR));
        assert_eq!(near(Instant(29_000_000)), Instant(29_000_000));
        assert_eq!(Span::new(near(Instant(i64::MIN)), near(Instant(i64::MAX))).minutes(), Minutes(2 * FAR));
    }
}
