//! The instance: the farm and its order book, as the tables say it, typed and validated, immutable after reading.
//!
//! Rows keep what the planner wrote; names are resolved to small indices into the instance's own vectors. Nothing here
//! is derived: kits are expanded in [`crate::kits`], shifts are laid out in [`crate::roster`].

use crate::calendar::Clock;
use crate::units::{Count, Instant, Minutes, Weight};
use chrono::{NaiveDate, NaiveTime, Weekday};
use serde::Serialize;
use sha2::{Digest, Sha256};

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        #[serde(transparent)]
        pub struct $name(pub u32);

        impl $name {
            /// The position in the instance's vector.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

index!(
    /// A position in [`Instance::printers`].
    PrinterId
);
index!(
    /// A position in [`Instance::groups`].
    GroupId
);
index!(
    /// A position in [`Instance::materials`].
    MaterialId
);
index!(
    /// A position in [`Instance::parts`].
    PartId
);
index!(
    /// A position in [`Instance::plates`].
    PlateId
);
index!(
    /// A position in [`Instance::kits`].
    KitId
);
index!(
    /// A position in [`Instance::shipments`].
    ShipmentId
);
index!(
    /// A position in [`Instance::crews`].
    CrewId
);

/// A validated instance. Made by [`crate::tables`] only, so every reference resolves and every figure is in range.
#[derive(Debug, Clone, Serialize)]
pub struct Instance {
    /// `farm.toml`.
    pub farm: Farm,
    /// Names of the groups, in the order they first appear in `printers.csv`.
    pub groups: Vec<String>,
    /// Names of the materials, in the order they first appear in `parts.csv`, then `printers.csv`.
    pub materials: Vec<String>,
    /// `printers.csv`, in table order.
    pub printers: Vec<Printer>,
    /// `downtime.csv`, a group's row repeated for each of its printers; rows may overlap.
    pub downtime: Vec<Downtime>,
    /// `parts.csv`, in table order.
    pub parts: Vec<Part>,
    /// `plates.csv`, in the order the plates first appear.
    pub plates: Vec<Plate>,
    /// `kits.csv`, in the order the kits first appear; free of cycles.
    pub kits: Vec<Kit>,
    /// `shipments.csv`, in the order the shipments first appear.
    pub shipments: Vec<Shipment>,
    /// Names of the crews, in the order they first appear in `shifts.csv`.
    pub crews: Vec<String>,
    /// `shifts.csv`, in table order.
    pub shifts: Vec<ShiftRow>,
    /// `closures.csv`.
    pub closures: Vec<Closure>,
    /// `stock.csv`; a part appears once.
    pub stock: Vec<Stock>,
    /// `running.csv`; a printer appears once.
    pub running: Vec<Running>,
    /// `log.csv`, in order of time; no part of the digest, because it grows while a plan is carried out.
    #[serde(skip)]
    pub log: Vec<crate::log::Entry>,
    /// Stretches in which an operator is not there, taken out of the shifts; none as read.
    #[serde(skip)]
    pub absences: Vec<Absence>,
}

/// A stretch in which one operator is not there, half-open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Absence {
    /// Whose crew.
    pub crew: CrewId,
    /// The number within the crew, from 1.
    pub operator: u32,
    /// Not there from.
    pub from: Instant,
    /// Back from.
    pub to: Instant,
}

/// What `farm.toml` says.
#[derive(Debug, Clone, Serialize)]
pub struct Farm {
    /// The farm's name, for headings.
    pub name: String,
    /// The farm's zone; turns wall times into instants and back.
    pub clock: Clock,
    /// Nothing is loaded before this.
    pub start: Instant,
    /// How far ahead a plan may reach, 1 to 730 days of 1,440 elapsed minutes.
    pub horizon_days: u32,
    /// Operator minutes.
    pub handling: Handling,
    /// Limits on printing with nobody on shift.
    pub unattended: Unattended,
    /// Use only plates whose copies divide the part's bag count.
    pub whole_plates_per_bag: bool,
    /// Money per unit, where stated.
    pub costs: Option<Costs>,
    /// How sure a shipment's parts must be to suffice; none: the plan counts on every plate. (Left out of the digest
    /// where it is not stated, so that plans made before there were spares still belong to their tables.)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spares: Option<Spares>,
    /// What goes wrong in a rehearsal; no part of the digest, because no plan depends on it.
    #[serde(skip)]
    pub rehearsal: crate::rehearsal::Rehearsal,
}

