//! When each shipment is ready, and how that stands to its due date.

use crate::page::{Grid, Lean, Page};
use crate::wall::Wall;
use platewright_model::{Instance, Instant, Minutes, Plan};

/// One shipment's promise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// The shipment's name.
    pub shipment: String,
    /// When it is ready.
    pub ready: Instant,
    /// When it should be.
    pub due: Option<Instant>,
    /// From ready to due; negative where it is late, none without a due date.
    pub spare: Option<Minutes>,
}

/// Every shipment's promise, in the plan's order.
pub fn standings(plan: &Plan) -> Vec<Standing> {
    plan.shipments
        .iter()
        .map(|s| Standing {
            shipment: s.shipment.clone(),
            ready: s.ready,
            due: s.due,
            spare: s.due.map(|due| due - s.ready),
        })
        .collect()
}

/// Days and hours, the minutes only where they matter.
fn length(minutes: Minutes) -> String {
    const LONG: i64 = 10 * 1440;
    if minutes.0 < LONG { minutes.to_string() } else { Minutes(minutes.0 / 60 * 60).to_string() }
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let wall = Wall::of(instance);
    page.heading("Shipments");
    let mut grid =
        Grid::new([("shipment", Lean::Left), ("ready", Lean::Left), ("due", Lean::Left), ("to spare", Lean::Right)]);
    for standing in standings(plan) {
        let spare = match standing.spare {
            Some(spare) if spare < Minutes::ZERO => format!("late {}", length(Minutes(-spare.0))),
            Some(spare) => length(spare),
            None => String::new(),
        };
        grid.row([
            standing.shipment,
            wall.column(standing.ready),
            standing.due.map_or_else(|| "any time".to_owned(), |due| wall.column(due)),
            spare,
        ]);
    }
    page.table(&grid.without_columns_of(""));
    waits(instance, plan).iter().for_each(|wait| page.item(wait));
}

/// Which shipments come after another one, and from when on they are loaded, as sentences.
fn waits(instance: &Instance, plan: &Plan) -> Vec<String> {
    let wall = Wall::of(instance);
    let sentence = |shipment: &platewright_model::instance::Shipment| {
        let after = shipment.after?;
        let first = &instance.shipments.get(after.shipment.index())?.name;
        let ready = plan.shipments.iter().find(|row| row.shipment == *first)?.ready;
        let held = if after.hold > Minutes::ZERO { format!("{} after", after.hold) } else { "when".to_owned() };
        let opens = wall.say(ready + after.hold);
        Some(format!("{}: nothing is loaded for it before {opens}, {held} {first} is ready.", shipment.name))
    };
    instance.shipments.iter().filter_map(sentence).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn a_shipment_is_early_or_late_or_needed_at_any_time() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        let shown = |plan: &Plan| {
            let mut page = Page::new("t");
            section(&instance, plan, &mut page);
            page.text().lines().skip(5).map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(
            shown(&plan),
            [
                "  shipment  ready             due                 to spare",
                "  shop      Wed  4 Mar 07:04  Wed  4 Mar 12:00  4 h 56 min"
            ]
        );
        plan.shipments[0].due = Some(at(1, 7, 0));
        assert_eq!(standings(&plan)[0].spare, Some(Minutes(-1444)));
        assert!(shown(&plan)[1].ends_with("07:00  late 1 d 0 h 04 min"), "{:?}", shown(&plan));
        plan.shipments[0].due = None;
        assert!(shown(&plan)[1].ends_with("07:04  any time"), "{:?}", shown(&plan));
        plan.shipments[0].due = Some(at(14, 7, 10));
        assert!(shown(&plan)[1].ends_with("07:10      12 d"), "{:?}", shown(&plan));
    }

    #[test]
    fn a_shipment_that_waits_says_for_what() {
        let mut instance = sample::instance();
        let plan = sample::plan(&instance);
        assert!(waits(&instance, &plan).is_empty());
        let mut rest = instance.shipments[0].clone();
        rest.name = "rest".into();
        let first = platewright_model::instance::ShipmentId(0);
        rest.after = Some(platewright_model::instance::After { shipment: first, hold: Minutes(90) });
        instance.shipments.push(rest);
        assert_eq!(
            waits(&instance, &plan),
            ["rest: nothing is loaded for it before Wed 4 Mar 08:34, 1 h 30 min after shop is ready."]
        );
    }
}
