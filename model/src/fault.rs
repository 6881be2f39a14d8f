//! What is wrong with a folder of tables: every fault at once, each with where it is, what was read and what to do.
//!
//! A fault is told in three lines: where it is (with its code, for looking it up), what is wrong in the planner's own
//! words, and what to do.
//!
//! ```text
//! plates.csv, row 7, column minutes   [T203]
//!     "12.5" is not a whole number.
//!     Write the minutes as a whole number, such as 295.
//! ```

use std::fmt;

macro_rules! fault_codes {
    ($($(#[$doc:meta])* $name:ident = $code:literal,)*) => {
        /// What kind of fault it is. Codes are stable: `T0..` files and folders, `T1..` the form of a file, `T2..` one
        /// cell, `T3..` names, `T4..` rows that contradict each other, `T5..` the instance as a whole.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum FaultCode {
            $($(#[$doc])* $name,)*
        }

        impl FaultCode {
            /// Every code, in order.
            pub const ALL: &[FaultCode] = &[$(FaultCode::$name),*];

            /// The code as printed, such as `T203`.
            pub fn code(self) -> &'static str {
                match self {
                    $(FaultCode::$name => $code,)*
                }
            }
        }
    };
}

fault_codes! {
    /// The folder is not there, or is no folder.
    MissingFolder = "T001",
    /// A file that must be there is not.
    MissingFile = "T002",
    /// A `.csv` file that is no table of an instance.
    UnknownFile = "T003",
    /// The system does not let the file be read, or it is no file.
    UnreadableFile = "T004",
    /// The file is larger than any sensible table.
    FileTooLarge = "T005",
    /// The file is not UTF-8 text.
    NotUtf8 = "T006",
    /// The file holds nothing, not even a header row.
    EmptyFile = "T101",
    /// A header row and no rows below it, where there must be some.
    NoRows = "T102",
    /// A column that the table does not have.
    UnknownColumn = "T103",
    /// A column that must be there is not.
    MissingColumn = "T104",
    /// A column that is there twice.
    DuplicateColumn = "T105",
    /// A column with cells and without a name.
    UnnamedColumn = "T106",
    /// A row with more or fewer cells than the header.
    RaggedRow = "T107",
    /// A quote inside an unquoted cell, text after a closing quote, or a quote never closed.
    StrayQuote = "T108",
    /// Cells separated by something else than commas.
    WrongSeparator = "T109",
    /// More rows than a table may have.
    TooManyRows = "T110",
    /// `farm.toml`, or a scenario, is not TOML.
    TomlSyntax = "T111",
    /// A key that `farm.toml`, or a scenario, does not have.
    UnknownKey = "T112",
    /// A key that must be there is not.
    MissingKey = "T113",
    /// A value of the wrong kind: text for a number, a number for text.
    WrongType = "T114",
    /// `plan.json` is not JSON, or not a plan.
    NotAPlan = "T115",
    /// `plan.json` was written in another format.
    UnknownFormat = "T116",
    /// A file that is no workbook, or one that cannot be opened.
    NotAWorkbook = "T120",
    /// An empty cell where something must be.
    BlankCell = "T201",
    /// Text where a number must be.
    NotANumber = "T202",
    /// A fraction where a whole number must be.
    NotWhole = "T203",
    /// A number below zero.
    Negative = "T204",
    /// A number outside its range.
    OutOfRange = "T205",
    /// More decimals than are kept.
    TooManyDecimals = "T206",
    /// A share of one or more, or written in percent.
    NotAShare = "T207",
    /// Text that is no time.
    NotATime = "T208",
    /// A date that the calendar does not have.
    NoSuchDate = "T209",
    /// A wall time that the clocks skip in the farm's zone.
    SkippedTime = "T210",
    /// Text that is no time of day.
    NotATimeOfDay = "T211",
    /// Text that names no days.
    NotDays = "T212",
    /// A name that is too long.
    NameTooLong = "T213",
    /// A control character in a cell.
    ControlCharacter = "T214",
    /// A zone that the IANA list does not have.
    UnknownZone = "T215",
    /// A word that is none of the few allowed.
    UnknownWord = "T216",
    /// A cell of a workbook that shows an error, or a formula that has never been worked out.
    CellError = "T220",
    /// A printer that `printers.csv` does not list.
    UnknownPrinter = "T301",
    /// A group that `printers.csv` does not list.
    UnknownGroup = "T302",
    /// A part that `parts.csv` does not list.
    UnknownPart = "T303",
    /// A plate that `plates.csv` does not list.
    UnknownPlate = "T304",
    /// A kit that `kits.csv` does not list.
    UnknownKit = "T305",
    /// An item of a kit that is neither part nor kit.
    UnknownItem = "T306",
    /// A name that means a printer and a group that holds others too.
    AmbiguousName = "T307",
    /// Two names that differ in capitals only, where no table says which is right.
    LookAlike = "T308",
    /// A kit with the name of a part.
    KitNamedAsPart = "T309",
    /// A shipment that `shipments.csv` does not list.
    UnknownShipment = "T310",
    /// A scenario that the folder does not have.
    UnknownScenario = "T311",
    /// A scenario that changes rows which no table has.
    NoRowMatches = "T312",
    /// A row that is there twice.
    DuplicateRow = "T401",
    /// Two rows that must agree and do not.
    Disagreement = "T402",
    /// An end at or before its start.
    EndBeforeStart = "T403",
    /// A plate with parts of several materials.
    MixedMaterials = "T404",
    /// A running plate that is not listed for its printer's group.
    PlateNotOnGroup = "T405",
    /// Kits that hold each other.
    KitCycle = "T406",
    /// A kit that holds nothing.
    EmptyKit = "T407",
    /// A run of a plan with half a load.
    HalfALoad = "T408",
    /// A cell of a plan that its row's kind of work has no use for.
    StrayCell = "T409",
    /// Shipments that wait for each other.
    ShipmentCycle = "T410",
    /// A hold after no shipment.
    HoldAfterNothing = "T411",
    /// A run harvested or failed that the log never loaded there.
    NeverLoaded = "T420",
    /// A load onto a printer that still holds a plate.
    StillHolds = "T421",
    /// A run logged as loaded or harvested twice.
    LoggedTwice = "T422",
    /// A printer that goes down while it is down.
    DownTwice = "T423",
    /// A printer that comes up and was not down.
    NotDown = "T424",
    /// A logged run that the plan does not have, or has otherwise.
    NotInPlan = "T425",
    /// Counts of a harvest that are not those of its plate.
    WrongCount = "T426",
    /// More parts than can be counted safely.
    TooManyParts = "T501",
    /// A needed part that stock does not cover and no plate makes.
    NoPlateForPart = "T502",
    /// A needed part whose every plate is ruled out by `whole_plates_per_bag`.
    NoPlateClosesBag = "T503",
    /// Nobody is ever on shift.
    NoShift = "T504",
    /// Rows that together ask for more than can be counted safely.
    TooMuch = "T505",
}

impl fmt::Display for FaultCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What kind.
    pub code: FaultCode,
    /// The file's name within the folder.
    pub file: String,
    /// The line in the file, from 1, as an editor counts.
    pub row: Option<u64>,
    /// The column's or key's name.
    pub column: Option<String>,
    /// What is wrong, with the user's own word.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            let word = if self.file.ends_with(".csv") { "column" } else { "key" };
            write!(f, ", {word} {column}")?;
        }
        write!(f, "   [{}]\n    {}\n    {}", self.code, self.message, self.help)
    }
}

/// All faults of a folder, at least one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, fault) in self.0.iter().enumerate() {
            let gap = if n == 0 { "" } else { "\n\n" };
            write!(f, "{gap}{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_in_order() {
        let codes: Vec<&str> = FaultCode::ALL.iter().map(|c| c.code()).collect();
        assert!(codes.is_sorted_by(|a, b| a < b), "{codes:?}");
    }

    #[test]
    fn a_fault_says_where_what_and_what_to_do() {
        let fault = Fault {
            code: FaultCode::NotWhole,
            file: "plates.csv".into(),
            row: Some(7),
            column: Some("minutes".into()),
            message: "\"12.5\" is not a whole number.".into(),
            help: "Round it.".into(),
        };
        assert_eq!(
            Faults(vec![fault.clone(), Fault { file: "farm.toml".into(), row: None, ..fault }]).to_string(),
            "plates.csv, row 7, column minutes   [T203]\n    \"12.5\" is not a whole number.\n    Round it.\n\n\
             farm.toml, key minutes   [T203]\n    \"12.5\" is not a whole number.\n    Round it."
        );
    }
}
