//! Changes to an instance that are made while its folder is read, before anything is validated.
//!
//! A scenario ("two shifts", "six more printers") and a question ("what if this order came too?") are the same thing: a
//! few changes to keys of `farm.toml` and to rows of the tables. An [`Overlay`] holds them as text, as the planner would
//! have written them, so that whatever is wrong with them is found by the same eyes as anything in a table, and told
//! with the file and the row that the change stands on. Nothing is changed on disk, and an instance is never changed
//! after it was read.
//!
//! ```no_run
//! use platewright_model::overlay::{Overlay, Table, Which};
//! use platewright_model::tables;
//! use std::path::Path;
//!
//! let mut more = Overlay::new("one more on Saturday");
//! more.set("handling.load", 2)
//!     .change(Table::Shifts, Which::cells([("crew", "early"), ("days", "Sat")]), [("operators", "2")])
//!     .more_printers("small", 6);
//! let instance = tables::read_with(Path::new("instances/harbour-week"), &[more])?;
//! # Ok::<(), platewright_model::Faults>(())
//! ```

use std::fmt::Display;
use std::sync::Arc;

/// A table of an instance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    /// `printers.csv`.
    Printers,
    /// `downtime.csv`.
    Downtime,
    /// `parts.csv`.
    Parts,
    /// `plates.csv`.
    Plates,
    /// `kits.csv`.
    Kits,
    /// `shipments.csv`.
    Shipments,
    /// `shifts.csv`.
    Shifts,
    /// `closures.csv`.
    Closures,
    /// `stock.csv`.
    Stock,
    /// `running.csv`.
    Running,
}

impl Table {
    /// Every table, in the order in which they are read.
    pub const ALL: [Table; 10] = [
        Table::Printers,
        Table::Downtime,
        Table::Parts,
        Table::Plates,
        Table::Kits,
        Table::Shipments,
        Table::Shifts,
        Table::Closures,
        Table::Stock,
        Table::Running,
    ];

    /// The file's name without its ending: `shifts`.
    pub fn word(self) -> &'static str {
        match self {
            Table::Printers => "printers",
            Table::Downtime => "downtime",
            Table::Parts => "parts",
            Table::Plates => "plates",
            Table::Kits => "kits",
            Table::Shipments => "shipments",
            Table::Shifts => "shifts",
            Table::Closures => "closures",
            Table::Stock => "stock",
            Table::Running => "running",
        }
    }
}

/// A cell as a change writes or looks for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cell {
    pub(crate) column: String,
    pub(crate) text: String,
    /// The row of the scenario's file.
    pub(crate) row: Option<u64>,
}

/// Which rows of a table are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Which(pub(crate) Selection);

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Selection {
    /// Rows with all of these cells; every row where there are none.
    Cells(Vec<Cell>),
    /// The row at a position, from 0, comments and blank lines not counted.
    Nth(usize),
}

impl Which {
    /// The rows in which every one of these columns holds this text, as the table spells it. At least one must.
    pub fn cells<'t>(cells: impl IntoIterator<Item = (&'t str, &'t str)>) -> Which {
        Which(Selection::Cells(owned(cells)))
    }

    /// The row at a position in the table, from 0, comments and blank lines not counted: the position of a
    /// [`ShiftRow`](crate::instance::ShiftRow) in [`Instance::shifts`](crate::Instance::shifts), say.
    pub fn nth(row: usize) -> Which {
        Which(Selection::Nth(row))
    }
}

/// One change to one table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Change {
    pub(crate) table: Table,
    /// The row of the scenario's file.
    pub(crate) row: Option<u64>,
    pub(crate) what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum What {
    /// All rows leave.
    Clear,
    Add(Vec<Cell>),
    Drop(Which),
    Set(Which, Vec<Cell>),
    /// So many more printers of a group.
    More(Cell),
    /// So many fewer.
    Fewer(Cell),
}

/// Keys that stand in for those of `farm.toml`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct FarmKeys {
    /// TOML.
    pub(crate) text: String,
    /// Whether the keys stand in the section `[farm]` of the text; else they are all of it.
    pub(crate) in_section: bool,
}

/// A set of changes, made in the order in which they were asked for; `farm.toml`'s last value of a key stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overlay {
    pub(crate) file: Arc<str>,
    pub(crate) farm: Vec<FarmKeys>,
    pub(crate) changes: Vec<Change>,
}

impl Overlay {
    /// No change yet. `file` is where faults in the changes are said to be: a file's name, or words such as
    /// `the order asked for`.
    pub fn new(file: &str) -> Overlay {
        Overlay { file: Arc::from(file), farm: Vec::new(), changes: Vec::new() }
    }

    /// Sets a key of `farm.toml`, with its section: `handling.load`. Text is given as TOML, in double quotes.
    pub fn set(&mut self, key: &str, value: impl Display) -> &mut Overlay {
        self.farm.push(FarmKeys { text: format!("{key} = {value}"), in_section: false });
        self
    }

    /// Adds a row below the others; columns left out are blank.
    pub fn add<'t>(&mut self, table: Table, cells: impl IntoIterator<Item = (&'t str, &'t str)>) -> &mut Overlay {
        self.push(table, What::Add(owned(cells)))
    }

    /// Takes rows out.
    pub fn drop(&mut self, table: Table, which: Which) -> &mut Overlay {
        self.push(table, What::Drop(which))
    }

    /// Writes other text into cells of rows; an empty text blanks a cell (a shipment without its due date).
    pub fn change<'t>(
        &mut self,
        table: Table,
        which: Which,
        cells: impl IntoIterator<Item = (&'t str, &'t str)>,
    ) -> &mut Overlay {
        self.push(table, What::Set(which, owned(cells)))
    }

    /// Adds so many printers to a group, called `GROUP+1`, `GROUP+2` and so on, in no bay and with no material loaded.
    pub fn more_printers(&mut self, group: &str, count: usize) -> &mut Overlay {
        let cell = Cell { column: group.to_owned(), text: count.to_string(), row: None };
        self.push(Table::Printers, What::More(cell))
    }

    /// Takes so many printers of a group away, the last of the table first, with their rows in `downtime.csv`; those
    /// that have a run on them at the start stay.
    pub fn fewer_printers(&mut self, group: &str, count: usize) -> &mut Overlay {
        let cell = Cell { column: group.to_owned(), text: count.to_string(), row: None };
        self.push(Table::Printers, What::Fewer(cell))
    }

    /// Whether nothing is changed.
    pub fn is_empty(&self) -> bool {
        self.farm.is_empty() && self.changes.is_empty()
    }

    fn push(&mut self, table: Table, what: What) -> &mut Overlay {
        self.changes.push(Change { table, row: None, what });
        self
    }
}

fn owned<'t>(cells: impl IntoIterator<Item = (&'t str, &'t str)>) -> Vec<Cell> {
    let cell = |(column, text): (&str, &str)| Cell { column: column.to_owned(), text: text.to_owned(), row: None };
    cells.into_iter().map(cell).collect()
}
