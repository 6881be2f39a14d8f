//! What a plan leaves to luck, and the luck of a day on which all goes as it should.

use crate::problem::Min;

/// How a print goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Printing {
    /// How long it takes.
    pub minutes: Min,
    /// After how many minutes all is lost, if it is.
    pub lost_after: Option<Min>,
    /// How long the printer is then under repair, where it broke down.
    pub repair: Option<Min>,
}

/// What the plan leaves to luck.
pub trait Luck {
    /// A print of a mode on a printer that should take so many minutes.
    fn print(&mut self, mode: usize, printer: usize, minutes: Min) -> Printing;
    /// How many of these copies of a part are good.
    fn good(&mut self, part: usize, copies: i64) -> i64;
    /// How many minutes late somebody comes to a shift.
    fn late(&mut self) -> Min;
}

/// All goes as it should.
#[derive(Debug, Clone, Copy)]
pub struct Certain;

impl Luck for Certain {
    fn print(&mut self, _: usize, _: usize, minutes: Min) -> Printing {
        Printing { minutes, lost_after: None, repair: None }
    }
    fn good(&mut self, _: usize, copies: i64) -> i64 {
        copies
    }
    fn late(&mut self) -> Min {
        0
    }
}
