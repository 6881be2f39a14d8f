//! Whole minutes, whole parts, and the instants between them.
//!
//! Everything is an integer: rounding happens only where text is read. The ranges are enforced where tables are read
//! (see [`crate::tables`]), and are small enough that no sum or product formed from them can overflow an `i64`.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::{Add, AddAssign, Sub, SubAssign};

/// A moment: whole minutes since 1970-01-01T00:00 UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(pub i64);

/// A length of time in whole elapsed minutes; negative only as the difference of two instants.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Minutes(pub i64);

/// How many parts, copies, kits or operators.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Count(pub u64);

/// How much one minute of a shipment's lateness counts, in thousandths (the table's `1` is `Weight(1000)`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Weight(pub u64);

/// Lateness times weight, summed over shipments, in thousandths of a weighted minute.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct WeightedMinutes(pub i64);

impl Minutes {
    /// No time at all.
    pub const ZERO: Minutes = Minutes(0);
    /// Twenty-four elapsed hours (a calendar day may be an hour shorter or longer).
    pub const DAY: Minutes = Minutes(1440);
}

impl WeightedMinutes {
    /// Nothing late.
    pub const ZERO: WeightedMinutes = WeightedMinutes(0);

    /// The figure in weighted minutes, as `--json` and `plan.json` state it.
    pub fn in_minutes(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The nearest thousandth to a stated figure; `None` where it is not a number in range.
    pub fn from_minutes(minutes: f64) -> Option<WeightedMinutes> {
        let thousandths = (minutes * 1000.0).round();
        (thousandths.is_finite() && thousandths.abs() < 9.0e15).then_some(WeightedMinutes(thousandths as i64))
    }
}

impl Default for Weight {
    fn default() -> Self {
        Weight(1000)
    }
}

impl Weight {
    /// What `late` minutes of lateness cost under this weight; early is not negative lateness.
    pub fn of_lateness(self, late: Minutes) -> WeightedMinutes {
        WeightedMinutes(late.0.max(0) * self.0 as i64)
    }
}

impl Add<Minutes> for Instant {
    type Output = Instant;
    fn add(self, rhs: Minutes) -> Instant {
        Instant(self.0 + rhs.0)
    }
}

impl Sub<Minutes> for Instant {
    type Output = Instant;
    fn sub(self, rhs: Minutes) -> Instant {
        Instant(self.0 - rhs.0)
    }
}

impl Sub for Instant {
    type Output = Minutes;
    fn sub(self, rhs: Instant) -> Minutes {
        Minutes(self.0 - rhs.0)
    }
}

impl Add for Minutes {
    type Output = Minutes;
    fn add(self, rhs: Minutes) -> Minutes {
        Minutes(self.0 + rhs.0)
    }
}

impl Sub for Minutes {
    type Output = Minutes;
    fn sub(self, rhs: Minutes) -> Minutes {
        Minutes(self.0 - rhs.0)
    }
}

impl AddAssign for Minutes {
    fn add_assign(&mut self, rhs: Minutes) {
        self.0 += rhs.0;
    }
}

impl SubAssign for Minutes {
    fn sub_assign(&mut self, rhs: Minutes) {
        self.0 -= rhs.0;
    }
}

impl std::iter::Sum for Minutes {
    fn sum<I: Iterator<Item = Minutes>>(iter: I) -> Minutes {
        iter.fold(Minutes::ZERO, Add::add)
    }
}

impl Add for Count {
    type Output = Count;
    fn add(self, rhs: Count) -> Count {
        Count(self.0 + rhs.0)
    }
}

impl AddAssign for Count {
    fn add_assign(&mut self, rhs: Count) {
        self.0 += rhs.0;
    }
}

impl Add for WeightedMinutes {
    type Output = WeightedMinutes;
    fn add(self, rhs: WeightedMinutes) -> WeightedMinutes {
        WeightedMinutes(self.0 + rhs.0)
    }
}

impl std::iter::Sum for WeightedMinutes {
    fn sum<I: Iterator<Item = WeightedMinutes>>(iter: I) -> WeightedMinutes {
        iter.fold(WeightedMinutes::ZERO, Add::add)
    }
}

impl fmt::Display for Minutes {
    /// Days, hours and minutes, as a person says them: `2 d 4 h`, `3 h 05 min`, `45 min`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let total = self.0.unsigned_abs();
        let (days, hours, minutes) = (total / 1440, total / 60 % 24, total % 60);
        let text = match (days, hours, minutes) {
            (0, 0, m) => format!("{sign}{m} min"),
            (0, h, 0) => format!("{sign}{h} h"),
            (0, h, m) => format!("{sign}{h} h {m:02} min"),
            (d, 0, 0) => format!("{sign}{d} d"),
            (d, h, 0) => format!("{sign}{d} d {h} h"),
            (d, h, m) => format!("{sign}{d} d {h} h {m:02} min"),
        };
        f.pad(&text)
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_read_as_people_say_them() {
        let said: Vec<String> =
            [0, 45, 60, 185, 1440, 3120, 3125, -70].iter().map(|&m| Minutes(m).to_string()).collect();
        assert_eq!(said, ["0 min", "45 min", "1 h", "3 h 05 min", "1 d", "2 d 4 h", "2 d 4 h 05 min", "-1 h 10 min"]);
    }

    #[test]
    fn early_is_not_negative_lateness() {
        assert_eq!(Weight(1500).of_lateness(Minutes(-5)), WeightedMinutes(0));
        assert_eq!(Weight(1500).of_lateness(Minutes(4)).in_minutes(), 6.0);
    }
}
