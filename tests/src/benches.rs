//! Random benches of two or three alike printers and up to nine runs, with a shift that has a break: small enough for a
//! complete search, and the break makes the minute at which a plate is ready matter.

use crate::calendar::Calendar;
use crate::chance::Chance;
use crate::tables::Tables;

/// The bench of a seed.
pub fn bench(seed: u64) -> Tables {
    let mut chance = Chance::new("bench", seed);
    let calendar = Calendar::new("Europe/Lisbon", "2026-03-02T07:00");
    let mut tables = Tables::new(&format!("bench {seed}"), calendar.zone, calendar.start, 10);
    let (load, harvest) = (chance.between(0, 12), chance.between(0, 12));
    tables.section("handling", &[("load", &load), ("harvest", &harvest)]);
    for number in 1..=chance.of(&[2, 2, 3]) {
        tables.row("printers", &[("printer", &format!("P{number}")), ("group", &"bench")]);
    }
    let operators = chance.of(&[1, 1, 1, 2]);
    for (from, to) in [("07:00", chance.of(&["11:00", "12:30"])), (chance.of(&["13:30", "15:00"]), "20:00")] {
        tables.row(
            "shifts",
            &[("crew", &"day"), ("days", &"daily"), ("from", &from), ("to", &to), ("operators", &operators)],
        );
    }
    let (kits, mut left) = (chance.of(&[2, 3, 4, 6]), chance.between(4, 9));
    let spans = chance.of(&[[(40, 160), (400, 780)], [(15, 90), (15, 90)], [(60, 260), (120, 420)]]);
    for number in 1.. {
        let part = format!("part{number}");
        let runs = chance.between(1, left.min(4));
        let copies = (kits + runs - 1) / runs;
        left -= (kits + copies - 1) / copies;
        let (low, high) = chance.of(&spans);
        let minutes = chance.between(low, high);
        tables.row("parts", &[("part", &part), ("material", &"PLA"), ("finish_minutes", &chance.of(&[0, 0, 15]))]);
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
        tables.row("kits", &[("kit", &"kit"), ("item", &part), ("quantity", &1)]);
        if left <= 0 {
            break;
        }
    }
    tables.row("shipments", &[("shipment", &"lot"), ("kit", &"kit"), ("quantity", &kits)]);
    tables
}
