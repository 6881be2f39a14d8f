//! The rules of a valid plan, by name.
//!
//! A rule is one variant here; the checker matches on all of them, so that a rule someone forgot does not compile.

use serde::{Deserialize, Serialize};
use std::fmt;

/// One rule of a valid plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum Rule {
    /// A load (with its changeover) and a harvest each take one named operator, without a pause, inside one stretch.
    Handling,
    /// An operator does one task at a time; a crew has as many operators as its shift row says.
    Operator,
    /// Runs on one printer do not overlap, from load start to harvest end.
    Printer,
    /// Printing starts when the load ends; harvest starts at ready or later.
    Ready,
    /// A plate runs only on groups it lists, with that group's minutes.
    Group,
    /// A run whose material differs from the printer's pays the changeover first.
    Material,
    /// No load, print, cooling or harvest touches a printer's downtime.
    Downtime,
    /// The limits on unattended printing hold in every minute.
    Unattended,
    /// A run loaded before a shipment's release contributes nothing to it.
    Release,
    /// A shipment that comes after another takes nothing loaded before that one was ready and held.
    After,
    /// Every need is met exactly, in whole parts, from named runs or stock, and no source gives more than it has.
    Allocation,
    /// With a confidence, each shipment's copies suffice with that chance, and its spares are there in time.
    Spares,
    /// Boxes are packed by an operator, from parts that are usable.
    Pack,
    /// A shipment is ready when its parts are usable and its boxes are packed, no earlier.
    Readiness,
    /// With whole plates per bag, only plates that divide the bag count are used.
    Bag,
    /// What a plan made in mid-week says of the time before it is what the log says.
    Log,
    /// Every figure the plan states of itself is what the checker computes.
    Claim,
}

impl Rule {
    /// All rules, in the order the checker reports them.
    pub const ALL: [Rule; 17] = [
        Rule::Handling,
        Rule::Operator,
        Rule::Printer,
        Rule::Ready,
        Rule::Group,
        Rule::Material,
        Rule::Downtime,
        Rule::Unattended,
        Rule::Release,
        Rule::After,
        Rule::Allocation,
        Rule::Spares,
        Rule::Pack,
        Rule::Readiness,
        Rule::Bag,
        Rule::Log,
        Rule::Claim,
    ];

    /// The rule's code as files and screens show it.
    pub fn code(self) -> &'static str {
        match self {
            Rule::Handling => "HANDLING",
            Rule::Operator => "OPERATOR",
            Rule::Printer => "PRINTER",
            Rule::Ready => "READY",
            Rule::Group => "GROUP",
            Rule::Material => "MATERIAL",
            Rule::Downtime => "DOWNTIME",
            Rule::Unattended => "UNATTENDED",
            Rule::Release => "RELEASE",
            Rule::After => "AFTER",
            Rule::Allocation => "ALLOCATION",
            Rule::Spares => "SPARES",
            Rule::Pack => "PACK",
            Rule::Readiness => "READINESS",
            Rule::Bag => "BAG",
            Rule::Log => "LOG",
            Rule::Claim => "CLAIM",
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}
