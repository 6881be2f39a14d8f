//! The program as a user runs it, on the project's own instances.

mod broken_instances;
mod demo;
mod planned_anew;
mod readme;
mod reasoned_by_hand;
mod saved_instances;
mod threads;
mod time_limit;
mod written;
