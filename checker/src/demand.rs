//! What each shipment needs, in parts.
//!
//! Quantities are pushed down from the kit that is shipped, each kit only after every kit that holds it, so that each
//! is opened once whatever the depth. Counts saturate: a need too large to count is never met, and that is enough.

use platewright_model::instance::{Instance, KitId, KitItem, PartId, Shipment};
use std::collections::{BTreeMap, HashMap};

/// How many of each part, in part order, each part once.
pub(crate) type Parts = BTreeMap<PartId, u128>;

/// The parts of every kit that is shipped, and of every shipment.
#[derive(Debug)]
pub(crate) struct Demand {
    per_kit: HashMap<KitId, Parts>,
    needs: Vec<Parts>,
}

impl Demand {
    pub fn of(instance: &Instance) -> Demand {
        let order = holders_first(instance);
        let mut per_kit = HashMap::new();
        for line in instance.shipments.iter().flat_map(|shipment| &shipment.lines) {
            per_kit.entry(line.kit).or_insert_with(|| opened(instance, &order, line.kit));
        }
        let needs = instance.shipments.iter().map(|shipment| needs(shipment, &per_kit)).collect();
        Demand { per_kit, needs }
    }

    /// What one such kit holds; nothing where no shipment has it.
    pub fn kit(&self, kit: KitId) -> Option<&Parts> {
        self.per_kit.get(&kit)
    }

    /// What the shipment at that position needs.
    pub fn shipment(&self, position: usize) -> Option<&Parts> {
        self.needs.get(position)
    }
}

fn needs(shipment: &Shipment, per_kit: &HashMap<KitId, Parts>) -> Parts {
    let mut parts = Parts::new();
    for line in &shipment.lines {
        for (&part, &each) in per_kit.get(&line.kit).into_iter().flatten() {
            add(&mut parts, part, each.saturating_mul(line.quantity.0.into()));
        }
    }
    parts
}

/// Each kit's place in an order in which every kit comes before the kits it holds.
fn holders_first(instance: &Instance) -> Vec<usize> {
    let mut holders = vec![0_usize; instance.kits.len()];
    for kit in &instance.kits {
        sub_kits(&kit.items).for_each(|sub| holders[sub.index()] += 1);
    }
    let mut place = vec![usize::MAX; instance.kits.len()];
    let mut free: Vec<usize> = (0..holders.len()).filter(|&kit| holders[kit] == 0).collect();
    for next in 0.. {
        let Some(kit) = free.pop() else { break };
        place[kit] = next;
        for sub in sub_kits(&instance.kits[kit].items) {
            holders[sub.index()] -= 1;
            if holders[sub.index()] == 0 {
                free.push(sub.index());
            }
        }
    }
    place
}

fn sub_kits(items: &[(KitItem, platewright_model::Count)]) -> impl Iterator<Item = KitId> + '_ {
    items.iter().filter_map(|(item, _)| match item {
        KitItem::Kit(kit) => Some(*kit),
        KitItem::Part(_) => None,
    })
}

/// One kit opened down to its parts.
fn opened(instance: &Instance, place: &[usize], kit: KitId) -> Parts {
    let mut parts = Parts::new();
    let mut closed = BTreeMap::from([((place[kit.index()], kit), 1_u128)]);
    while let Some(((at, kit), quantity)) = closed.pop_first() {
        for (item, each) in &instance.kits[kit.index()].items {
            let count = quantity.saturating_mul(each.0.into());
            match item {
                KitItem::Part(part) => add(&mut parts, *part, count),
                KitItem::Kit(sub) if place[sub.index()] > at => {
                    let entry = closed.entry((place[sub.index()], *sub)).or_default();
                    *entry = entry.saturating_add(count);
                }
                // Kits in a ring, which the tables refuse, have no order; they are not opened for ever.
                KitItem::Kit(_) => {}
            }
        }
    }
    parts
}

fn add(parts: &mut Parts, part: PartId, count: u128) {
    let entry = parts.entry(part).or_default();
    *entry = entry.saturating_add(count);
}

#[cfg(test)]
mod tests;
