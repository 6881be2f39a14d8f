//! The usual cautions, short enough to be read on the wall of the shift office.

/// One caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about, as the start of the sentence.
    pub title: &'static str,
    /// What to do.
    pub words: &'static str,
}

/// All of them, the gravest first.
pub const CAUTIONS: [Caution; 8] = [
    Caution {
        title: "Hot machines with nobody there.",
        words: "Printers have started fires. Before the first unattended minute, read what the maker's manual says of \
                it, and settle with insurer, landlord and fire authority what they ask for: detection that reaches \
                somebody, a fire watch, spacing, automatic shut-off.",
    },
    Caution {
        title: "Circuits.",
        words: "Many heaters on one circuit overload it. An electrician says how many printers it carries.",
    },
    Caution {
        title: "Burns.",
        words: "Beds, plates and nozzles stay hot after a print. Let them cool, or wear gloves made for it.",
    },
    Caution {
        title: "Fumes and fine particles.",
        words: "Molten filament gives off both. Ventilate or extract for as many printers as run at once, and follow the \
                filament's safety data sheet. Guidance: NIOSH publication 2024-103.",
    },
    Caution {
        title: "Adhesives and solvents.",
        words: "They burn and irritate. Keep them and their vapour away from hot beds, wear gloves, air the room.",
    },
    Caution { title: "Blades.", words: "Scrapers and knives slip. Cut away from the hand, and wear eye protection." },
    Caution {
        title: "Lifting.",
        words: "Boxes and cartons of filament are heavy. Use a trolley, or pack fewer to a box.",
    },
    Caution {
        title: "Lone and night work.",
        words: "See that somebody knows who is alone in the room. A plan knows nothing of rest, breaks or \
                working-time law.",
    },
];

/// Who has the last word.
pub const WHO_DECIDES: &str = "Local codes, the printer maker, the insurer and licensed practice decide. Where they \
                               allow less than this plan, the plan is wrong: change the tables and plan again.";
