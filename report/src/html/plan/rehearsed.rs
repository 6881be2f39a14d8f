//! What rehearsals showed, as a piece of the plan's page.

use super::addition::{Addition, Place, bar};
use crate::html::table::{Cell, Table};
use crate::rehearsal::{Rehearsal, histogram, share};
use platewright_model::{Instance, Instant};

/// How the dates held, and for each shipment when it was ready.
pub fn rehearsed(instance: &Instance, told: &Rehearsal) -> Addition {
    let mut dates = Table::new("How the dates hold", &["shipment", "#in time", "50 %", "80 %", "95 %"]);
    for s in &told.shipments {
        let at = |at: Option<Instant>| at.map_or_else(|| Cell::figure("never"), |at| Cell::moment(instance, at));
        let in_time = if s.due.is_some() { share(s.on_time, told.times) } else { "any time".to_owned() };
        dates.row([Cell::head(&s.shipment), Cell::figure(in_time), at(s.at[0]), at(s.at[1]), at(s.at[2])]);
    }
    let mut tables = vec![dates];
    for s in &told.shipments {
        let bars = histogram(instance, &s.ready);
        let most = bars.iter().map(|b| b.count).max().unwrap_or(1).max(1);
        let caption = format!("When {} is ready", crate::html::shown(&s.shipment));
        let mut table = Table::new(caption, &["from", "how often", "#share", "due"]);
        for b in &bars {
            let due = s.due.is_some_and(|due| b.from <= due && due < b.to);
            table.row([
                Cell::moment(instance, b.from),
                Cell::Drawing(bar(b.count as f64 / most as f64, None)),
                Cell::figure(share(b.count, told.times)),
                Cell::Words(if due { "due" } else { "" }.to_owned()),
            ]);
        }
        tables.push(table);
    }
    let words = format!(
        "{} rehearsals, seed {}: in {} of them nothing was late. A rehearsal had on average {:.1} failed plates and \
         {:.1} rejected copies.",
        told.times,
        told.seed,
        share(told.all_on_time, told.times),
        told.means[0],
        told.means[1]
    );
    Addition { place: Place::Rehearsal, heading: "How sure the dates are".to_owned(), words: vec![words], tables }
}
