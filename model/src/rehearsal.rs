//! What goes wrong in a rehearsal, beside the failure and reject rates of the tables (`[rehearsal]` in `farm.toml`).

/// The section's figures. The defaults are common practice, no source: a farm that counts its own does better.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehearsal {
    /// Standard deviation of a print's minutes, as a share of them; 0: exactly as long as stated.
    pub print_spread: f64,
    /// Mean minutes that somebody comes late to a shift; 0: never.
    pub late_minutes: f64,
    /// Mean printing hours between breakdowns of one printer; 0: never.
    pub breaks_after_hours: ByGroup,
    /// Mean hours from a breakdown until the printer can be used again.
    pub repair_hours: ByGroup,
}

impl Default for Rehearsal {
    fn default() -> Rehearsal {
        Rehearsal {
            print_spread: 0.02,
            late_minutes: 3.0,
            breaks_after_hours: ByGroup { all: 1000.0, named: Vec::new() },
            repair_hours: ByGroup { all: 6.0, named: Vec::new() },
        }
    }
}

/// A figure that a group may have for itself.
#[derive(Debug, Clone, PartialEq)]
pub struct ByGroup {
    /// Of groups that have none for themselves.
    pub all: f64,
    /// Groups by name, and theirs.
    pub named: Vec<(String, f64)>,
}

impl ByGroup {
    /// The figure of a group.
    pub fn of(&self, group: &str) -> f64 {
        self.named.iter().find(|(name, _)| name == group).map_or(self.all, |(_, figure)| *figure)
    }
}
