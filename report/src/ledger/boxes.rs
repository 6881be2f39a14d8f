//! What is in which box.

use super::{BoxLot, Content, Lot, MOST_LOTS, Packing, Pieces, TooManyLots, number_of};
use platewright_model::instance::{Shipment, ShipmentLine};
use platewright_model::plan::{Source, Task, Work};
use platewright_model::{Count, Instance, Instant, Minutes, Plan, kits};
use std::collections::HashMap;

/// Pieces of one part for one shipment, in the order in which they become usable.
#[derive(Debug, Default)]
struct Queue<'l> {
    /// Lot, source, how many, usable from, and how many up to and with these.
    pieces: Vec<(usize, &'l Source, u64, Instant, u64)>,
    next: usize,
    taken_of_next: u64,
    taken: u64,
}

impl Queue<'_> {
    /// When so many more are usable; never where there are not so many.
    fn moment(&self, more: u64) -> Option<Instant> {
        let wanted = self.taken.saturating_add(more);
        self.pieces.get(self.pieces.partition_point(|piece| piece.4 < wanted)).map(|piece| piece.3)
    }

    /// The next so many, or as many as there are, with the moment at which the last is usable.
    fn take(&mut self, mut wanted: u64) -> (Vec<Pieces>, Option<Instant>) {
        let (mut taken, mut usable) = (Vec::new(), None);
        while let Some(&(lot, source, count, from, _)) = self.pieces.get(self.next)
            && wanted > 0
        {
            let take = wanted.min(count - self.taken_of_next);
            taken.push(Pieces { lot, source: source.clone(), count: Count(take) });
            usable = Some(from);
            wanted -= take;
            self.taken += take;
            self.taken_of_next += take;
            if self.taken_of_next == count {
                self.next += 1;
                self.taken_of_next = 0;
            }
        }
        (taken, usable)
    }
}

/// Parts of one kit, by position in the instance, with the part's name.
type Bill<'i> = Vec<(&'i str, u64)>;

/// A row of a shipment on its way into boxes.
struct Row<'i> {
    line: &'i ShipmentLine,
    kit: &'i str,
    bill: Bill<'i>,
    tasks: Vec<&'i Task>,
    begun: u64,
}

impl Row<'_> {
    fn kits_of_next(&self) -> u64 {
        let per_box = self.line.per_box.map_or(self.line.quantity.0, |per_box| per_box.0);
        self.line.quantity.0.saturating_sub(self.begun.saturating_mul(per_box)).min(per_box)
    }

    /// Unboxed kits come after all boxes; boxes in the order of their packing, or else of their parts.
    fn turn(&self, queues: &HashMap<&str, Queue>) -> Option<(bool, Instant)> {
        if self.kits_of_next() == 0 {
            return None;
        }
        if let Some(task) = self.tasks.get(self.begun as usize) {
            return Some((false, task.from));
        }
        let there = self.bill.iter().map(|(part, each)| {
            let more = each.saturating_mul(self.kits_of_next());
            queues.get(*part).and_then(|queue| queue.moment(more)).unwrap_or(Instant(i64::MAX))
        });
        Some((self.line.per_box.is_none(), there.max().unwrap_or(Instant(i64::MIN))))
    }
}

/// All boxes of all shipments, in order of packing.
pub(super) fn boxes(instance: &Instance, plan: &Plan, lots: &[Lot], mark: &str) -> Result<Vec<BoxLot>, TooManyLots> {
    let count: u64 = instance.shipments.iter().flat_map(|s| &s.lines).map(|line| line.boxes().0).sum();
    if count > MOST_LOTS {
        return Err(TooManyLots);
    }
    let mut queues = queues(lots);
    let mut packed: HashMap<(&str, &str), Vec<&Task>> = HashMap::new();
    for task in &plan.tasks {
        if let Work::Pack { shipment, kit } = &task.work {
            packed.entry((shipment, kit)).or_default().push(task);
        }
    }
    for tasks in packed.values_mut() {
        tasks.sort_by_key(|task| (task.from, &task.operator));
    }
    let mut boxes = Vec::new();
    for shipment in &instance.shipments {
        let of_shipment = queues.remove(shipment.name.as_str()).unwrap_or_default();
        boxes.extend(of_one(instance, shipment, of_shipment, &mut packed));
    }
    boxes.sort_by_key(|packed_box| (packed_box.number.is_none(), packed_box.closes));
    let known: HashMap<(&str, &str, u64), &str> = plan
        .labelled
        .boxes
        .iter()
        .map(|label| ((label.shipment.as_str(), label.kit.as_str(), label.place), label.number.as_str()))
        .collect();
    for packed_box in boxes.iter_mut().filter(|b| plan.since.is_some_and(|since| b.closes <= since)) {
        let Some((place, _)) = packed_box.number else { continue };
        if let Some(number) = known.get(&(packed_box.shipment.as_str(), packed_box.kit.as_str(), place)) {
            packed_box.id = (*number).to_owned();
        }
    }
    let (mut boxed, mut loose) = (boxes.iter().filter_map(|b| number_of("BOX", &b.id)).max().unwrap_or(0), 0);
    for packed_box in boxes.iter_mut().filter(|b| b.id.is_empty()) {
        let (word, number) = if packed_box.number.is_some() { ("BOX", &mut boxed) } else { ("LOOSE", &mut loose) };
        *number += 1;
        packed_box.id = format!("{word}-{number:04}-{mark}");
    }
    Ok(boxes)
}

