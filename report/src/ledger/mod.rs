//! The ledger: which runs fill which bag, tray and box, in order, when each closes, and who has to count.
//!
//! A *bag* takes one part up to its bag count. A *tray* takes a part that has no bag count, for one shipment, for as long
//! as a day's harvests last, so that a tray is a lot of one day. A *box* takes kits of one shipment row out of bags and
//! trays. Each of them is a lot with a number of its own, which its label carries.
//!
//! Copies go where the plan's allocation sends them; the allocation says how many of a run's copies a shipment gets, not
//! which bag they lie in. That is settled here, in three ways:
//!
//! * Where plates close bags (`whole_plates_per_bag`), a plate goes into one bag, whole. Plates of 8 and of 12 both
//!   close a bag of 24, but not one with the other; so a bag takes plates of one count, and only what is left over at
//!   the end of each count shares bags, the largest first into the first bag with room. A plate whose copies go to two
//!   shipments makes the bag a shared one, together with plates that serve the same shipments: all its copies may go to
//!   any of them, so no copy loaded before a shipment's release gets in by the back door.
//! * Otherwise every shipment has bags of its own, filled in order of harvest, and a plate may end one bag and begin the
//!   next: somebody counts.
//! * Trays are filled as bags without end.
//!
//! Boxes take copies in the order in which they become usable, in the order in which the boxes are packed. The rule PACK
//! says that the boxes begun so far never need more than is usable by then, so a box finds its parts there.
//!
//! A plan made anew leaves what was begun before its moment the numbers that are on the labels ([`begun`]) and goes on counting after them.
//!
//! What a run yields beyond its allocation is put by for the shelf, in lots of its own. Stock that nobody is given stays
//! where it is and has no lot.

mod begun;
mod boxes;
mod fill;
pub mod html;
mod mark;
mod supply;
pub mod told;
pub mod trace;
pub mod words;

#[cfg(test)]
mod tests;

use platewright_model::plan::Source;
use platewright_model::{Count, Instance, Instant, Plan};
use std::fmt;

pub use begun::labelled;

/// Most bags, trays and boxes in a ledger; beyond it the bag counts are a slip.
pub const MOST_LOTS: u64 = 1_000_000;

/// All lots of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ledger {
    /// Four characters that tell this plan's lots from those of another; every lot's number ends with it.
    pub mark: String,
    /// Bags and trays, in the order in which they are begun.
    pub lots: Vec<Lot>,
    /// Boxes, and the kits of rows without boxes, in the order in which they are packed.
    pub boxes: Vec<BoxLot>,
}

/// What holds parts until they are boxed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Holder {
    /// Closes at the part's bag count.
    Bag,
    /// Of one day's harvests.
    Tray,
}

impl Holder {
    /// `bag` or `tray`.
    pub fn word(self) -> &'static str {
        match self {
            Holder::Bag => "bag",
            Holder::Tray => "tray",
        }
    }
}

/// A bag or a tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// Its number, `BAG-0001-7F3A`: unique in the farm, up to the mark.
    pub id: String,
    /// Which of the two.
    pub holder: Holder,
    /// The part's name.
    pub part: String,
    /// The bag count; none for a tray.
    pub capacity: Option<Count>,
    /// What goes in, in order.
    pub fills: Vec<Fill>,
    /// The first piece goes in.
    pub opens: Instant,
    /// The last piece is in and usable.
    pub closes: Instant,
}

impl Lot {
    /// How many pieces it ends up with.
    pub fn count(&self) -> Count {
        self.fills.iter().map(Fill::count).fold(Count(0), |sum, count| sum + count)
    }

    /// Whether it ends up with as many as it takes; a tray is never full.
    pub fn is_full(&self) -> bool {
        self.capacity == Some(self.count())
    }

    /// Whether somebody has to count pieces into it, because a plate is parted or stock is taken.
    pub fn is_counted(&self) -> bool {
        self.fills.iter().any(|fill| !fill.whole)
    }

    /// Who gets how many of its pieces, each once, in order of first appearance.
    pub fn gives(&self) -> Vec<Give> {
        let mut gives: Vec<Give> = Vec::new();
        for give in self.fills.iter().flat_map(|fill| &fill.gives) {
            match gives.iter_mut().find(|known| known.shipment == give.shipment) {
                Some(known) => known.count += give.count,
                None => gives.push(give.clone()),
            }
        }
        gives
    }
}

