//! What lots and boxes are called, on screens, sheets, lists and labels alike.

use super::{BoxLot, Ledger, Lot};
use platewright_model::Count;

impl Ledger {
    /// A lot's number without the mark, where everything is of one plan: `BAG-0001`.
    pub fn short<'l>(&self, id: &'l str) -> &'l str {
        id.strip_suffix(self.mark.as_str()).and_then(|id| id.strip_suffix('-')).unwrap_or(id)
    }

    /// The whole number of a lot that is said with or without the mark: its own, where it has that of an earlier plan.
    pub fn full(&self, id: &str) -> String {
        let id = id.trim().to_uppercase();
        if id.matches('-').count() >= 2 {
            return id;
        }
        let mut all = self.lots.iter().map(|lot| &lot.id).chain(self.boxes.iter().map(|packed| &packed.id));
        let known = all.find(|known| known.rsplit_once('-').is_some_and(|(number, _)| number == id));
        known.cloned().unwrap_or_else(|| format!("{id}-{}", self.mark))
    }

    /// The short number of the lot at a position.
    pub fn short_of(&self, lot: usize) -> &str {
        self.lots.get(lot).map_or("", |lot| self.short(&lot.id))
    }
}

/// `1 bag`, `7 bags`.
pub fn many(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

/// Who gets the pieces of a lot: `schools`, or `schools 12, coast 12`.
pub fn whose(lot: &Lot) -> String {
    let name = |shipment: &Option<String>| shipment.clone().unwrap_or_else(|| "the shelf".to_owned());
    match &lot.gives()[..] {
        [only] => name(&only.shipment),
        several => {
            let each: Vec<String> = several.iter().map(|g| format!("{} {}", name(&g.shipment), g.count)).collect();
            each.join(", ")
        }
    }
}

/// `6 weather-station for schools, box 1 of 3`.
pub fn box_name(packed: &BoxLot) -> String {
    let which = match packed.number {
        Some((number, of)) => format!("box {number} of {of}"),
        None => "not boxed".to_owned(),
    };
    format!("{} {} for {}, {which}", packed.kits, packed.kit, packed.shipment)
}

/// Each part of a box with its count, and where it is taken from: all of a bag, or so many counted out of it.
pub fn box_contents(ledger: &Ledger, packed: &BoxLot) -> Vec<(String, String)> {
    let contents = packed.contents.iter().map(|content| {
        // Several runs of one lot are one reach into it.
        let mut from: Vec<(usize, Count)> = Vec::new();
        for pieces in &content.pieces {
            match from.iter_mut().find(|(lot, _)| *lot == pieces.lot) {
                Some((_, count)) => *count += pieces.count,
                None => from.push((pieces.lot, pieces.count)),
            }
        }
        let said: Vec<String> = from
            .into_iter()
            .map(|(lot, count)| match ledger.lots.get(lot).map(Lot::count) {
                Some(all) if all == count => format!("all {count} of {}", ledger.short_of(lot)),
                Some(all) => format!("{count} out of {all} in {}", ledger.short_of(lot)),
                None => count.to_string(),
            })
            .collect();
        (format!("{} {}", content.count(), content.part), said.join(", "))
    });
    contents.collect()
}
