//! What each shipment waits for: when its parts are complete, the last one first.

use crate::html::table::{Cell, Table};
use platewright_model::instance::PartId;
use platewright_model::plan::Source;
use platewright_model::{Instance, Instant, Minutes, Plan};
use std::collections::{BTreeMap, HashMap};

/// When the parts of a shipment are all usable: the part that comes last is what the shipment waits for.
pub(super) fn table(instance: &Instance, plan: &Plan) -> Table {
    const MOST: usize = 400;
    let usable = usable_by_shipment(instance, plan);
    let rows: usize = usable.values().map(BTreeMap::len).sum();
    // All of them where that is readable, else the last ones of each shipment.
    let each = if rows <= MOST { usize::MAX } else { (MOST / plan.shipments.len().max(1)).clamp(1, 5) };
    let heads = ["shipment", "part", "#needed", "#of it from stock", "complete", "before the shipment is ready"];
    let mut table = Table::new("When the parts of each shipment are complete, the last one first", &heads);
    for shipment in &plan.shipments {
        let mut parts: Vec<(PartId, Complete)> =
            usable.get(shipment.shipment.as_str()).into_iter().flatten().map(|(part, c)| (*part, *c)).collect();
        parts.sort_by_key(|(part, complete)| (std::cmp::Reverse(complete.at), *part));
        for (part, complete) in parts.into_iter().take(each) {
            table.row([
                Cell::head(&shipment.shipment),
                Cell::name(instance.parts.get(part.index()).map_or("", |p| p.name.as_str())),
                Cell::figure(complete.count),
                Cell::figure(complete.from_stock),
                Cell::moment(instance, complete.at),
                Cell::Words(Minutes((shipment.ready - complete.at).0.max(0)).to_string()),
            ]);
        }
    }
    if each < usize::MAX {
        table.note = Some(format!("Of each shipment the last {each}; allocation.csv has all."));
    }
    table
}

#[derive(Debug, Clone, Copy)]
struct Complete {
    count: u64,
    from_stock: u64,
    at: Instant,
}

fn usable_by_shipment<'a>(instance: &Instance, plan: &'a Plan) -> HashMap<&'a str, BTreeMap<PartId, Complete>> {
    let start = instance.farm.start;
    let parts: HashMap<&str, u32> = (0..).zip(&instance.parts).map(|(i, p)| (p.name.as_str(), i)).collect();
    let harvested: HashMap<&str, Instant> = plan.runs.iter().map(|run| (run.run.as_str(), run.harvest_to)).collect();
    let mut all: HashMap<&str, BTreeMap<PartId, Complete>> = HashMap::new();
    for row in &plan.allocation {
        let Some(&id) = parts.get(row.part.as_str()) else { continue };
        let part = PartId(id);
        let finish = instance.parts.get(part.index()).map_or(Minutes::ZERO, |p| p.finish);
        let of_shipment = all.entry(row.shipment.as_str()).or_default();
        let complete = of_shipment.entry(part).or_insert(Complete { count: 0, from_stock: 0, at: start });
        complete.count += row.count.0;
        match &row.source {
            Source::Stock => complete.from_stock += row.count.0,
            Source::Run(run) => {
                complete.at = complete.at.max(harvested.get(run.as_str()).map_or(start, |at| *at + finish));
            }
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn a_shipment_waits_for_its_last_part() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let table = table(&instance, &plan);
        assert_eq!(table.rows.len(), 2);
        assert_eq!(table.rows[0][1], Cell::name("base"));
        assert_eq!(table.rows[0][5], Cell::Words("0 min".into()));
        let complete = usable_by_shipment(&instance, &plan)["shop"][&PartId(0)];
        assert_eq!((complete.count, complete.at), (4, at(0, 8, 14)));
    }
}
