//! Shipments: parts made and given, boxes, ready times, and the objective.

use super::draft::{Begun, Draft};
use super::places;
use super::program::Sense::{AtLeast, AtMost};
use crate::mix;
use crate::problem::{Boxes, Order};
use crate::whole::greatest_common_divisor;
use std::collections::BTreeMap;

/// Kits of a line that are packed alike: its full boxes, or the one that is filled in part.
struct Packed {
    /// Kits in a box.
    kits: i64,
    /// How many boxes.
    count: i64,
    /// By slot: boxes begun up to it; a slot without an entry is as the one before.
    begun: BTreeMap<usize, usize>,
    /// By slot: boxes that have been finished up to it.
    finished: BTreeMap<usize, usize>,
}

/// A line that is packed.
struct PackedLine {
    /// Copies of each part in one kit.
    kit: Vec<(usize, i64)>,
    /// Its full boxes, and the one that is not.
    boxes: Vec<Packed>,
}

/// A shipment's variables.
struct Shipped {
    /// By slot up to the last: whether it is still open in it. In the slot after the last it no longer is.
    open: Vec<usize>,
    /// Lines that are packed.
    packed: Vec<PackedLine>,
    /// Parts of lines that are not packed.
    loose: BTreeMap<usize, i64>,
}

impl Shipped {
    /// The parts that the shipment has taken by a slot: terms, and the sum that is there whatever they are. A loose part
    /// is taken when the shipment is no longer open.
    fn taken(&self, part: usize, slot: usize) -> (Vec<(usize, i64)>, i64) {
        let loose = self.loose.get(&part).copied().unwrap_or(0);
        let mut terms: Vec<(usize, i64)> = self.open.get(slot).map(|open| (*open, -loose)).into_iter().collect();
        for line in &self.packed {
            let copies = line.kit.iter().find(|(of, _)| *of == part).map_or(0, |(_, copies)| *copies);
            for packed in &line.boxes {
                terms.extend(up_to(&packed.begun, slot).map(|begun| (begun, copies * packed.kits)));
            }
        }
        (terms, loose)
    }
}

/// The entry of a slot, or of the last one before it.
fn up_to(by_slot: &BTreeMap<usize, usize>, slot: usize) -> Option<usize> {
    by_slot.range(..=slot).next_back().map(|(_, variable)| *variable)
}

