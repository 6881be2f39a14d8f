//! Relatives of the kit run: one kit of six to eight parts, one of them printed one at a time, many kits, alike printers
//! and two operators from early to late.

use crate::chance::Chance;
use crate::tables::Tables;

/// The kit run of a seed for so many kits on so many printers.
pub fn kit_run(seed: u64, printers: i64, kits: i64) -> Tables {
    let mut chance = Chance::new("kit run", seed);
    let mut tables = Tables::new(&format!("kit run {seed}"), "Europe/Lisbon", "2026-03-02T07:00", 90);
    tables.section("handling", &[("load", &3), ("harvest", &4)]);
    for number in 1..=printers {
        tables.row("printers", &[("printer", &format!("P{number:04}")), ("group", &"bench")]);
    }
    for number in 0..chance.between(6, 8) {
        let part = format!("part{number}");
        let (copies, minutes) = match number {
            0 => (1, chance.between(240, 360)),
            _ => (chance.between(4, 50), chance.between(60, 680)),
        };
        let quantity = if number == 0 { 1 } else { chance.of(&[1, 1, 1, 2, 6]) };
        tables.row("parts", &[("part", &part), ("material", &"PETG")]);
        tables.row(
            "plates",
            &[
                ("plate", &format!("{part}-{copies}")),
                ("group", &"bench"),
                ("part", &part),
                ("copies", &copies),
                ("minutes", &minutes),
            ],
        );
        tables.row("kits", &[("kit", &"kit"), ("item", &part), ("quantity", &quantity)]);
    }
    tables.row(
        "shifts",
        &[("crew", &"day"), ("days", &"daily"), ("from", &"07:00"), ("to", &"22:30"), ("operators", &2)],
    );
    tables.row("shipments", &[("shipment", &"all"), ("kit", &"kit"), ("quantity", &kits)]);
    tables
}
