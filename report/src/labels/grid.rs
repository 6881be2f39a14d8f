//! Where labels lie on a sheet: as many columns and rows as fit, in the middle, as bought label sheets have them.

use crate::paper::Paper;
use std::fmt;

/// The label sheets in the printer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// The sheet.
    pub paper: Paper,
    /// Width and height of a label, in millimetres.
    pub label: (f64, f64),
    /// Between columns and between rows, in millimetres.
    pub gap: (f64, f64),
}

/// The places of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    stock: Stock,
    columns: usize,
    rows: usize,
}

/// Why labels cannot be laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Misfit {
    /// Smaller than a code that a phone reads.
    TooSmall,
    /// Larger than the sheet.
    TooLarge(Paper),
}

/// The least width and height, in millimetres: a code of 12 mm with room for its number beside it.
const LEAST: (f64, f64) = (30.0, 14.0);

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Misfit::TooSmall => f.write_str("the labels are too small for a code that can be read"),
            Misfit::TooLarge(paper) => write!(f, "no label of that size fits on {}", paper.name()),
        }
    }
}

impl Misfit {
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            Misfit::TooSmall => format!("use labels of at least {}x{} mm", LEAST.0, LEAST.1),
            Misfit::TooLarge(paper) => {
                let (width, height) = paper.size();
                format!("a sheet of {} has {width}x{height} mm", paper.name())
            }
        }
    }
}

impl Grid {
    /// The places of a sheet of that stock.
    ///
    /// # Errors
    /// Labels that are too small to be read or too large for the sheet.
    pub fn of(stock: &Stock) -> Result<Grid, Misfit> {
        if stock.label.0 < LEAST.0 || stock.label.1 < LEAST.1 {
            return Err(Misfit::TooSmall);
        }
        let (width, height) = stock.paper.size();
        // A thousandth for lengths that add up to the sheet exactly.
        let fit = |room: f64, label: f64, gap: f64| ((room + gap + 0.001) / (label + gap)).floor() as usize;
        let (columns, rows) = (fit(width, stock.label.0, stock.gap.0), fit(height, stock.label.1, stock.gap.1));
        if columns == 0 || rows == 0 {
            Err(Misfit::TooLarge(stock.paper))
        } else {
            Ok(Grid { stock: *stock, columns, rows })
        }
    }

    /// How many labels a sheet has.
    pub fn per_sheet(&self) -> usize {
        self.columns * self.rows
    }

    /// How many sheets so many labels take, with some places of the first gone.
    pub fn sheets(&self, labels: usize, skip: usize) -> usize {
        if labels == 0 { 0 } else { (labels + skip % self.per_sheet()).div_ceil(self.per_sheet()) }
    }

    /// The sheet.
    pub fn paper(&self) -> Paper {
        self.stock.paper
    }

    /// How many columns.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Everything that the page's style wants to know, as CSS variables in millimetres.
    pub fn variables(&self) -> String {
        let (width, height) = self.stock.paper.size();
        let ((label_width, label_height), (gap_x, gap_y)) = (self.stock.label, self.stock.gap);
        let margin = |room: f64, count: usize, label: f64, gap: f64| {
            let count = count as f64;
            ((room - count * label - (count - 1.0) * gap) / 2.0).max(0.0)
        };
        let (left, top) =
            (margin(width, self.columns, label_width, gap_x), margin(height, self.rows, label_height, gap_y));
        // The code takes the label's height up to what the words leave of its width.
        let code = (label_height - 4.0).min(label_width * 0.42).min(40.0);
        format!(
            "--sheet-w:{width}mm;--sheet-h:{height}mm;--label-w:{label_width}mm;--label-h:{label_height}mm;\
             --gap-x:{gap_x}mm;--gap-y:{gap_y}mm;--left:{left:.3}mm;--top:{top:.3}mm;--code:{code:.2}mm;--columns:{}",
            self.columns
        )
    }
}
