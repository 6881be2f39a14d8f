//! Parts over time: made and usable against what shipments take.

use crate::html::axis::Axis;
use crate::html::table::{Cell, Table};
use crate::html::{ink, shown};
use crate::phases::Names;
use crate::span::Span;
use crate::surplus::balances;
use platewright_model::instance::ShipmentId;
use platewright_model::kits;
use platewright_model::{Instance, Instant, Minutes, Plan};
use std::collections::HashMap;
use std::fmt::Write;

/// One part's chart: three lines over time, as SVG paths in a box of 1000 by 100.
#[derive(Debug)]
pub(super) struct PartChart {
    pub(super) name: String,
    pub(super) swatch: String,
    pub(super) fill: &'static str,
    pub(super) shade: &'static str,
    /// In words, for who does not see the lines.
    pub(super) words: String,
    /// The count at the top of the box.
    pub(super) top: u64,
    pub(super) made: String,
    pub(super) usable: String,
    pub(super) area: String,
    pub(super) needed: String,
    /// Where the shipments that take the part are ready.
    pub(super) ready: Vec<f64>,
    /// Their numbers in the table of shipments; those that would stand on each other share a place.
    pub(super) marks: Vec<(f64, String)>,
}

/// So many days are named under a small chart.
pub(super) const DAYS_NAMED: usize = 4;

/// So many parts are drawn; the table has all.
pub(super) const DRAWN: usize = 40;

/// A count that rises at instants.
#[derive(Debug, Default)]
struct Rises(Vec<(Instant, u64)>);

impl Rises {
    fn sorted(mut self) -> Rises {
        self.0.sort();
        self
    }

    fn total(&self) -> u64 {
        self.0.iter().map(|(_, count)| count).sum()
    }

    /// The line from the left edge to the right; steps that would fall on one place are drawn as one.
    fn path(&self, axis: &Axis, top: u64) -> String {
        let height = |count: u64| (1000.0 - 1000.0 * count as f64 / top.max(1) as f64).round() / 10.0;
        let mut steps: Vec<(f64, u64)> = Vec::new();
        let mut count = 0;
        for &(at, rise) in &self.0 {
            count += rise;
            let x = (axis.place(at) * 10.0).round();
            match steps.last_mut() {
                Some((last, total)) if *last >= x => *total = count,
                _ => steps.push((x, count)),
            }
        }
        let mut path = format!("M0 {}", height(0));
        for (x, count) in steps {
            // Writing to a string cannot fail.
            let _ = write!(path, "H{x}V{}", height(count));
        }
        path.push_str("H1000");
        path
    }
}

/// What is made and taken of every part.
struct Supply {
    made: Rises,
    usable: Rises,
    needed: Rises,
    /// Shipments that take it, by position in the plan.
    takers: Vec<usize>,
}

fn supplies(instance: &Instance, plan: &Plan) -> Vec<Supply> {
    let start = instance.farm.start;
    let empty =
        || Supply { made: Rises::default(), usable: Rises::default(), needed: Rises::default(), takers: Vec::new() };
    let mut all: Vec<Supply> = instance.parts.iter().map(|_| empty()).collect();
    for row in &instance.stock {
        if let Some(supply) = all.get_mut(row.part.index()) {
            supply.made.0.push((start, row.quantity.0));
            supply.usable.0.push((start, row.quantity.0));
        }
    }
    let names = Names::of(instance);
    for run in &plan.runs {
        for (part, copies) in names.plate_of(run).into_iter().flat_map(|(_, _, plate)| &plate.copies) {
            let finish = instance.parts.get(part.index()).map_or(Minutes::ZERO, |p| p.finish);
            if let Some(supply) = all.get_mut(part.index()) {
                supply.made.0.push((run.harvest_to, copies.0));
                supply.usable.0.push((run.harvest_to + finish, copies.0));
            }
        }
    }
    let ids: HashMap<&str, u32> = (0..).zip(&instance.shipments).map(|(i, s)| (s.name.as_str(), i)).collect();
    for (position, shipment) in plan.shipments.iter().enumerate() {
        let Some(&id) = ids.get(shipment.shipment.as_str()) else { continue };
        for (part, count) in kits::needs(instance, ShipmentId(id)) {
            if let Some(supply) = all.get_mut(part.index()) {
                supply.needed.0.push((shipment.ready, count.0));
                supply.takers.push(position);
            }
        }
    }
    all.into_iter()
        .map(|s| Supply { made: s.made.sorted(), usable: s.usable.sorted(), needed: s.needed.sorted(), ..s })
        .collect()
}

