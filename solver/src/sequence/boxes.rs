//! When a shipment's next box has its parts, while copies arrive.
//!
//! Shipments are served in turn: a copy goes, when it becomes usable, to the first whose needs are not met and that may use
//! it. That is what [`crate::finish`] does too: each takes the earliest copies that those before it have left.

use crate::problem::{Min, Problem};

/// Copies that have arrived, and boxes begun.
pub(super) struct Packing {
    turn: Vec<usize>,
    /// By shipment and part: copies that have arrived for it, (usable, copies) in order, their sum, and how many are in its
    /// boxes.
    arrived: Vec<Vec<Vec<(Min, i64)>>>,
    sum: Vec<Vec<i64>>,
    boxed: Vec<Vec<i64>>,
    need: Vec<Vec<i64>>,
    /// By shipment and line, boxes begun.
    begun: Vec<Vec<i64>>,
    /// By shipment and line, a part that its next box lacks.
    lacks: Vec<Vec<Option<usize>>>,
}

/// A box that has its parts.
#[derive(Debug, Clone, Copy)]
pub(super) struct NextBox {
    /// From here.
    pub(super) there: Min,
    line: usize,
}

impl Packing {
    /// Nothing has arrived.
    pub(super) fn new(problem: &Problem<'_>) -> Packing {
        let (orders, parts) = (problem.orders.len(), problem.finish.len());
        let mut need = vec![vec![0; parts]; orders];
        for (need, order) in need.iter_mut().zip(&problem.orders) {
            order.needs.iter().for_each(|&(part, copies)| need[part] += copies);
        }
        Packing {
            turn: Vec::new(),
            arrived: vec![vec![Vec::new(); parts]; orders],
            sum: vec![vec![0; parts]; orders],
            boxed: vec![vec![0; parts]; orders],
            need,
            begun: problem.orders.iter().map(|o| vec![0; o.boxes.len()]).collect(),
            lacks: problem.orders.iter().map(|o| vec![None; o.boxes.len()]).collect(),
        }
    }

    /// Begins anew, with stock alone.
    pub(super) fn clear(&mut self, problem: &Problem<'_>, turn: &[usize]) {
        self.turn.clear();
        self.turn.extend_from_slice(turn);
        self.arrived.iter_mut().flatten().for_each(Vec::clear);
        self.sum.iter_mut().for_each(|of_order| of_order.fill(0));
        self.boxed.iter_mut().for_each(|of_order| of_order.fill(0));
        self.begun.iter_mut().for_each(|lines| lines.fill(0));
        for (part, &stock) in problem.stock.iter().enumerate() {
            self.arrive(problem, part, Min::MAX, 0, stock);
        }
    }

    /// Copies arrive that were loaded at a minute.
    pub(super) fn arrive(&mut self, problem: &Problem<'_>, part: usize, loaded: Min, usable: Min, mut copies: i64) {
        for &order in &self.turn {
            if copies == 0 {
                break;
            }
            let sum = &mut self.sum[order][part];
            let taken = copies.min(self.need[order][part] - *sum);
            if taken > 0 && problem.orders[order].release <= loaded {
                let arrived = &mut self.arrived[order][part];
                let at = arrived.iter().rposition(|a| a.0 <= usable).map_or(0, |before| before + 1);
                arrived.insert(at, (usable, taken));
                *sum += taken;
                copies -= taken;
            }
        }
    }

    /// When so many copies more than are in its boxes are usable for a shipment.
    pub(super) fn usable(&self, order: usize, part: usize, copies: i64) -> Option<Min> {
        let wanted = self.boxed[order][part] + copies;
        let mut sum = self.sum[order][part];
        if sum < wanted {
            return None;
        }
        // What is asked about lies among the last copies.
        let later = |a: &&(Min, i64)| {
            sum -= a.1;
            sum >= wanted
        };
        let arrived = &self.arrived[order][part];
        let after = arrived.iter().rev().take_while(later).count();
        Some(arrived.get(arrived.len().wrapping_sub(after + 1)).map_or(0, |a| a.0))
    }

    /// A shipment's next box, of those lines whose parts have arrived the one that has them first.
    pub(super) fn next(&mut self, problem: &Problem<'_>, order: usize) -> Option<NextBox> {
        let mut next: Option<NextBox> = None;
        for (line, boxes) in problem.orders[order].boxes.iter().enumerate() {
            let begun = self.begun[order][line];
            let kits = boxes.kits_in_first(begun + 1) - boxes.kits_in_first(begun);
            self.lacks[order][line] = None;
            if kits == 0 {
                continue;
            }
            let usable = |&(part, n): &(usize, i64)| self.usable(order, part, kits * n).ok_or(part);
            match boxes.kit.iter().map(usable).try_fold(0, |latest: Min, at| Ok(latest.max(at?))) {
                Ok(there) if next.is_none_or(|n| there < n.there) => next = Some(NextBox { there, line }),
                Ok(_) => {}
                Err(part) => self.lacks[order][line] = Some(part),
            }
        }
        next
    }

    /// Whether a box that comes next was last seen to lack a part.
    pub(super) fn lacks(&self, order: usize, part: usize) -> bool {
        self.lacks[order].contains(&Some(part))
    }

    /// A shipment's box is begun.
    pub(super) fn begin(&mut self, problem: &Problem<'_>, order: usize, next: NextBox) {
        let boxes = &problem.orders[order].boxes[next.line];
        let begun = &mut self.begun[order][next.line];
        let kits = boxes.kits_in_first(*begun + 1) - boxes.kits_in_first(*begun);
        *begun += 1;
        boxes.kit.iter().for_each(|&(part, n)| self.boxed[order][part] += kits * n);
    }

    /// Whether all boxes of a shipment are begun.
    pub(super) fn is_done(&self, problem: &Problem<'_>, order: usize) -> bool {
        problem.orders[order].boxes.iter().zip(&self.begun[order]).all(|(boxes, &begun)| begun >= boxes.count())
    }
}