impl Draft<'_> {
    /// Writes down all shipments.
    pub(super) fn add_orders(&mut self) {
        let orders = &self.problem.orders;
        let shipped: Vec<Shipped> =
            orders.iter().enumerate().map(|(number, order)| self.add_order(number, order)).collect();
        let needed = mix::total_needs(self.problem);
        for part in (0..needed.len()).filter(|part| needed[*part] > 0) {
            let made = self.add_made(part);
            if self.epochs.len() == 1 {
                self.add_alike(part, &made[0], &shipped);
            } else {
                self.add_released(part, &made, &shipped);
            }
        }
        self.add_objective(&shipped);
    }

    fn add_order(&mut self, number: usize, order: &Order) -> Shipped {
        let name = self.shipments[number].clone();
        let last = self.last_ready();
        let open: Vec<usize> = (0..last).map(|slot| self.program.whole(format!("open/{name}/s{slot}"), 1)).collect();
        for (slot, pair) in open.windows(2).enumerate() {
            let terms = vec![(pair[0], 1), (pair[1], -1)];
            self.program.row(format!("stays/{name}/s{}", slot + 1), terms, AtLeast, 0);
        }
        let mut loose: BTreeMap<usize, i64> = order.needs.iter().copied().collect();
        let mut packed = Vec::new();
        for boxes in &order.boxes {
            for (part, copies) in &boxes.kit {
                *loose.entry(*part).or_default() -= copies * boxes.quantity;
            }
            packed.push(PackedLine { kit: boxes.kit.clone(), boxes: self.add_boxes(&name, boxes) });
        }
        for (line, boxes) in packed.iter().flat_map(|line| &line.boxes).enumerate() {
            for slot in 0..=last {
                // As many boxes as there are, unless the shipment is still open.
                let mut terms: Vec<(usize, i64)> =
                    open.get(slot).map(|open| (*open, boxes.count)).into_iter().collect();
                terms.extend(up_to(&boxes.finished, slot).map(|finished| (finished, 1)));
                self.program.row(format!("packed/{name}/{line}/s{slot}"), terms, AtLeast, boxes.count);
            }
        }
        loose.retain(|_, count| *count > 0);
        Shipped { open, packed, loose }
    }

    /// Full boxes, and the last one where it is not full, which comes after them.
    fn add_boxes(&mut self, shipment: &str, boxes: &Boxes) -> Vec<Packed> {
        let full = boxes.quantity / boxes.per_box;
        let rest = boxes.quantity % boxes.per_box;
        let mut kinds = Vec::new();
        if full > 0 {
            kinds.push(self.add_packing(&format!("{shipment}/{}/full", boxes.line), boxes.per_box, full));
        }
        if rest > 0 {
            let last = self.add_packing(&format!("{shipment}/{}/last", boxes.line), rest, 1);
            if let Some(before) = kinds.first() {
                let order: Vec<(usize, usize)> = last.begun.iter().map(|(slot, begun)| (*slot, *begun)).collect();
                for (slot, begun) in order {
                    let mut terms = vec![(begun, -full)];
                    terms.extend(up_to(&before.begun, slot).map(|begun| (begun, 1)));
                    self.program.row(format!("order/{shipment}/{}/s{slot}", boxes.line), terms, AtLeast, 0);
                }
            }
            kinds.push(last);
        }
        kinds
    }

    fn add_packing(&mut self, name: &str, kits: i64, count: i64) -> Packed {
        let minutes = self.problem.pack_box;
        let (mut begun_in, mut finished_in): (BTreeMap<usize, Vec<usize>>, BTreeMap<usize, Vec<usize>>) =
            Default::default();
        for place in places::of_task(self.problem, self.slots, minutes, &[]) {
            let variable = self.program.whole(format!("box/{name}/w{}/s{}", place.pool, place.slot), count);
            self.begun.push(Begun { variable, pool: place.pool, slot: place.slot, minutes });
            begun_in.entry(place.slot).or_default().push(variable);
            finished_in.entry(self.slots.at(place.first + minutes)).or_default().push(variable);
        }
        let begun = self.add_sums(&format!("begun/{name}"), begun_in, count);
        let finished = self.add_sums(&format!("finished/{name}"), finished_in, count);
        Packed { kits, count, begun, finished }
    }

    /// Sums up to each slot of what is counted in slots.
    fn add_sums(&mut self, name: &str, counted: BTreeMap<usize, Vec<usize>>, most: i64) -> BTreeMap<usize, usize> {
        let counted =
            counted.into_iter().map(|(slot, variables)| (slot, variables.into_iter().map(|v| (v, 1)).collect()));
        self.add_weighted_sums(name, counted.collect(), Some(most))
    }

    fn add_weighted_sums(
        &mut self,
        name: &str,
        counted: BTreeMap<usize, Vec<(usize, i64)>>,
        most: Option<i64>,
    ) -> BTreeMap<usize, usize> {
        let mut sums = BTreeMap::new();
        let mut before: Option<usize> = None;
        for (slot, mut terms) in counted {
            let sum = self.program.amount(format!("{name}/s{slot}"), most);
            terms.iter_mut().for_each(|term| term.1 = -term.1);
            terms.push((sum, 1));
            terms.extend(before.map(|before| (before, -1)));
            self.program.row(format!("sum/{name}/s{slot}"), terms, super::program::Sense::Equal, 0);
            sums.insert(slot, sum);
            before = Some(sum);
        }
        sums
    }

    /// Copies of a part that are usable up to each slot, by the epoch of their load.
    fn add_made(&mut self, part: usize) -> Vec<BTreeMap<usize, usize>> {
        let mut counted: Vec<BTreeMap<usize, Vec<(usize, i64)>>> = vec![BTreeMap::new(); self.epochs.len()];
        for harvested in &self.harvested {
            let yields = &self.problem.modes[harvested.mode].yields;
            if let Some((_, copies)) = yields.iter().find(|(of, _)| *of == part) {
                let usable = self.slots.at(harvested.ended + self.problem.finish[part]);
                counted[harvested.epoch].entry(usable).or_default().push((harvested.variable, *copies));
            }
        }
        let sums = counted.into_iter().enumerate().map(|(epoch, counted)| {
            let name = format!("made/{}{}", self.parts[part], self.epoch_name(epoch));
            self.add_weighted_sums(&name, counted, None)
        });
        sums.collect()
    }

    /// All copies of a part are as good as each other: what shipments have taken is there.
    fn add_alike(&mut self, part: usize, made: &BTreeMap<usize, usize>, shipped: &[Shipped]) {
        for slot in 0..=self.last_ready() {
            let mut right = self.problem.stock[part];
            let mut terms = Vec::new();
            for shipment in shipped {
                let (taken, sum) = shipment.taken(part, slot);
                terms.extend(taken);
                right -= sum;
            }
            terms.extend(up_to(made, slot).map(|made| (made, -1)));
            self.program.row(format!("supply/{}/s{slot}", self.parts[part]), terms, AtMost, right);
        }
    }

    /// Copies count by when they were loaded: each shipment is given copies of epochs that its release allows, for good.
    fn add_released(&mut self, part: usize, made: &[BTreeMap<usize, usize>], shipped: &[Shipped]) {
        let last = self.last_ready();
        let name = self.parts[part].clone();
        let orders = &self.problem.orders;
        let takers: Vec<usize> =
            (0..orders.len()).filter(|order| orders[*order].needs.iter().any(|(of, _)| *of == part)).collect();
        let mut given: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
        let mut from_stock = Vec::new();
        for &order in &takers {
            let shipment = self.shipments[order].clone();
            let release = orders[order].release;
            for epoch in (0..made.len()).filter(|epoch| self.epochs[*epoch] >= release) {
                let called = format!("{name}/{shipment}/e{epoch}");
                let by_slot: Vec<usize> =
                    (0..=last).map(|slot| self.program.amount(format!("given/{called}/s{slot}"), None)).collect();
                for (slot, pair) in by_slot.windows(2).enumerate() {
                    let terms = vec![(pair[1], 1), (pair[0], -1)];
                    self.program.row(format!("kept/{called}/s{}", slot + 1), terms, AtLeast, 0);
                }
                given.insert((order, epoch), by_slot);
            }
            let stock = self.program.amount(format!("stock/{name}/{shipment}"), None);
            from_stock.push((stock, 1));
            for slot in 0..=last {
                let (mut terms, sum) = shipped[order].taken(part, slot);
                terms.push((stock, -1));
                let epochs = given.range((order, 0)..=(order, usize::MAX));
                terms.extend(epochs.map(|(_, by_slot)| (by_slot[slot], -1)));
                self.program.row(format!("takes/{name}/{shipment}/s{slot}"), terms, AtMost, -sum);
            }
        }
        self.program.row(format!("stock/{name}"), from_stock, AtMost, self.problem.stock[part]);
        for (epoch, made) in made.iter().enumerate() {
            for slot in 0..=last {
                let takers = given.iter().filter(|((_, of), _)| *of == epoch);
                let mut terms: Vec<(usize, i64)> = takers.map(|(_, by_slot)| (by_slot[slot], 1)).collect();
                terms.extend(up_to(made, slot).map(|made| (made, -1)));
                self.program.row(format!("supply/{name}/e{epoch}/s{slot}"), terms, AtMost, 0);
            }
        }
    }

    /// Lateness first, at a price that no makespan outweighs, then the makespan.
    fn add_objective(&mut self, shipped: &[Shipped]) {
        let last = self.last_ready();
        let slot_minutes = i64::from(self.slots.length);
        let (price, unit) = self.late_price();
        for (order, shipment) in self.problem.orders.iter().zip(shipped) {
            let Some(due) = order.due else { continue };
            let late = |slot: usize| (i64::from(self.slots.from(slot)) - i64::from(due)).max(0);
            for (slot, open) in shipment.open.iter().enumerate() {
                self.program.charge(*open, price * (order.weight / unit) * (late(slot + 1) - late(slot)));
            }
        }
        let unfinished: Vec<usize> = match shipped {
            [only] => only.open.clone(),
            _ => (0..last).map(|slot| self.program.whole(format!("unfinished/s{slot}"), 1)).collect(),
        };
        for (slot, unfinished) in unfinished.iter().enumerate() {
            self.program.charge(*unfinished, slot_minutes);
            for (number, shipment) in shipped.iter().enumerate().filter(|_| shipped.len() > 1) {
                let terms = vec![(*unfinished, 1), (shipment.open[slot], -1)];
                self.program.row(format!("last/{}/s{slot}", self.shipments[number]), terms, AtLeast, 0);
            }
        }
        // What is late before it can begin is late by so much whatever is done.
        let overdue: i64 = self
            .problem
            .orders
            .iter()
            .map(|order| order.due.map_or(0, |due| (-i64::from(due)).max(0) * (order.weight / unit)))
            .sum();
        if overdue > 0 {
            let one = self.program.whole("overdue".to_owned(), 1);
            self.program.charge(one, price * overdue);
            self.program.row("overdue".to_owned(), vec![(one, 1)], AtLeast, 1);
        }
    }

    /// What a unit of lateness costs, and how many thousandths of a weighted minute the unit is: all weights are whole
    /// multiples of it.
    pub(super) fn late_price(&self) -> (i64, i64) {
        let due = self.problem.orders.iter().filter(|order| order.due.is_some());
        let unit = due.map(|order| order.weight).fold(0, greatest_common_divisor).max(1);
        (i64::from(self.slots.length) * self.last_ready() as i64 + 1, unit)
    }
}
