//! Kits expanded into parts, on a directed graph of kits.

use crate::instance::{Instance, KitId, PartId, ShipmentId};
use crate::units::Count;

/// How many of each part one kit holds, sub-kits expanded; in part order, each part once.
pub fn parts_of_kit(instance: &Instance, kit: KitId) -> Vec<(PartId, Count)> {
    let _ = (instance, kit);
    Vec::new()
}

/// How many of each part a shipment needs, over all its lines; in part order, each part once.
pub fn needs(instance: &Instance, shipment: ShipmentId) -> Vec<(PartId, Count)> {
    let _ = (instance, shipment);
    Vec::new()
}