/// The charts of the parts that shipments take, those needed most first where there are too many.
pub(super) fn charts(instance: &Instance, plan: &Plan) -> Vec<PartChart> {
    let axis = Axis::of(instance, Span::of_plan(instance, plan), DAYS_NAMED);
    let mut wanted: Vec<(usize, Supply)> = supplies(instance, plan).into_iter().enumerate().collect();
    wanted.retain(|(_, supply)| supply.needed.total() > 0);
    if wanted.len() > DRAWN {
        wanted.sort_by_key(|(_, supply)| std::cmp::Reverse(supply.made.0.len()));
        wanted.truncate(DRAWN);
        wanted.sort_by_key(|(index, _)| *index);
    }
    let chart = |(index, supply): (usize, Supply)| {
        let ink = ink::of_part(index);
        let (made, needed) = (supply.made.total(), supply.needed.total());
        let top = made.max(needed);
        let usable = supply.usable.path(&axis, top);
        let takers: Vec<(f64, usize)> =
            supply.takers.iter().filter_map(|&at| Some((axis.place(plan.shipments.get(at)?.ready), at + 1))).collect();
        PartChart {
            name: instance.parts.get(index).map(|p| shown(&p.name)).unwrap_or_default(),
            swatch: ink::swatch(index),
            fill: ink.fill,
            shade: ink.shade,
            words: format!("{made} made or in stock, {needed} needed"),
            top,
            made: supply.made.path(&axis, top),
            area: format!("{usable}V100H0Z"),
            usable,
            needed: supply.needed.path(&axis, top),
            ready: takers.iter().map(|(at, _)| *at).collect(),
            marks: marks(takers),
        }
    };
    wanted.into_iter().map(chart).collect()
}

/// A number each where there is room; numbers that would touch are told together at the first one's place.
fn marks(mut takers: Vec<(f64, usize)>) -> Vec<(f64, String)> {
    const ROOM: f64 = 6.0;
    takers.sort_by(|a, b| a.0.total_cmp(&b.0));
    let together = takers.chunk_by(|a, b| b.0 - a.0 < ROOM);
    together
        .filter_map(|close| {
            let (at, first) = close.first()?;
            let (_, last) = close.last()?;
            let words = match close.len() {
                1 => first.to_string(),
                2 => format!("{first}, {last}"),
                _ => format!("{first} … {last}"),
            };
            Some((*at, words))
        })
        .collect()
}

/// Swatch and name of every part that a run of the plan prints.
pub(super) fn inks(instance: &Instance, plan: &Plan) -> Vec<(String, String)> {
    let printed = balances(instance, plan).into_iter().filter(|balance| balance.printed.0 > 0);
    printed
        .filter_map(|balance| {
            let index = balance.part.index();
            Some((ink::swatch(index), shown(&instance.parts.get(index)?.name)))
        })
        .collect()
}

/// Every part's figures.
pub(super) fn table(instance: &Instance, plan: &Plan) -> Table {
    let heads = [
        "part",
        "",
        "material",
        "#in stock",
        "#made",
        "#needed",
        "#surplus",
        "first usable",
        "all that is made, usable",
    ];
    let mut table = Table::new("Parts made and needed", &heads);
    for (balance, supply) in balances(instance, plan).into_iter().zip(supplies(instance, plan)) {
        let index = balance.part.index();
        let Some(part) = instance.parts.get(index) else { continue };
        let made: Vec<Instant> =
            supply.usable.0.iter().map(|(at, _)| *at).filter(|at| *at > instance.farm.start).collect();
        let moment = |at: Option<&Instant>| at.map_or(Cell::Words(String::new()), |at| Cell::moment(instance, *at));
        table.row([
            Cell::head(&part.name),
            Cell::Drawing(ink::swatch(index)),
            Cell::name(instance.materials.get(part.material.index()).map_or("", String::as_str)),
            Cell::figure(balance.stock),
            Cell::figure(balance.printed),
            Cell::figure(supply.needed.total()),
            Cell::figure(balance.surplus()),
            moment(made.first()),
            moment(made.last()),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn the_lines_end_where_the_counts_do() {
        let mut instance = sample::instance();
        instance.parts[0].finish = Minutes(30);
        let plan = sample::plan(&instance);
        let charts = charts(&instance, &plan);
        let [cup, base] = &charts[..] else { panic!("two parts are needed: {charts:?}") };
        // Four cups harvested at 08:14 of Monday beside one in stock; 74 of 2,884 minutes are 2.57 %.
        assert_eq!((cup.top, cup.made.as_str()), (5, "M0 100H0V80H26V0H1000"));
        assert_eq!(cup.usable, "M0 100H0V80H36V0H1000");
        assert_eq!(cup.needed, "M0 100H1000V20H1000");
        assert_eq!(base.made, "M0 100H501V50H1000V0H1000");
        assert_eq!((&base.ready[..], &base.marks[..]), (&[100.0][..], &[(100.0, "1".to_owned())][..]));
        assert_eq!(
            marks(vec![(50.0, 1), (90.0, 3), (10.0, 2), (93.0, 4)]).iter().map(|m| m.1.as_str()).collect::<Vec<_>>(),
            ["2", "1", "3, 4"]
        );
    }
}
