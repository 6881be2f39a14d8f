//! Random mixed-order weeks: every rule of a valid plan is in force in some of them, most in several at once.
//!
//! Groups, materials, several plates for a part, mixed plates, downtime, limits on the unattended hours, release and due
//! dates, weights, stock, plates still on the printers, packing, bags, finishing, closures, crews by day, split, by night,
//! round the clock and overlapping, clock changes, and handling that takes no time. Most have a plan; some do not, which
//! is part of the trial.

mod catalogue;
mod orders;
mod risks;
mod room;

pub use risks::risky_week;

use crate::calendar::Calendar;
use crate::chance::Chance;
use crate::tables::Tables;

/// How many runs a week is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// Up to 8 runs.
    Tiny,
    /// Up to 40 runs.
    Middling,
    /// Up to 150 runs.
    Large,
}

/// A part as the rest of the instance needs to know it.
#[derive(Debug, Clone)]
struct Part {
    name: String,
    material: &'static str,
    /// The most copies on any plate that may be used.
    most: i64,
}

/// A plate on one group.
#[derive(Debug, Clone)]
struct Plate {
    name: String,
    group: &'static str,
    cool: i64,
}

/// A week while it is put together.
struct Week {
    chance: Chance,
    size: Size,
    calendar: Calendar,
    tables: Tables,
    groups: Vec<&'static str>,
    /// Printers and their groups.
    printers: Vec<(String, &'static str)>,
    materials: Vec<&'static str>,
    /// Plates must close bags.
    bags: bool,
    /// Boxes are packed.
    packs: bool,
    /// No plate is longer.
    longest: i64,
    parts: Vec<Part>,
    plates: Vec<Plate>,
}

/// The week of a seed.
pub fn week(seed: u64, size: Size) -> Tables {
    let mut chance = Chance::new("week", seed);
    let calendar = chance.of(&calendars());
    let days = chance.between(9, 16);
    let name = format!("week {seed}, {size:?}").to_lowercase();
    let tables = Tables::new(&name, calendar.zone, calendar.start, days);
    let mut week = Week {
        chance,
        size,
        calendar,
        tables,
        groups: Vec::new(),
        printers: Vec::new(),
        materials: Vec::new(),
        bags: false,
        packs: false,
        longest: 900,
        parts: Vec::new(),
        plates: Vec::new(),
    };
    week.farm();
    week.room();
    week.crews();
    week.catalogue();
    week.orders();
    week.opening();
    week.tables
}

/// Two ordinary weeks, and weeks in which the clocks go forward, back, and by half an hour.
fn calendars() -> Vec<Calendar> {
    [
        ("Europe/Lisbon", "2026-03-02T07:00"),
        ("Asia/Kathmandu", "2026-05-12T06:15"),
        ("Europe/Lisbon", "2026-03-27T08:00"),
        ("America/New_York", "2026-10-30T06:30"),
        ("Australia/Lord_Howe", "2026-10-02T09:00"),
    ]
    .map(|(zone, start)| Calendar::new(zone, start))
    .to_vec()
}

impl Week {
    /// `farm.toml`.
    fn farm(&mut self) {
        let chance = &mut self.chance;
        let idle_hands = chance.percent(12);
        let mut few = |low, high| if idle_hands { chance.of(&[0, 0, 4]) } else { chance.between(low, high) };
        let (load, harvest) = (few(2, 10), few(2, 10));
        self.packs = chance.percent(45);
        let pack = if self.packs { chance.between(2, 15) } else { 0 };
        let changeover = chance.of(&[0, 5, 15, 30]);
        let (load, harvest): (i64, i64) = (load, harvest);
        self.tables.section(
            "handling",
            &[("load", &load), ("harvest", &harvest), ("changeover", &changeover), ("pack_box", &pack)],
        );
        self.unattended();
        self.bags = self.chance.percent(30);
        if self.bags {
            self.tables.section("counting", &[("whole_plates_per_bag", &true)]);
        }
    }

    fn unattended(&mut self) {
        let chance = &mut self.chance;
        if chance.percent(7) {
            self.longest = 200;
            self.tables.section("unattended", &[("allowed", &false)]);
            return;
        }
        let (printers, minutes) = (chance.between(1, 6), chance.between(300, 900));
        let mut keys: Vec<(&str, &dyn ToString)> = Vec::new();
        if chance.percent(35) {
            keys.push(("max_printers", &printers));
        }
        if chance.percent(35) {
            keys.push(("max_minutes", &minutes));
        }
        self.tables.section("unattended", &keys);
    }
}
