//! Wall time and instants in the farm's zone.
//!
//! Durations are elapsed minutes, so everything after reading is done on instants. Going from wall to instant meets two
//! odd hours a year: a time that does not exist (clocks go forward) and one that comes twice (clocks go back).

use crate::units::Instant;
use chrono::{DateTime, FixedOffset, NaiveDateTime};
use chrono_tz::Tz;
use serde::{Serialize, Serializer};

/// The farm's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clock {
    zone: Tz,
}

impl Serialize for Clock {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.zone.name())
    }
}

/// What a wall time is in a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wall {
    /// It happens; where it comes twice, this is the first.
    Exists(Instant),
    /// The clocks skip it; this is the same reading carried forward by the skip.
    Skipped(Instant),
}

impl Clock {
    /// A clock in the zone.
    pub fn new(zone: Tz) -> Clock {
        Clock { zone }
    }

    /// The IANA name.
    pub fn zone(&self) -> Tz {
        self.zone
    }

    /// The instant of a wall time.
    pub fn instant(&self, wall: NaiveDateTime) -> Wall {
        let _ = wall;
        Wall::Exists(Instant(0))
    }

    /// The wall time of an instant, with the offset in force.
    pub fn stamp(&self, instant: Instant) -> DateTime<FixedOffset> {
        let _ = instant;
        DateTime::default()
    }
}