impl Farm {
    /// The last instant a plan may reach.
    pub fn horizon_end(&self) -> Instant {
        self.start + Minutes(i64::from(self.horizon_days) * Minutes::DAY.0)
    }
}

/// Minutes of one operator (`[handling]`), each 0 to 1,440.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Handling {
    /// Put a clean plate on, check filament, start, watch the first layer.
    pub load: Minutes,
    /// Take the plate off and clear the parts.
    pub harvest: Minutes,
    /// Swap the material, before the load.
    pub changeover: Minutes,
    /// Pack one box; 0 means that packing takes no operator and boxes make no tasks.
    pub pack_box: Minutes,
}

/// Limits on unattended printing (`[unattended]`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Unattended {
    /// May any printing minute be unattended?
    pub allowed: bool,
    /// Most printers printing in any unattended minute.
    pub max_printers: Option<Count>,
    /// Most printing minutes of one run in one unattended stretch.
    pub max_minutes: Option<Minutes>,
}

/// Spare copies (`[spares]`).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spares {
    /// The least chance with which all parts of a shipment suffice, 0 up to but not including 1.
    pub confidence: f64,
}

/// Money per unit (`[costs]`); every figure 0 or more.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Costs {
    /// ISO 4217 code or the farm's own word.
    pub currency: String,
    /// Per hour that a printer prints.
    pub printer_hour: f64,
    /// Per hour that an operator is on shift.
    pub operator_hour: f64,
    /// Share added for operator minutes between 22:00 and 06:00.
    pub night_premium: f64,
    /// Per kilogram of filament.
    pub filament_kg: f64,
    /// Per kilowatt-hour.
    pub energy_kwh: f64,
    /// Mean draw of a printing printer.
    pub printer_watts: f64,
}

/// A row of `printers.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Printer {
    /// Unique name.
    pub name: String,
    /// Printers that are alike share a group.
    pub group: GroupId,
    /// Where it stands in the room.
    pub bay: Option<String>,
    /// What is loaded at the start; none: the first load needs no changeover.
    pub material: Option<MaterialId>,
}

/// A stretch in which a printer is not to be touched and does not print, half-open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Downtime {
    /// Which printer.
    pub printer: PrinterId,
    /// First minute down.
    pub from: Instant,
    /// First minute up again.
    pub to: Instant,
    /// The planner's words.
    pub reason: Option<String>,
}

/// A row of `parts.csv`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// Unique name.
    pub name: String,
    /// What it is printed in.
    pub material: MaterialId,
    /// Filament in one copy.
    pub grams: Option<f64>,
    /// From harvest end until inspected and usable.
    pub finish: Minutes,
    /// How many go into a bag.
    pub per_bag: Option<Count>,
    /// Share of harvested copies rejected, 0 up to but not including 1; the plan uses it where there is a
    /// confidence ([`Spares`]).
    pub reject_rate: f64,
}

/// A plate: a print-ready arrangement of parts of one material.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plate {
    /// Unique name.
    pub name: String,
    /// The material of all its parts.
    pub material: MaterialId,
    /// One entry per group it may run on.
    pub on_groups: Vec<PlateOnGroup>,
}

impl Plate {
    /// What the plate is on a group, if it may run there.
    pub fn on(&self, group: GroupId) -> Option<&PlateOnGroup> {
        self.on_groups.iter().find(|g| g.group == group)
    }
}

