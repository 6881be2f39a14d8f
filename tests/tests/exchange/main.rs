//! Files of other programs: written by this one, read by theirs, and the other way round.

mod count_model;
mod outside_readers;
mod round_trip;
