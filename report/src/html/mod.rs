//! Pages for a browser and a printer: one file each, without a request to anywhere, made from a plan that was checked.
//!
//! [`frame`] is what all of them share: the head, the look, and a policy that forbids everything but the page's own
//! style and its own script. Templates escape by themselves; what they are given has passed [`shown`] first, so that a name
//! out of a table can neither end a tag nor turn the writing round. [`moment`] says times and figures so that programs can
//! read them back off the page, [`table`] shows them in rows, and [`cautions`] is the short list that belongs on everything a crew works by.

pub mod axis;
pub mod cautions;
pub mod frame;
pub mod ink;
pub mod moment;
pub mod plan;
pub mod table;

pub use crate::page::plain as shown;