/// What one source puts into a bag or tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fill {
    /// A run, or stock.
    pub source: Source,
    /// Whose pieces they are.
    pub gives: Vec<Give>,
    /// Whether it is all that the plate yields of the part.
    pub whole: bool,
    /// When the pieces come off: harvest end, or the start for stock.
    pub at: Instant,
    /// When they are inspected and usable.
    pub usable: Instant,
}

impl Fill {
    /// How many pieces.
    pub fn count(&self) -> Count {
        self.gives.iter().fold(Count(0), |sum, give| sum + give.count)
    }
}

/// Pieces for a shipment, or for the shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Give {
    /// The shipment's name; none: surplus, for the shelf.
    pub shipment: Option<String>,
    /// How many.
    pub count: Count,
}

/// A box, or the kits of a shipment row that is not boxed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxLot {
    /// Its number, `BOX-0001-7F3A`, or `LOOSE-0001-7F3A` where the row has no boxes.
    pub id: String,
    /// The shipment's name.
    pub shipment: String,
    /// The kit's name.
    pub kit: String,
    /// How many kits.
    pub kits: Count,
    /// The how manieth box of its row, of how many; none where the row has no boxes.
    pub number: Option<(u64, u64)>,
    /// When it is packed and by whom; none where packing takes no operator.
    pub packing: Option<Packing>,
    /// When it is closed: the packing ends, or all its parts are usable.
    pub closes: Instant,
    /// What is in it, in the order of parts.
    pub contents: Vec<Content>,
}

/// An operator's stretch at the packing table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packing {
    /// Who.
    pub operator: String,
    /// Start.
    pub from: Instant,
    /// End.
    pub to: Instant,
}

/// Pieces of one part in a box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Content {
    /// The part's name.
    pub part: String,
    /// Where they are taken from, in order.
    pub pieces: Vec<Pieces>,
}

impl Content {
    /// How many pieces.
    pub fn count(&self) -> Count {
        self.pieces.iter().fold(Count(0), |sum, pieces| sum + pieces.count)
    }
}

/// Pieces of one source out of one bag or tray.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pieces {
    /// Position in [`Ledger::lots`].
    pub lot: usize,
    /// The run, or stock, that they come from.
    pub source: Source,
    /// How many.
    pub count: Count,
}

/// The bag counts ask for more lots than anybody could label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooManyLots;

impl fmt::Display for TooManyLots {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the plan fills more than {MOST_LOTS} bags, trays and boxes")
    }
}

/// The ledger of a plan. What the plan says of names that the instance does not know is left out.
///
/// # Errors
/// More than [`MOST_LOTS`] lots.
pub fn ledger(instance: &Instance, plan: &Plan) -> Result<Ledger, TooManyLots> {
    let mark = mark::of(plan);
    let supplies = supply::supplies(instance, plan);
    let mut lots = fill::lots(instance, plan, &supplies)?;
    // Stable: of what is begun in one minute, parts keep the order of their table.
    lots.sort_by_key(|lot| lot.opens);
    let (mut bags, mut trays) = (highest("BAG", &lots), highest("TRAY", &lots));
    for lot in lots.iter_mut().filter(|lot| lot.id.is_empty()) {
        let (word, number) = match lot.holder {
            Holder::Bag => ("BAG", &mut bags),
            Holder::Tray => ("TRAY", &mut trays),
        };
        *number += 1;
        lot.id = format!("{word}-{number:04}-{mark}");
    }
    let boxes = boxes::boxes(instance, plan, &lots, &mark)?;
    Ok(Ledger { mark, lots, boxes })
}

/// The highest number of those that have one.
fn highest(word: &str, lots: &[Lot]) -> u64 {
    lots.iter().filter_map(|lot| number_of(word, &lot.id)).max().unwrap_or(0)
}

/// The 6 of `BAG-0006-3F9D`.
fn number_of(word: &str, id: &str) -> Option<u64> {
    id.strip_prefix(word)?.strip_prefix('-')?.split('-').next()?.parse().ok()
}
