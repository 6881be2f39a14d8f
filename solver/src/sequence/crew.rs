//! Operators' minutes as bits, and the first free stretch among them.
//!
//! [`crate::room`] keeps for every minute whether a task can start there, for paths that ask about all of them. A pass asks
//! once for each task, and begins with nothing booked tens of thousands of times: a shift is some fifteen words here.

use crate::problem::{Min, Pool, Problem};

/// All shifts of all operators.
pub(super) struct Crew {
    /// In order of their start.
    shifts: Vec<Shift>,
    /// The latest end among the shifts up to each one.
    latest_end: Vec<Min>,
}

/// The operators of one pool.
struct Shift {
    from: Min,
    to: Min,
    /// By operator, a word for every 64 minutes and one more, in which all are busy.
    busy: Vec<u64>,
    words: usize,
    /// The same with nothing booked: beyond the shift's end all minutes are busy.
    empty: Vec<u64>,
}

/// Free minutes of one operator.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    pub(super) shift: usize,
    operator: usize,
    pub(super) from: Min,
    pub(super) to: Min,
}

impl Crew {
    /// Nobody has anything to do.
    pub(super) fn new(problem: &Problem<'_>) -> Crew {
        let shift = |pool: &Pool| {
            let minutes = (pool.to - pool.from).max(0) as usize;
            let words = minutes.div_ceil(64) + 1;
            let mut one = vec![0u64; words];
            (minutes..64 * words).for_each(|minute| one[minute / 64] |= 1 << (minute % 64));
            let empty = one.repeat(pool.operators.len());
            Shift { from: pool.from, to: pool.to, busy: empty.clone(), words, empty }
        };
        let latest = |latest: &mut Min, pool: &Pool| {
            *latest = (*latest).max(pool.to);
            Some(*latest)
        };
        Crew {
            shifts: problem.pools.iter().map(shift).collect(),
            latest_end: problem.pools.iter().scan(Min::MIN, latest).collect(),
        }
    }

    /// Takes everything back.
    pub(super) fn clear(&mut self) {
        self.shifts.iter_mut().for_each(|shift| shift.busy.copy_from_slice(&shift.empty));
    }

    /// The first so many minutes, 1 to 64, from one on in which an operator is free; of two who are, the one whose shift
    /// ends first.
    pub(super) fn first(&self, from: Min, minutes: Min) -> Option<Stretch> {
        let mut first = self.shifts.partition_point(|shift| shift.from <= from);
        while first > 0 && self.latest_end[first - 1] >= from + minutes {
            first -= 1;
        }
        let mut best: Option<(Min, Min, Stretch)> = None;
        for (at, shift) in self.shifts.iter().enumerate().skip(first) {
            if best.as_ref().is_some_and(|b| shift.from > b.0) {
                break;
            }
            for operator in 0..shift.busy.len() / shift.words {
                let Some(start) = shift.first(operator, (from - shift.from).max(0) as usize, minutes) else { continue };
                let start = shift.from + start as Min;
                if best.as_ref().is_none_or(|b| (start, shift.to) < (b.0, b.1)) {
                    best = Some((start, shift.to, Stretch { shift: at, operator, from: start, to: start + minutes }));
                }
            }
        }
        best.map(|b| b.2)
    }

    /// Books minutes that are free.
    pub(super) fn book(&mut self, stretch: Stretch) {
        let shift = &mut self.shifts[stretch.shift];
        let words = &mut shift.busy[stretch.operator * shift.words..];
        for minute in (stretch.from - shift.from) as usize..(stretch.to - shift.from) as usize {
            words[minute / 64] |= 1 << (minute % 64);
        }
    }
}

impl Shift {
    /// The first minute of the shift, from one on, from which an operator is free for so many.
    fn first(&self, operator: usize, from: usize, minutes: Min) -> Option<usize> {
        let busy = &self.busy[operator * self.words..][..self.words];
        let mut open = !0u64 << (from % 64);
        for (word, pair) in busy.windows(2).enumerate().skip(from / 64) {
            let mut starts = u128::from(!pair[0]) | u128::from(!pair[1]) << 64;
            let mut long = 1;
            // A minute stays a start as long as the ones after it are free, too: twice as many each time.
            while long < minutes && starts as u64 & open != 0 {
                let step = long.min(minutes - long);
                starts &= starts >> step;
                long += step;
            }
            let starts = starts as u64 & open;
            if starts != 0 {
                return Some(64 * word + starts.trailing_zeros() as usize);
            }
            open = !0;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn first_stretch_is_what_looking_at_every_minute_finds(
            minutes in 1usize..400,
            busy in proptest::collection::vec((0usize..400, 1usize..40), 0..12),
            from in 0usize..420,
            length in 1i32..=64,
        ) {
            let words = minutes.div_ceil(64) + 1;
            let is_busy = |m: usize| m >= minutes || busy.iter().any(|&(a, n)| a <= m && m < a + n);
            let mut bits = vec![0u64; words];
            (0..64 * words).filter(|&m| is_busy(m)).for_each(|m| bits[m / 64] |= 1 << (m % 64));
            let shift = Shift { from: 0, to: minutes as Min, busy: bits.clone(), words, empty: bits };
            let looked_for = (from..minutes).find(|&m| (m..m + length as usize).all(|m| !is_busy(m)));
            prop_assert_eq!(shift.first(0, from, length), looked_for);
        }
    }
}
