//! Living through a plan: what a room does that follows a plan while things go wrong.
//!
//! One policy serves two questions. A *rehearsal* asks how a plan fares when plates fail, prints take longer and people
//! come late; it lives through the plan ten thousand times with dice. A *replan* asks how the rest of the week can go on
//! from what has happened; it lives through the rest once, without dice, and what it did is the new plan.
//!
//! The policy keeps to the plan. Nothing begins before the minute the plan gives it, runs keep their printer and their
//! order there, tasks keep their operator where he is free. So as long as nothing departs from the plan, what is lived
//! is the plan, to the minute: a task's minute comes, its printer, its operator and its parts are as planned, and it
//! begins. When something has departed, what is late begins as soon as it can, in the order of the planned minutes:
//!
//! - A task of the plan that is late goes before those planned after it; or, where that is asked for, it takes an operator
//!   who has nothing planned meanwhile, so that one delay does not push everything else by minutes, and goes first only
//!   after [`PATIENCE`] ([`Manner`]).
//! - A load keeps out of downtime and within the limits on unattended printing, and waits where it would not; a later
//!   run of its printer that the night lets in may then go first.
//! - Copies that are lost are first made good from what is left over, then from what planned runs will leave over; only
//!   the rest is printed again ([`supply`]): the lost plate if all of it was lost, else the plate that makes the missing
//!   copies soonest. Such a run takes the first opening on a printer of its group that it fits into before the next
//!   planned load, or an opening in front of a run for a shipment due later, or the end of a printer's list.
//! - A run made again stands aside while there is a day left to its due date: it takes minutes of operators, and places
//!   in a night, that nobody has planned. Seven minutes taken at the end of an evening's round would put the last load of
//!   the round off to the next morning, and everything on that printer with it.
//!
//! Everything is driven by events, so a minute in which nothing changes costs nothing.

pub mod luck;
mod people;
pub mod play;
pub mod script;
pub mod slack;
pub mod supply;
pub mod trace;

pub use luck::{Certain, Luck, Printing};
pub use play::{Fate, Manner, Past, Player};
pub use script::{NotFollowed, Script};
pub use trace::{Done, Lived, Stay};

use crate::problem::Min;

/// How long a patient task waits for an operator who has nothing else planned.
pub const PATIENCE: Min = 30;

/// How far down a printer's list a late run's place is offered to others that the night lets in.
pub const LOOK_AHEAD: usize = 6;
