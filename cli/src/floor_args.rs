//! What can be asked on the command line for the people on the floor: sheets, labels, the ledger, packing lists.

use clap::{Args as ClapArgs, ValueEnum};
use std::path::PathBuf;

/// Where the tables and the plan are.
#[derive(Debug, ClapArgs)]
pub struct Of {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// The folder with the plan's files
    #[arg(value_name = "PLAN_DIR")]
    pub plan: PathBuf,
}

/// `sheets`.
#[derive(Debug, ClapArgs)]
pub struct SheetsArgs {
    /// Of which farm and plan.
    #[command(flatten)]
    pub of: Of,

    /// The shift: the date on which it begins and the crew, such as 2026-03-02/early [default: all shifts]
    #[arg(long, value_name = "DATE/CREW")]
    pub shift: Option<String>,

    /// Write the sheets as a page to print, and say on standard output only which
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,

    /// The paper that the page is for; without it, the printer's own
    #[arg(long, value_enum, requires = "html")]
    pub paper: Option<Paper>,

    /// Print one JSON object on standard output instead of the words
    #[arg(long)]
    pub json: bool,
}

/// `ledger`.
#[derive(Debug, ClapArgs)]
#[command(group = clap::ArgGroup::new("what").args(["lot", "run", "printer", "csv"]))]
pub struct LedgerArgs {
    /// Of which farm and plan.
    #[command(flatten)]
    pub of: Of,

    /// Trace one bag, tray or box back to its printers
    #[arg(long, value_name = "NUMBER")]
    pub lot: Option<String>,

    /// Trace a run to the bags, trays and boxes that it went into
    #[arg(long, value_name = "RUN")]
    pub run: Option<String>,

    /// Trace what a printer had on to its bags, trays and boxes; with --from and --to, in those hours
    #[arg(long, value_name = "PRINTER")]
    pub printer: Option<String>,

    /// From when, such as 2026-03-02T07:00
    #[arg(long, value_name = "TIME", requires = "printer")]
    pub from: Option<String>,

    /// Until when
    #[arg(long, value_name = "TIME", requires = "printer")]
    pub to: Option<String>,

    /// Print a table instead of the words
    #[arg(long, value_enum, value_name = "TABLE", conflicts_with = "json")]
    pub csv: Option<LedgerTable>,

    /// Print one JSON object on standard output instead of the words
    #[arg(long)]
    pub json: bool,
}

/// The ledger's tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LedgerTable {
    /// What each run puts into which bag or tray
    Lots,
    /// What each box takes out of which bag or tray
    Boxes,
}

/// `packing`.
#[derive(Debug, ClapArgs)]
pub struct PackingArgs {
    /// Of which farm and plan.
    #[command(flatten)]
    pub of: Of,

    /// Only this shipment [default: all]
    #[arg(long, value_name = "SHIPMENT")]
    pub shipment: Option<String>,

    /// Write the lists as a page to print
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,

    /// The paper that the page is for; without it, the printer's own
    #[arg(long, value_enum, requires = "html")]
    pub paper: Option<Paper>,
}

/// `labels`.
#[derive(Debug, ClapArgs)]
pub struct LabelsArgs {
    /// Of which farm and plan.
    #[command(flatten)]
    pub of: Of,

    /// Where to write the page of labels
    #[arg(long, value_name = "FILE")]
    pub html: PathBuf,

    /// Only for these [default: bags, trays and boxes]
    #[arg(long, value_enum, value_delimiter = ',', value_name = "KINDS")]
    pub only: Vec<LabelKind>,

    /// Only those that a shift begins, such as 2026-03-02/early
    #[arg(long, value_name = "DATE/CREW")]
    pub shift: Option<String>,

    /// Width and height of a label in millimetres
    #[arg(long, value_name = "WxH", default_value = "63.5x38.1", value_parser = millimetres)]
    pub size: (f64, f64),

    /// The gaps between columns and between rows in millimetres; what is left of the sheet is margin
    #[arg(long, value_name = "WxH", default_value = "2.5x0", value_parser = millimetres)]
    pub gap: (f64, f64),

    /// How many labels of the first sheet are gone already
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub skip: usize,

    /// The sheet
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    pub paper: Paper,
}

/// What a label is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LabelKind {
    /// Bags
    Bags,
    /// Trays
    Trays,
    /// Boxes
    Boxes,
}

/// A paper size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216)
    A4,
    /// 8.5 by 11 inches
    Letter,
}

impl From<Paper> for platewright_report::paper::Paper {
    fn from(paper: Paper) -> platewright_report::paper::Paper {
        match paper {
            Paper::A4 => platewright_report::paper::Paper::A4,
            Paper::Letter => platewright_report::paper::Paper::Letter,
        }
    }
}

/// Two lengths: `63.5x38.1`.
fn millimetres(words: &str) -> Result<(f64, f64), String> {
    let length = |word: &str| word.trim().parse::<f64>().ok().filter(|l| (0.0..=1000.0).contains(l));
    let both = words.split_once(['x', 'X', '×']).and_then(|(width, height)| length(width).zip(length(height)));
    both.ok_or_else(|| "write width and height in millimetres, such as 63.5x38.1".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_two_numbers() {
        assert_eq!(millimetres("63.5x38.1"), Ok((63.5, 38.1)));
        assert_eq!(millimetres("2.5×0"), Ok((2.5, 0.0)));
        for words in ["63.5", "x", "1x", "-1x3", "nanx1", "1e9x1", "ax b"] {
            assert!(millimetres(words).is_err(), "{words}");
        }
    }
}
