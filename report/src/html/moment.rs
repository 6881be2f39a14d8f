//! Times and figures on a page, each beside the form in which a program reads it.

use crate::wall::Wall;
use platewright_model::{Instance, Instant, Minutes};

/// An instant for a `<time>` element.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// RFC 3339, with the offset in force.
    pub stamp: String,
    /// As people say it: `Thu 5 Mar 13:55`.
    pub said: String,
}

impl Moment {
    /// The instant in the farm's zone.
    pub fn of(instance: &Instance, instant: Instant) -> Moment {
        Moment { stamp: instance.farm.clock.stamp(instant).to_rfc3339(), said: Wall::of(instance).say(instant) }
    }

    /// As [`Moment::of`], saying only the time of day.
    pub fn time_of_day(instance: &Instance, instant: Instant) -> Moment {
        Moment { said: Wall::of(instance).time(instant), ..Moment::of(instance, instant) }
    }
}

/// A figure for a `<data>` element.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// Its key in `plan.json`.
    pub key: &'static str,
    /// The value as that file has it.
    pub value: String,
    /// As people say it.
    pub said: String,
}

impl Figure {
    /// Any figure.
    pub fn new(key: &'static str, value: impl ToString, said: impl ToString) -> Figure {
        Figure { key, value: value.to_string(), said: said.to_string() }
    }

    /// A length of time: `7 d 3 h 55 min`.
    pub fn length(key: &'static str, minutes: Minutes) -> Figure {
        Figure::new(key, minutes.0, minutes)
    }
}
