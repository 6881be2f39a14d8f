//! The bound: columns that are whole printer histories.
//!
//! # What is relaxed
//!
//! Give every printer a *history* (runs in order, to the minute), and let a plan be one history per printer. Within a
//! class of alike printers only the number of printers with each history matters. Relax three things: numbers may be
//! fractions; operators are not named, but together they have so many minutes in each *slot* of time; copies may go
//! to shipments in fractions. Everything else (shifts, downtime, materials, nights, releases, deadlines, cooling,
//! handling) a history obeys exactly, by the way it is made ([`crate::history`]). Of packing the bound
//! knows the last box's minutes before a shipment is ready and, near the makespan, what boxes take that are packed late
//! ([`packing`]). What no plan can do in the relaxation, no plan can do.
//!
//! # Why the number is valid, whatever the prices
//!
//! Take any prices of 0 or more: `a[s,p]` per copy of part `p` for shipment `s`, `b(t)` per operator minute, `c[k]` per
//! printer that prints into night `k` (and, in the same way as `a`, prices per unit of the whole-run inequalities of
//! [`cuts`], which every plan obeys: they raise the left side and the values of runs). For a makespan `T` let `V(T)` be the greatest value, at these prices, of a
//! history that ends by `T`, less what is left to do with its last run's parts ([`reach::tails`]): a longest path. In a plan that is ready by `T`
//!
//! ```text
//! sum a[s,p] * need[s,p]  <=  sum over stock p: stock[p] * max over s of a[s,p]
//!                           + sum over printers: V(T) of its class
//!                           + sum over minutes t < T: b(t) * operators on shift at t
//!                           + sum over nights k before T: c[k] * printers the night may hold
//! ```
//!
//! because each run's value minus its prices is part of a path, and what was subtracted for operators and nights is
//! at most what there is of them. Where the inequality fails, `T` is impossible. Both sides are sums of integers, so
//! the test is exact; and since one *forward* pass gives `V(T)` for every `T` at once, any prices yield the first `T`
//! that they do not exclude ([`reach`]). The linear program only proposes prices; nothing of it is trusted.
//!
//! # How good prices are found
//!
//! The master ([`master`], in HiGHS) asks for the greatest share of all needs that a fractional plan can meet by `T`;
//! its duals are the prices, and a longest path against them is a new column. `T` climbs: as long as the prices exclude
//! it, it moves to the first makespan they do not exclude; once the share reaches one, no prices exclude `T`, and that
//! is the bound of this relaxation.

pub mod bound;
pub mod chains;
pub mod cuts;
pub mod idle;
pub mod master;
pub mod mornings;
pub mod packing;
mod pools;
pub mod prices;
pub mod pricing;
pub mod reach;
pub mod rounds;
pub mod ties;
