//! AFTER: nothing loaded before another shipment is ready, and looked over, goes into the one that comes after it.

use crate::book::{Giver, Origin};
use crate::breach::Breach;
use crate::case::Case;
use crate::span::near;
use platewright_model::Rule;

/// As a release that lies the hold's elapsed minutes after the other shipment is ready: a run loaded earlier gives
/// nothing, spares included, and one from `running.csv` was loaded earlier. Stock always may.
pub(super) fn after(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for grant in &case.book.grants {
        let (Giver::Run(position), Some(shipment)) = (grant.source, grant.shipment) else { continue };
        let Some(run) = case.book.runs.get(position) else { continue };
        let Some(after) = case.instance.shipments[shipment.index()].after else { continue };
        let Some(first) = case.figures.shipments.get(after.shipment.index()) else { continue };
        let (row, opens) = (run.row, first.ready + after.hold);
        let loaded = match (run.origin, &row.load) {
            (Origin::Running(_), _) => "was loaded before the start".to_owned(),
            (_, Some(load)) if near(load.from) < opens => format!("is loaded {}", case.at(near(load.from))),
            _ => continue,
        };
        let (part, to) = (&grant.row.part, &grant.row.shipment);
        let held = if after.hold.0 > 0 {
            format!(", {} after {} is ready", after.hold, first.shipment)
        } else {
            format!(", when {} is ready", first.shipment)
        };
        let message = format!("{} {loaded}, {to} takes no {part} from before {}{held}", row.run, case.at(opens));
        let breach = Breach::of(Rule::After, message).run(&row.run).printer(&row.printer).shipment(to);
        breaches.push(match &row.load {
            Some(load) => breach.at(near(load.from)),
            None => breach,
        });
    }
    breaches
}
