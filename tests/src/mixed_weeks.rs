//! Weeks of mixed orders in one room: sixteen printers of two groups, two materials, four shipments with due dates that
//! are packed into boxes, one operator at a time and a limit on the unattended hours. Some can be on time, some cannot.

use crate::chance::Chance;
use crate::tables::Tables;

/// The mixed week of a seed.
pub fn mixed_week(seed: u64) -> Tables {
    let mut chance = Chance::new("mixed week", seed);
    let mut tables = Tables::new(&format!("mixed week {seed}"), "Europe/Lisbon", "2026-03-02T07:00", 30);
    let pack_box = chance.between(4, 8);
    tables.section("handling", &[("load", &3), ("harvest", &4), ("changeover", &10), ("pack_box", &pack_box)]);
    let (printing, minutes) = (chance.between(10, 14), chance.between(700, 1000));
    tables.section("unattended", &[("max_printers", &printing), ("max_minutes", &minutes)]);
    for number in 1..=16 {
        let group = if number <= 10 { "small" } else { "large" };
        tables.row("printers", &[("printer", &format!("P{number:02}")), ("group", &group), ("material", &"PLA")]);
    }
    let days = [("early", "Mon-Fri", "07:00", "15:00"), ("late", "Mon-Fri", "14:30", "22:00")];
    for (crew, days, from, to) in days.into_iter().chain([("weekend", "Sat,Sun", "08:00", "13:00")]) {
        tables.row("shifts", &[("crew", &crew), ("days", &days), ("from", &from), ("to", &to), ("operators", &1)]);
    }
    let parts: Vec<String> = (1..=chance.between(7, 9)).map(|number| format!("part{number}")).collect();
    for part in &parts {
        let (material, finish) = (chance.of(&["PLA", "PLA", "PETG"]), chance.of(&[0, 0, 30]));
        tables.row("parts", &[("part", part), ("material", &material), ("finish_minutes", &finish)]);
        let groups: &[&str] = chance.of(&[&["small", "large"][..], &["small", "large"], &["small"], &["large"]]);
        let plates = chance.of(&[1, 2]);
        for copies in chance.sample(&[1, 2, 4, 6, 8, 12, 24], plates) {
            let minutes = (40 + copies * chance.between(20, 90)).min(660);
            for group in groups {
                let minutes = if *group == "small" { minutes } else { minutes * 9 / 10 };
                let plate = format!("{part}-{copies}");
                tables.row(
                    "plates",
                    &[("plate", &plate), ("group", group), ("part", part), ("copies", &copies), ("minutes", &minutes)],
                );
            }
        }
    }
    for kit in ["station", "lamp"] {
        let kinds = chance.between(3, 5) as usize;
        for part in chance.sample(&parts, kinds) {
            let quantity = chance.of(&[1, 1, 2, 4]);
            tables.row("kits", &[("kit", &kit), ("item", &part), ("quantity", &quantity)]);
        }
    }
    for (number, kit) in (1..).zip(["station", "lamp", "station", "lamp"]) {
        let (quantity, per_box) = (chance.between(12, 40), chance.of(&[4, 6]));
        tables.row(
            "shipments",
            &[
                ("shipment", &format!("lot{number}")),
                ("kit", &kit),
                ("quantity", &quantity),
                ("due", &format!("2026-03-{:02}T16:00", 3 + number)),
                ("per_box", &per_box),
            ],
        );
    }
    tables
}