type Queues<'l> = HashMap<&'l str, HashMap<&'l str, Queue<'l>>>;

/// By shipment and part.
fn queues(lots: &[Lot]) -> Queues<'_> {
    let mut queues = Queues::new();
    for (at, lot) in lots.iter().enumerate() {
        for fill in &lot.fills {
            for give in &fill.gives {
                let Some(shipment) = &give.shipment else { continue };
                let queue = queues.entry(shipment).or_default().entry(&lot.part).or_default();
                queue.pieces.push((at, &fill.source, give.count.0, fill.usable, 0));
            }
        }
    }
    for queue in queues.values_mut().flat_map(HashMap::values_mut) {
        queue.pieces.sort_by_key(|piece| (piece.3, piece.1, piece.0));
        let mut sum = 0;
        for piece in &mut queue.pieces {
            sum += piece.2;
            piece.4 = sum;
        }
    }
    queues
}

fn of_one<'i>(
    instance: &'i Instance,
    shipment: &'i Shipment,
    mut queues: HashMap<&str, Queue>,
    packed: &mut HashMap<(&'i str, &'i str), Vec<&'i Task>>,
) -> Vec<BoxLot> {
    let mut rows: Vec<Row> = Vec::new();
    for line in &shipment.lines {
        let Some(kit) = instance.kits.get(line.kit.index()) else { continue };
        let bill = kits::parts_of_kit(instance, line.kit);
        let named =
            bill.iter().filter_map(|(part, each)| Some((instance.parts.get(part.index())?.name.as_str(), each.0)));
        let packs = line.per_box.is_some() && instance.farm.handling.pack_box > Minutes::ZERO;
        let tasks = if packs { packed.remove(&(shipment.name.as_str(), kit.name.as_str())) } else { None };
        rows.push(Row { line, kit: &kit.name, bill: named.collect(), tasks: tasks.unwrap_or_default(), begun: 0 });
    }
    let mut boxes = Vec::new();
    while let Some((_, at)) = rows
        .iter()
        .enumerate()
        .filter_map(|(at, row)| Some((row.turn(&queues)?, at)))
        .min_by_key(|(turn, at)| (*turn, *at))
    {
        let Some(row) = rows.get_mut(at) else { break };
        boxes.push(pack(instance, shipment, row, &mut queues));
        row.begun += 1;
    }
    boxes
}

fn pack(instance: &Instance, shipment: &Shipment, row: &Row, queues: &mut HashMap<&str, Queue>) -> BoxLot {
    let kits = row.kits_of_next();
    let mut closes = instance.farm.start;
    let mut contents = Vec::new();
    for (part, each) in &row.bill {
        let Some(queue) = queues.get_mut(*part) else { continue };
        let (pieces, usable) = queue.take(each.saturating_mul(kits));
        closes = closes.max(usable.unwrap_or(closes));
        contents.push(Content { part: (*part).to_owned(), pieces });
    }
    let packing = row.tasks.get(row.begun as usize).map(|task| Packing {
        operator: task.operator.clone(),
        from: task.from,
        to: task.to,
    });
    BoxLot {
        id: String::new(),
        shipment: shipment.name.clone(),
        kit: row.kit.to_owned(),
        kits: Count(kits),
        number: row.line.per_box.is_some().then(|| (row.begun + 1, row.line.boxes().0)),
        closes: packing.as_ref().map_or(closes, |packing| packing.to),
        packing,
        contents,
    }
}
