//! Kits expanded into parts, on a directed graph of kits.
//!
//! An edge runs from a kit to each kit it holds. The graph has no cycle in a validated instance (reading makes
//! sure of it), so a topological order meets every kit before the kits inside it, and one pass pushes the
//! quantities down.

use crate::instance::{Instance, Kit, KitId, KitItem, PartId, ShipmentId};
use crate::units::Count;
use petgraph::algo::{kosaraju_scc, toposort};
use petgraph::graphmap::DiGraphMap;
use petgraph::visit::{Bfs, Walker};
use std::collections::{BTreeMap, HashMap};

/// How many of each part one kit holds, sub-kits expanded; in part order, each part once.
pub fn parts_of_kit(instance: &Instance, kit: KitId) -> Vec<(PartId, Count)> {
    in_part_order(expand(&instance.kits, BTreeMap::from([(kit, 1)])))
}

/// How many of each part a shipment needs, over all its lines; in part order, each part once.
pub fn needs(instance: &Instance, shipment: ShipmentId) -> Vec<(PartId, Count)> {
    let lines = &instance.shipments[shipment.index()].lines;
    in_part_order(expand(&instance.kits, lines.iter().map(|line| (line.kit, line.quantity.0)).collect()))
}

/// The parts in so many of these kits. Sums stop at the largest `u64`, which reading refuses long before; a kit on a
/// cycle gives nothing.
pub(crate) fn expand(kits: &[Kit], wanted: BTreeMap<KitId, u64>) -> BTreeMap<PartId, u64> {
    let mut graph = DiGraphMap::<KitId, ()>::new();
    let mut open: Vec<KitId> = wanted.keys().copied().collect();
    for &kit in &open {
        graph.add_node(kit);
    }
    while let Some(kit) = open.pop() {
        for inner in kits_in(kits, kit) {
            if !graph.contains_node(inner) {
                open.push(inner);
            }
            graph.add_edge(kit, inner, ());
        }
    }
    let mut quantity: HashMap<KitId, u64> = wanted.into_iter().collect();
    let mut parts = BTreeMap::new();
    for kit in toposort(&graph, None).unwrap_or_default() {
        let outer = quantity.get(&kit).copied().unwrap_or(0);
        for (item, count) in &kits[kit.index()].items {
            let inner: &mut u64 = match item {
                KitItem::Part(part) => parts.entry(*part).or_default(),
                KitItem::Kit(kit) => quantity.entry(*kit).or_default(),
            };
            *inner = inner.saturating_add(outer.saturating_mul(count.0));
        }
    }
    parts
}

/// Every tangle of kits that hold each other, each as one shortest cycle through its first kit: `hub, station` means
/// that the hub holds the station, which holds the hub.
pub(crate) fn cycles(kits: &[Kit]) -> Vec<Vec<KitId>> {
    let graph = graph(kits);
    let firsts = kosaraju_scc(&graph).into_iter().filter_map(|tangle| {
        let first = *tangle.iter().min()?;
        (tangle.len() > 1 || graph.contains_edge(first, first)).then_some(first)
    });
    let mut cycles: Vec<Vec<KitId>> = firsts.filter_map(|first| shortest_cycle(&graph, first)).collect();
    cycles.sort();
    cycles
}

/// How many parts one of each kit holds, sub-kits expanded; sums stop at the largest `u64`.
pub(crate) fn sizes(kits: &[Kit]) -> Vec<u64> {
    let mut sizes = vec![0_u64; kits.len()];
    for kit in toposort(&graph(kits), None).unwrap_or_default().into_iter().rev() {
        sizes[kit.index()] = kits[kit.index()].items.iter().fold(0, |sum: u64, (item, count)| {
            let each = if let KitItem::Kit(inner) = item { sizes[inner.index()] } else { 1 };
            sum.saturating_add(each.saturating_mul(count.0))
        });
    }
    sizes
}

/// All kits, each with an edge to every kit it holds.
fn graph(kits: &[Kit]) -> DiGraphMap<KitId, ()> {
    let mut graph = DiGraphMap::new();
    for kit in (0..).map(KitId).take(kits.len()) {
        graph.add_node(kit);
        for inner in kits_in(kits, kit) {
            graph.add_edge(kit, inner, ());
        }
    }
    graph
}

