//! Weeks in which plates fail, copies are rejected, and one lot waits for another.

use super::{Size, week};
use crate::chance::Chance;
use crate::tables::Tables;

/// The week of a seed, with rates in its tables and a confidence, with a shipment after another, or with both.
pub fn risky_week(seed: u64, size: Size) -> Tables {
    let mut chance = Chance::new("risks", seed);
    let mut tables = week(seed, size);
    let (spares, waits) = chance.of(&[(true, false), (false, true), (true, true)]);
    if spares {
        let confidence = chance.of(&["0.5", "0.8", "0.95", "0.99"]);
        tables.section("spares", &[("confidence", &confidence)]);
        for row in tables.rows_mut("parts") {
            row.insert("reject_rate", chance.of(&["", "0", "0.01", "0.05"]).to_owned());
        }
        let mut rates: std::collections::BTreeMap<(String, String), String> = std::collections::BTreeMap::new();
        for row in tables.rows_mut("plates") {
            let key = (row["plate"].clone(), row["group"].clone());
            let rate = rates.entry(key).or_insert_with(|| chance.of(&["", "0.02", "0.05", "0.2"]).to_owned());
            row.insert("failure_rate", rate.clone());
        }
    }
    if waits {
        let first = tables.rows("shipments").first().map(|row| row["shipment"].clone()).unwrap_or_default();
        let hold = chance.of(&["", "0", "0.5", "3"]).to_owned();
        for row in tables.rows_mut("shipments").iter_mut().filter(|row| row["shipment"] != first) {
            row.insert("after", first.clone());
            row.insert("hold_hours", hold.clone());
        }
    }
    tables
}