/// A plate on one group of printers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateOnGroup {
    /// The group.
    pub group: GroupId,
    /// Copies of each part, each part once, in table order.
    pub copies: Vec<(PartId, Count)>,
    /// Printing time, at least 1.
    pub minutes: Minutes,
    /// From the end of printing to ready.
    pub cool: Minutes,
    /// Operator minutes to load; the farm's where the table is blank.
    pub load: Minutes,
    /// Operator minutes to harvest; the farm's where the table is blank.
    pub harvest: Minutes,
    /// Share of runs that fail whole, 0 up to but not including 1; the plan uses it where there is a
    /// confidence ([`Spares`]).
    pub failure_rate: f64,
}

/// A kit: a bill of parts and of other kits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Kit {
    /// Unique among kits and parts.
    pub name: String,
    /// What one kit holds; an item appears once.
    pub items: Vec<(KitItem, Count)>,
}

/// What a kit row names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub enum KitItem {
    /// A part.
    Part(PartId),
    /// Another kit.
    Kit(KitId),
}

/// A shipment: kits that leave together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shipment {
    /// Unique name.
    pub name: String,
    /// One line per kit; a kit appears once.
    pub lines: Vec<ShipmentLine>,
    /// Nothing loaded before this may go into it.
    pub release: Option<Instant>,
    /// When it should be ready.
    pub due: Option<Instant>,
    /// How much a minute late counts.
    pub weight: Weight,
    /// The shipment that must be ready, and looked over, before anything is loaded for this one; free of cycles. (Left
    /// out of the digest where there is none.)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<After>,
}

/// What a shipment waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct After {
    /// The shipment that comes first.
    pub shipment: ShipmentId,
    /// Elapsed minutes from when that one is ready, for looking it over, 0 to 8,760 hours.
    pub hold: Minutes,
}

/// A row of `shipments.csv`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ShipmentLine {
    /// Which kit.
    pub kit: KitId,
    /// How many, at least 1.
    pub quantity: Count,
    /// Kits in a box; none: nothing to pack.
    pub per_box: Option<Count>,
}

impl ShipmentLine {
    /// How many boxes the line fills, the last perhaps in part.
    pub fn boxes(&self) -> Count {
        Count(self.per_box.map_or(0, |b| self.quantity.0.div_ceil(b.0)))
    }
}

/// A row of `shifts.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShiftRow {
    /// Whose shift.
    pub crew: CrewId,
    /// On which dates it starts.
    pub days: Days,
    /// Wall time at which it starts.
    pub from: NaiveTime,
    /// Wall time at which it ends; `24:00` is kept as 00:00, and an end at or before `from` is on the next day.
    pub to: NaiveTime,
    /// How many people.
    pub operators: Count,
}

/// The dates on which a shift starts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Days {
    /// Days of the week, each once, in week order (`daily` is all seven).
    Weekly(Vec<Weekday>),
    /// One date.
    Date(NaiveDate),
}

/// A row of `closures.csv`: no shift starts on that date.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Closure {
    /// The date.
    pub date: NaiveDate,
    /// The planner's words.
    pub note: Option<String>,
}

/// A row of `stock.csv`: usable at the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Stock {
    /// Which part.
    pub part: PartId,
    /// How many.
    pub quantity: Count,
}

/// A row of `running.csv`: on its printer at the start, harvested like any other run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Running {
    /// Where.
    pub printer: PrinterId,
    /// What; it may run on that printer's group.
    pub plate: PlateId,
    /// When it is printed and cooled; may lie before the start (it waits, blocked).
    pub ready: Instant,
}

impl Instance {
    /// A digest of everything the tables say (SHA-256 over the instance in canonical JSON, in hexadecimal): comments,
    /// column order and line ends do not change it, any figure or name does.
    pub fn digest(&self) -> String {
        // An instance is plain data with finite numbers and text for keys, which always has a JSON form.
        let canonical = serde_json::to_vec(self).unwrap_or_default();
        Sha256::digest(canonical).iter().map(|byte| format!("{byte:02x}")).collect()
    }
}
