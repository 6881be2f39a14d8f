//! `plates.csv` written from an instance.

use crate::instance::{Instance, PlateOnGroup};
use crate::units::Minutes;

/// Every plate of the instance as the text of a `plates.csv`, with all columns; handling minutes that are the farm's and
/// figures of nothing are left blank.
pub fn plates_csv(instance: &Instance) -> String {
    let mut table = csv::Writer::from_writer(Vec::new());
    let columns = super::plates::PLATES.columns().collect::<Vec<_>>();
    // Writing text to memory, as many cells to a row as the header has, cannot fail.
    let _ = table.write_record(&columns);
    for plate in &instance.plates {
        for on in &plate.on_groups {
            for (part, copies) in &on.copies {
                let names = [
                    Some(&plate.name),
                    instance.groups.get(on.group.index()),
                    instance.parts.get(part.index()).map(|part| &part.name),
                ];
                let names = names.into_iter().map(|name| name.cloned().unwrap_or_default());
                let figures = [copies.to_string(), on.minutes.0.to_string()];
                let _ = table.write_record(names.chain(figures).chain(optional(instance, on)));
            }
        }
    }
    String::from_utf8(table.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn optional(instance: &Instance, on: &PlateOnGroup) -> [String; 4] {
    let unless = |minutes: Minutes, usual: Minutes| {
        if minutes == usual { String::new() } else { minutes.0.to_string() }
    };
    let handling = &instance.farm.handling;
    let failures = if on.failure_rate == 0.0 { String::new() } else { on.failure_rate.to_string() };
    [unless(on.cool, Minutes::ZERO), unless(on.load, handling.load), unless(on.harvest, handling.harvest), failures]
}
