//! Where plans are looked for: ways along which what is aimed at becomes easier.

use crate::problem::Min;

/// Aims one after another, each no sooner than the one before; places on it are minutes.
#[derive(Debug, Clone)]
pub(super) enum Way {
    /// Late shipments between due and as late as they were, all by the same share, which at the way's `length` is all of
    /// it; and nothing after an end.
    Due { due: Vec<Min>, late: Vec<Min>, length: Min, end: Min },
    /// Everything by a minute, and as promised; the last one is `length`.
    End { promised: Vec<Min>, length: Min },
}

impl Way {
    /// From due dates to how late shipments are.
    pub(super) fn due(due: Vec<Min>, ready: &[Min]) -> Way {
        let late: Vec<Min> = due.iter().zip(ready).map(|(&due, &ready)| (ready - due).max(0)).collect();
        let length = late.iter().copied().max().unwrap_or(0).max(1);
        Way::Due { due, late, length, end: ready.iter().copied().max().unwrap_or(0) }
    }

    /// The place at which plans are as good as the one known.
    pub(super) fn length(&self) -> Min {
        let (Way::Due { length, .. } | Way::End { length, .. }) = self;
        *length
    }

    /// By when each shipment is to be ready.
    pub(super) fn aims(&self, at: Min) -> Vec<Min> {
        match self {
            Way::Due { due, late, length, end } => {
                let aim = |(&due, &late): (&Min, &Min)| {
                    (i64::from(due) + i64::from(late) * i64::from(at) / i64::from(*length)).min(i64::from(*end)) as Min
                };
                due.iter().zip(late).map(aim).collect()
            }
            Way::End { promised, .. } => promised.iter().map(|&promised| promised.min(at)).collect(),
        }
    }

    /// The last place at which nothing is aimed at later than this.
    pub(super) fn within(&self, aims: &[Min]) -> Min {
        match self {
            Way::Due { due, late, length, .. } => {
                let late_ones = due.iter().zip(late).zip(aims).filter(|((_, late), _)| **late > 0);
                let place = |((&due, &late), &aim): ((&Min, &Min), &Min)| {
                    (i64::from((aim - due).max(0)) * i64::from(*length) / i64::from(late)) as Min
                };
                late_ones.map(place).min().unwrap_or(0)
            }
            Way::End { .. } => aims.iter().copied().max().unwrap_or(0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Way;

    #[test]
    fn a_way_leads_from_due_to_ready() {
        let way = Way::due(vec![100, 200, 300], &[90, 250, 500]);
        assert_eq!(way.length(), 200);
        assert_eq!(way.aims(0), [100, 200, 300]);
        assert_eq!(way.aims(100), [100, 225, 400]);
        assert_eq!(way.aims(200), [100, 250, 500]);
        assert_eq!(way.within(&[100, 250, 340]), 40, "the shipment that is to be sooner decides");
        for at in 0..=200 {
            let aims = way.aims(at);
            assert!((at - 3..=at + 3).contains(&way.within(&aims)), "at {at}: minutes are whole");
            assert!(way.aims(way.within(&aims)).iter().zip(&aims).all(|(a, b)| a <= b), "at {at}");
        }
    }

    #[test]
    fn promises_are_kept_up_to_any_end() {
        let way = Way::End { promised: vec![100, 900], length: 500 };
        assert_eq!(way.aims(300), [100, 300]);
        assert_eq!(way.within(&[100, 300]), 300);
    }
}
