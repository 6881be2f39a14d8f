//! Plans and the proof of how good they are.
//!
//! The instance is compiled once into whole minutes from the start ([`problem`]). A plan is then found as a set of
//! printer histories ([`history`]), kept consistent with one another minute by minute ([`room`]), improved against
//! deadlines ([`improve`]), and turned back into names, tasks and figures ([`assemble`]). The bound comes from columns
//! that are whole printer histories, priced at minute resolution ([`columns`]).

pub mod problem;
pub mod schedule;
