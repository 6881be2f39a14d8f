//! What each column of each table holds, and where the names in it come from.

use platewright_model::log;

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Words: names and notes.
    Text,
    /// A whole number.
    Whole,
    /// A number with decimals.
    Number,
    /// `true` or `false`.
    Flag,
    /// A wall time.
    Moment,
    /// A date.
    Date,
    /// A time of day, up to 24:00.
    Time,
    /// Days of the week, or a date.
    Days,
}

/// Where the names in a column come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum List {
    /// The printers.
    Printers,
    /// The groups, or single printers.
    GroupsAndPrinters,
    /// The groups.
    Groups,
    /// The materials of the parts.
    Materials,
    /// The parts.
    Parts,
    /// Parts and kits.
    Items,
    /// The kits.
    Kits,
    /// The plates.
    Plates,
    /// The shipments.
    Shipments,
}

impl List {
    /// Every list, in the order of the columns of the sheet.
    pub const ALL: [List; 9] = [
        List::Printers,
        List::GroupsAndPrinters,
        List::Groups,
        List::Materials,
        List::Parts,
        List::Items,
        List::Kits,
        List::Plates,
        List::Shipments,
    ];

    /// What the list is called.
    pub fn title(self) -> &'static str {
        match self {
            List::Printers => "printers",
            List::GroupsAndPrinters => "groups and printers",
            List::Groups => "groups",
            List::Materials => "materials",
            List::Parts => "parts",
            List::Items => "parts and kits",
            List::Kits => "kits",
            List::Plates => "plates",
            List::Shipments => "shipments",
        }
    }

    /// The sheet on which a name of the list is declared.
    pub fn home(self) -> &'static str {
        match self {
            List::Printers | List::GroupsAndPrinters | List::Groups => "printers",
            List::Materials | List::Parts => "parts",
            List::Items | List::Kits => "kits",
            List::Plates => "plates",
            List::Shipments => "shipments",
        }
    }
}

/// What a column of a table holds; none where this module has not been told of it.
pub fn kind(file: &str, column: &str) -> Option<Kind> {
    Some(match (file, column) {
        ("shifts.csv", "from" | "to") => Kind::Time,
        ("shifts.csv", "days") => Kind::Days,
        ("downtime.csv", "from" | "to") | ("shipments.csv", "release" | "due") | ("running.csv", "ready") => {
            Kind::Moment
        }
        ("log.csv", "time" | "until") => Kind::Moment,
        ("log.csv", "good" | "rejected") => Kind::Whole,
        ("log.csv", "event" | "run" | "operator") => Kind::Text,
        ("closures.csv", "date") => Kind::Date,
        (_, "grams" | "reject_rate" | "failure_rate" | "weight" | "hold_hours") => Kind::Number,
        (_, "copies" | "quantity" | "operators" | "per_bag" | "per_box" | "minutes") => Kind::Whole,
        (_, "finish_minutes" | "cool_minutes" | "load_minutes" | "harvest_minutes") => Kind::Whole,
        (_, "printer" | "group" | "bay" | "material" | "reason" | "part" | "plate" | "kit" | "item") => Kind::Text,
        (_, "shipment" | "after" | "crew" | "note") => Kind::Text,
        _ => return None,
    })
}

/// Where the names of a column come from, where it names something that another row declares.
pub fn list(file: &str, column: &str) -> Option<List> {
    Some(match (file, column) {
        ("printers.csv", "material") => List::Materials,
        ("downtime.csv", "printer") => List::GroupsAndPrinters,
        ("plates.csv", "group") => List::Groups,
        ("plates.csv" | "stock.csv" | "log.csv", "part") => List::Parts,
        ("kits.csv", "item") => List::Items,
        ("shipments.csv", "kit") => List::Kits,
        ("shipments.csv", "after") => List::Shipments,
        ("running.csv" | "log.csv", "printer") => List::Printers,
        ("running.csv", "plate") => List::Plates,
        _ => return None,
    })
}

/// The words that a column may hold, where they are a fixed few.
pub fn words(file: &str, column: &str) -> Option<&'static [&'static str]> {
    matches!((file, column), ("log.csv", "event")).then_some(&log::WORDS)
}

/// A key of `farm.toml`.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// With its section: `handling.load`.
    pub name: &'static str,
    /// What its value is.
    pub kind: Kind,
    /// What it says, and what holds when it is left out.
    pub meaning: &'static str,
}

const fn key(name: &'static str, kind: Kind, meaning: &'static str) -> Key {
    Key { name, kind, meaning }
}

/// The keys of `farm.toml`, in order.
pub const KEYS: [Key; 20] = [
    key("name", Kind::Text, "the farm's name, for headings"),
    key("time_zone", Kind::Text, "IANA name of the zone of all times, such as Europe/Lisbon"),
    key("start", Kind::Moment, "nothing is loaded before; wall time"),
    key("horizon_days", Kind::Whole, "how many days from the start a plan may reach; 60 when blank"),
    key(
        "handling.load",
        Kind::Whole,
        "minutes of one operator: plate on, filament checked, started, first layer watched",
    ),
    key("handling.harvest", Kind::Whole, "minutes of one operator: plate off, parts cleared"),
    key("handling.changeover", Kind::Whole, "minutes of one operator: material swapped before a load; 0 when blank"),
    key("handling.pack_box", Kind::Whole, "minutes of one operator for one box; 0 when blank: packing takes no time"),
    key("unattended.allowed", Kind::Flag, "may printers print with nobody on shift; true when blank"),
    key(
        "unattended.max_printers",
        Kind::Whole,
        "most printers printing at once with nobody on shift; no limit when blank",
    ),
    key("unattended.max_minutes", Kind::Whole, "longest printing of one run with nobody on shift; no limit when blank"),
    key("counting.whole_plates_per_bag", Kind::Flag, "only plates that divide the part's bag count; false when blank"),
    key("costs.currency", Kind::Text, "what money is called"),
    key("costs.printer_hour", Kind::Number, "money per hour that a printer prints"),
    key("costs.operator_hour", Kind::Number, "money per hour that an operator is on shift"),
    key("costs.night_premium", Kind::Number, "share added between 22:00 and 06:00"),
    key("costs.filament_kg", Kind::Number, "money per kilogram of filament"),
    key("costs.energy_kwh", Kind::Number, "money per kilowatt-hour"),
    key("costs.printer_watts", Kind::Number, "mean draw of a printing printer"),
    key("spares.confidence", Kind::Number, "chance that a shipment's parts suffice; no spares when blank"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use platewright_model::tables::layout;

    #[test]
    fn every_column_of_every_table_has_a_kind() {
        for table in layout::tables() {
            for column in table.columns() {
                assert!(kind(table.file, column).is_some(), "say what {column} of {} holds, in `kind`", table.file);
            }
        }
    }
}