/// The shortest way from a kit back to itself; none where it is on no cycle.
fn shortest_cycle(graph: &DiGraphMap<KitId, ()>, first: KitId) -> Option<Vec<KitId>> {
    let mut came_from: HashMap<KitId, KitId> = HashMap::new();
    for kit in Bfs::new(graph, first).iter(graph) {
        if graph.contains_edge(kit, first) {
            let mut way = vec![kit];
            while way.last() != Some(&first) {
                way.push(*came_from.get(way.last()?)?);
            }
            way.reverse();
            return Some(way);
        }
        for inner in graph.neighbors(kit) {
            came_from.entry(inner).or_insert(kit);
        }
    }
    None
}

fn kits_in(kits: &[Kit], kit: KitId) -> impl Iterator<Item = KitId> + '_ {
    kits[kit.index()].items.iter().filter_map(|(item, _)| match item {
        KitItem::Kit(inner) => Some(*inner),
        KitItem::Part(_) => None,
    })
}

fn in_part_order(parts: BTreeMap<PartId, u64>) -> Vec<(PartId, Count)> {
    parts.into_iter().map(|(part, count)| (part, Count(count))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kits given as their items: `(true, n)` is kit `n`, `(false, n)` is part `n`.
    fn kits(bills: &[&[(bool, u32, u64)]]) -> Vec<Kit> {
        let item = |&(is_kit, n, count): &(bool, u32, u64)| {
            (if is_kit { KitItem::Kit(KitId(n)) } else { KitItem::Part(PartId(n)) }, Count(count))
        };
        let kit = |(n, bill): (usize, &&[_])| Kit { name: format!("K{n}"), items: bill.iter().map(item).collect() };
        bills.iter().enumerate().map(kit).collect()
    }

    fn parts(kits: &[Kit], kit: u32, quantity: u64) -> Vec<(u32, u64)> {
        expand(kits, BTreeMap::from([(KitId(kit), quantity)])).into_iter().map(|(p, n)| (p.0, n)).collect()
    }

    #[test]
    fn sub_kits_multiply_and_a_part_met_on_two_ways_adds_up() {
        // K0: 2 × K1, 3 × P0; K1: 4 × P0, 1 × K2; K2: 5 × P1.
        let kits = kits(&[&[(true, 1, 2), (false, 0, 3)], &[(false, 0, 4), (true, 2, 1)], &[(false, 1, 5)]]);
        assert_eq!(parts(&kits, 0, 1), [(0, 11), (1, 10)]);
        assert_eq!(parts(&kits, 1, 10), [(0, 40), (1, 50)]);
        assert_eq!(sizes(&kits), [21, 9, 5]);
        assert!(cycles(&kits).is_empty());
    }

    #[test]
    fn a_kit_reached_on_two_ways_is_expanded_once_with_the_whole_sum() {
        // K0 holds K1 and K2; K1 holds 3 × K2.
        let kits = kits(&[&[(true, 1, 1), (true, 2, 1)], &[(true, 2, 3)], &[(false, 0, 2)]]);
        assert_eq!(parts(&kits, 0, 1), [(0, 8)]);
    }

    #[test]
    fn each_tangle_gives_its_shortest_cycle() {
        // K0 -> K1 -> K2 -> K0 and K1 -> K0; K3 -> K3; K4 is clean.
        let kits = kits(&[
            &[(true, 1, 1)],
            &[(true, 2, 1), (true, 0, 1)],
            &[(true, 0, 1)],
            &[(true, 3, 1)],
            &[(true, 3, 1), (false, 0, 1)],
        ]);
        assert_eq!(cycles(&kits), [vec![KitId(0), KitId(1)], vec![KitId(3)]]);
    }

    #[test]
    fn a_deep_chain_of_large_counts_neither_overflows_nor_exhausts_the_stack() {
        let bills: Vec<Vec<(bool, u32, u64)>> = (0..20_000)
            .map(|n| if n < 19_999 { vec![(true, n + 1, 1_000_000)] } else { vec![(false, 0, 1)] })
            .collect();
        let kits = kits(&bills.iter().map(Vec::as_slice).collect::<Vec<_>>());
        assert_eq!(parts(&kits, 0, 1), [(0, u64::MAX)]);
        assert!(cycles(&kits).is_empty());
    }
}
