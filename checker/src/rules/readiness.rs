//! READINESS: a shipment is ready when its parts are usable and its boxes are packed, no earlier and no later.

use crate::breach::Breach;
use crate::case::Case;
use crate::span::near;
use platewright_model::Rule;

/// Each shipment is promised once, for the minute in which it is ready.
///
/// That minute may lie beyond the horizon by what the last parts take to finish: the horizon bounds what is done in the
/// room (loads, prints, harvests, boxes), and finishing takes neither a printer nor an operator.
pub(super) fn readiness(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut promised = vec![false; case.instance.shipments.len()];
    for (row, known) in case.plan.shipments.iter().zip(&case.book.promises) {
        let breach = |message: String| Breach::of(Rule::Readiness, message).shipment(&row.shipment);
        let Some(figures) = known.and_then(|id| case.figures.shipments.get(id.index())) else {
            breaches.push(breach(format!("there is no shipment {:?}", row.shipment)));
            continue;
        };
        if known.is_some_and(|id| std::mem::replace(&mut promised[id.index()], true)) {
            breaches.push(breach(format!("{} is in the plan twice", row.shipment)));
        }
        if near(row.ready) != figures.ready {
            let message = format!(
                "{} is ready {}, the plan says {}",
                row.shipment,
                case.at(figures.ready),
                case.at(near(row.ready))
            );
            breaches.push(breach(message).at(near(row.ready)));
        }
    }
    for (shipment, promised) in case.instance.shipments.iter().zip(promised) {
        if !promised {
            let message = format!("the plan does not say when {} is ready", shipment.name);
            breaches.push(Breach::of(Rule::Readiness, message).shipment(&shipment.name));
        }
    }
    breaches
}
