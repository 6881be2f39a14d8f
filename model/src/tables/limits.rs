//! How large a farm and an order may be. Each limit is far above any print room, and together they keep every sum and
//! product of minutes, counts and weights within an `i64`, and most within the exact range of an `f64`.

use super::number::{Amount, Whole};

/// Bytes in a table or in `plan.json`.
pub(crate) const TABLE_BYTES: u64 = 256 * 1024 * 1024;
/// Bytes in `farm.toml`.
pub(crate) const FARM_BYTES: u64 = 100 * 1024;
/// Rows in one table.
pub(crate) const ROWS: usize = 1_000_000;
/// Rows in `printers.csv`.
pub(crate) const PRINTERS: usize = 5_000;
/// Downtimes once a group's rows are repeated for each of its printers.
pub(crate) const DOWNTIMES: usize = 1_000_000;
/// Operators over all rows of `shifts.csv`.
pub(crate) const ALL_OPERATORS: u64 = 2_000;
/// Parts in all shipments together, and in one kit.
pub(crate) const ALL_PARTS: u64 = 100_000_000;
/// Weights of all shipments together.
pub(crate) const ALL_WEIGHTS: u64 = 1_000_000;
/// Characters in a name.
pub(crate) const NAME_CHARS: usize = 200;
/// Characters in a note or reason.
pub(crate) const NOTE_CHARS: usize = 2_000;
/// The first and last year of any date.
pub(crate) const YEARS: std::ops::RangeInclusive<i32> = 2000..=2099;
/// How far a due date may lie from the start, in minutes: five years.
pub(crate) const DUE_WITHIN_MINUTES: i64 = 5 * 366 * 1440;

const LONG: &str = "Check the figure and that it is in minutes.";

/// `horizon_days`.
pub(crate) const HORIZON_DAYS: Whole =
    Whole { what: "the horizon in days", least: 1, most: 730, help: "Plan at most two years ahead; 60 days is usual." };
/// `[handling]`, `load_minutes`, `harvest_minutes`.
pub(crate) const HANDLING: Whole = Whole { what: "the minutes of one operator", least: 0, most: 1_440, help: LONG };
/// `minutes`.
pub(crate) const PLATE_MINUTES: Whole = Whole {
    what: "a plate's printing time in minutes",
    least: 1,
    most: 14_400,
    help: "A plate prints for at least a minute and at most ten days.",
};
/// `cool_minutes`.
pub(crate) const COOL_MINUTES: Whole =
    Whole { what: "the cooling time in minutes", least: 0, most: 14_400, help: LONG };
/// `finish_minutes`.
pub(crate) const FINISH_MINUTES: Whole =
    Whole { what: "the finishing time in minutes", least: 0, most: 129_600, help: LONG };
/// `unattended.max_minutes`.
pub(crate) const UNATTENDED_MINUTES: Whole =
    Whole { what: "the longest unattended stretch in minutes", least: 0, most: 1_051_200, help: LONG };
/// `unattended.max_printers`.
pub(crate) const UNATTENDED_PRINTERS: Whole = Whole {
    what: "the number of printers printing unattended",
    least: 0,
    most: 1_000_000,
    help: "Leave the key out where all printers may.",
};
/// `copies`.
pub(crate) const COPIES: Whole = Whole {
    what: "the copies on a plate",
    least: 1,
    most: 1_000_000,
    help: "Write how many copies of the part one plate holds, or delete the row.",
};
/// `per_bag`.
pub(crate) const PER_BAG: Whole = Whole {
    what: "the parts in a bag",
    least: 1,
    most: 1_000_000,
    help: "Leave the cell blank for a part that is not bagged.",
};
/// `per_box`.
pub(crate) const PER_BOX: Whole = Whole {
    what: "the kits in a box",
    least: 1,
    most: 1_000_000,
    help: "Leave the cell blank where nothing is boxed.",
};
/// `quantity` in `kits.csv`.
pub(crate) const ITEM_QUANTITY: Whole = Whole {
    what: "how many of an item a kit holds",
    least: 1,
    most: 1_000_000,
    help: "Write how many one kit holds, or delete the row.",
};
/// `quantity` in `shipments.csv`.
pub(crate) const KIT_QUANTITY: Whole = Whole {
    what: "the kits in a shipment",
    least: 1,
    most: 1_000_000,
    help: "Check the figure; split a larger order and plan it in steps, and delete a row that ships nothing.",
};
/// `quantity` in `stock.csv`.
pub(crate) const STOCK_QUANTITY: Whole =
    Whole { what: "the parts in stock", least: 0, most: 100_000_000, help: "Check the figure; no order can use more." };
/// `operators`.
pub(crate) const OPERATORS: Whole = Whole {
    what: "the operators on a shift",
    least: 1,
    most: 1_000,
    help: "Write how many people are on the shift; delete the row of a shift that nobody works.",
};
/// `count` in a plan.
pub(crate) const ALLOCATED: Whole = Whole {
    what: "the parts given to a shipment",
    least: 1,
    most: 100_000_000,
    help: "Delete a row that gives nothing.",
};
/// `spare` in a plan, and `count` beside spares.
pub(crate) const SPARE: Whole = Whole {
    what: "the copies given or kept",
    least: 0,
    most: 100_000_000,
    help: "Check the figure; no run holds so many.",
};
/// `good` and `rejected` in the log.
pub(crate) const COUNTED: Whole =
    Whole { what: "the copies counted", least: 0, most: 1_000_000, help: "Count the copies of this plate alone." };
/// `late_minutes` in a plan: a century.
pub(crate) const LATE_MINUTES: Whole =
    Whole { what: "the lateness in minutes", least: 0, most: 100 * 366 * 1440, help: LONG };
/// The largest figure of minutes that `plan.json` may claim; sums and differences of two stay within an `i64`.
pub(crate) const CLAIMED: i64 = 1_000_000_000_000_000;
/// `grams`.
pub(crate) const GRAMS: Amount = Amount { what: "the grams in one copy", most: 1_000_000.0 };
/// `[costs]`.
pub(crate) const MONEY: Amount = Amount { what: "the figure", most: 1_000_000_000.0 };
/// `hold_hours`: a year.
pub(crate) const HOLD_HOURS: Amount = Amount { what: "the hours of a hold", most: 8_760.0 };
/// `rehearsal.print_spread`.
pub(crate) const SPREAD: Amount = Amount { what: "the spread of print times", most: 1.0 };
/// `rehearsal.late_minutes`.
pub(crate) const LATE: Amount = Amount { what: "the minutes that people come late", most: 240.0 };
/// `rehearsal.breaks_after_hours` and `rehearsal.repair_hours`.
pub(crate) const HOURS: Amount = Amount { what: "the hours", most: 1_000_000.0 };
/// `weight`.
pub(crate) const WEIGHT: Amount = Amount { what: "a shipment's weight", most: 1_000_000.0 };
