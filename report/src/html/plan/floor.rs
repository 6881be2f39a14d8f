//! The printers over time: what the page's script draws, as compact data, and the table that says the same.
//!
//! The chart is drawn on a canvas, and only what is in view, so that a thousand printers over weeks cost no more than a
//! screenful. Minutes count from the plan's start. Wall times are made from the offsets listed here and not by the
//! browser, whose own time zones may be older than ours.

use crate::hours::Split;
use crate::html::axis;
use crate::html::ink;
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::phases::Names;
use crate::span::Span;
use platewright_model::instance::{GroupId, PlateId};
use platewright_model::plan::Source;
use platewright_model::{Instance, Instant, Plan, roster};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// Everything the chart shows. Names are told once and referred to by position.
#[derive(Debug, Serialize)]
pub(super) struct Floor {
    /// The plan's start in minutes since 1970 (UTC), and the minute at which its span ends.
    start: i64,
    end: i64,
    /// From which minute on the clocks are how many minutes east of UTC.
    offsets: Vec<(i64, i64)>,
    /// Stretches with nobody on shift.
    unattended: Vec<(i64, i64)>,
    /// The minute that the floor's log has come to, where there is one.
    now: Option<i64>,
    groups: Vec<String>,
    shipments: Vec<String>,
    people: Vec<String>,
    parts: Vec<PartInk>,
    /// Plates as the groups have them.
    plates: Vec<PlateOnFloor>,
    /// Headings of bays and the printers in them, from top to bottom.
    rows: Vec<Row>,
    runs: Vec<RunOnFloor>,
    down: Vec<(usize, i64, i64, String)>,
}

#[derive(Debug, Serialize)]
struct PartInk {
    name: String,
    fill: &'static str,
    shade: &'static str,
    tile: &'static str,
}

#[derive(Debug, Serialize)]
struct PlateOnFloor {
    name: String,
    /// Parts by position, with their copies.
    copies: Vec<(u32, u64)>,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
enum Row {
    Bay {
        bay: String,
    },
    Printer {
        name: String,
        group: u32,
        #[serde(skip_serializing_if = "Option::is_none")]
        at: Option<String>,
    },
}

/// A run as a row of figures: row, plate, load from, print from, printed, ready, harvest from, harvest to, loader,
/// harvester, name, and what it gives as shipment, part and count over and over. Nobody is -1.
#[derive(Debug, Serialize)]
struct RunOnFloor(usize, usize, i64, i64, i64, i64, i64, i64, i64, i64, String, Vec<u64>);

/// Printers in the order in which they stand: bays as `printers.csv` first names them, those without one last, and within
/// a bay in the table's order.
pub(super) fn standing(instance: &Instance) -> Vec<(Option<&str>, Vec<usize>)> {
    let mut bays: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
    let mut known: HashMap<Option<&str>, usize> = HashMap::new();
    for (index, printer) in instance.printers.iter().enumerate() {
        let bay = printer.bay.as_deref();
        let at = *known.entry(bay).or_insert_with(|| {
            bays.push((bay, Vec::new()));
            bays.len() - 1
        });
        if let Some((_, printers)) = bays.get_mut(at) {
            printers.push(index);
        }
    }
    bays.sort_by_key(|(bay, _)| bay.is_none());
    bays
}

impl Floor {
    pub(super) fn of(instance: &Instance, plan: &Plan, now: Option<Instant>) -> Floor {
        let span = Span::of_plan(instance, plan);
        let minute = |at: Instant| (at - span.from).0;
        let (rows, row_of) = rows(instance);
        let mut plates = Plates::default();
        let mut people: Vec<String> = Vec::new();
        let mut known: HashMap<&str, i64> = HashMap::new();
        let mut person = |name| {
            *known.entry(name).or_insert_with(|| {
                people.push(shown(name));
                people.len() as i64 - 1
            })
        };
        let gives = gives(instance, plan);
        let names = Names::of(instance);
        let mut runs: Vec<RunOnFloor> = Vec::new();
        for run in &plan.runs {
            let (Some(phases), Some((printer, plate, _))) = (names.phases(run), names.plate_of(run)) else { continue };
            let Some(group) = instance.printers.get(printer.index()).map(|p| p.group) else { continue };
            runs.push(RunOnFloor(
                row_of.get(printer.index()).copied().unwrap_or_default(),
                plates.position(instance, plate, group),
                minute(phases.load.from),
                minute(phases.printing.from),
                minute(phases.printing.to),
                minute(run.ready),
                minute(run.harvest_from),
                minute(run.harvest_to),
                run.load.as_ref().map_or(-1, |load| person(&load.loader)),
                person(&run.harvester),
                shown(&run.run),
                gives.get(run.run.as_str()).cloned().unwrap_or_default(),
            ));
        }
        runs.sort_by(|a, b| (a.0, a.2, a.7, &a.10).cmp(&(b.0, b.2, b.7, &b.10)));
        let within = |from: Instant, to: Instant| {
            let stretch = Span { from, to }.within(span);
            (!stretch.is_empty()).then(|| (minute(stretch.from), minute(stretch.to)))
        };
        let down = instance.downtime.iter().filter_map(|row| {
            let (from, to) = within(row.from, row.to)?;
            let at = row_of.get(row.printer.index()).copied()?;
            Some((at, from, to, row.reason.as_deref().map(shown).unwrap_or_default()))
        });
        Floor {
            start: span.from.0,
            end: minute(span.to),
            offsets: axis::offsets(instance, span).into_iter().map(|(at, east)| (minute(at), east)).collect(),
            unattended: roster::unattended(instance).into_iter().filter_map(|(from, to)| within(from, to)).collect(),
            now: now.map(minute),
            groups: instance.groups.iter().map(|name| shown(name)).collect(),
            shipments: instance.shipments.iter().map(|shipment| shown(&shipment.name)).collect(),
            people,
            parts: instance.parts.iter().enumerate().map(|(i, part)| part_ink(i, &part.name)).collect(),
            plates: plates.told,
            rows,
            runs,
            down: down.collect(),
        }
    }

    /// The data for a `<script type="application/json">` element: no name in it can end that element.
    pub(super) fn json(&self) -> String {
        // Plain data with text for keys, which always has a JSON form.
        serde_json::to_string(self).unwrap_or_default().replace('<', "\\u003c")
    }
}

fn part_ink(index: usize, name: &str) -> PartInk {
    let ink::Ink { fill, shade, tile } = ink::of_part(index);
    PartInk { name: shown(name), fill, shade, tile }
}

/// The chart's rows, and the row of each printer. A bay with several printers has a heading; one with a single printer
/// stands beside its name.
fn rows(instance: &Instance) -> (Vec<Row>, Vec<usize>) {
    let mut rows = Vec::new();
    let mut row_of = vec![0; instance.printers.len()];
    for (bay, printers) in standing(instance) {
        let headed = bay.filter(|_| printers.len() > 1);
        if let Some(bay) = headed {
            rows.push(Row::Bay { bay: shown(bay) });
        }
        for index in printers {
            let Some(printer) = instance.printers.get(index) else { continue };
            if let Some(row) = row_of.get_mut(index) {
                *row = rows.len();
            }
            let at = bay.map(shown);
            rows.push(Row::Printer { name: shown(&printer.name), group: printer.group.0, at });
        }
    }
    (rows, row_of)
}

/// What each run gives: shipment, part and count, over and over.
fn gives<'a>(instance: &Instance, plan: &'a Plan) -> BTreeMap<&'a str, Vec<u64>> {
    let shipments: HashMap<&str, u64> = (0..).zip(&instance.shipments).map(|(i, s)| (s.name.as_str(), i)).collect();
    let parts: HashMap<&str, u64> = (0..).zip(&instance.parts).map(|(i, p)| (p.name.as_str(), i)).collect();
    let mut gives: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for row in &plan.allocation {
        let Source::Run(run) = &row.source else { continue };
        if let (Some(&shipment), Some(&part)) = (shipments.get(row.shipment.as_str()), parts.get(row.part.as_str())) {
            gives.entry(run).or_default().extend([shipment, part, row.count.0]);
        }
    }
    gives
}

/// Plates as groups have them, each told once.
#[derive(Default)]
struct Plates {
    told: Vec<PlateOnFloor>,
    at: HashMap<(PlateId, GroupId), usize>,
}

impl Plates {
    fn position(&mut self, instance: &Instance, plate: PlateId, group: GroupId) -> usize {
        *self.at.entry((plate, group)).or_insert_with(|| {
            let described = instance.plates.get(plate.index());
            let copies = described.and_then(|p| p.on(group)).map_or(&[][..], |on| &on.copies);
            self.told.push(PlateOnFloor {
                name: described.map(|p| shown(&p.name)).unwrap_or_default(),
                copies: copies.iter().map(|(part, copies)| (part.0, copies.0)).collect(),
            });
            self.told.len() - 1
        })
    }
}

/// Every printer's hours: the table of the chart.
pub(super) fn table(instance: &Instance, plan: &Plan, splits: &[Split]) -> Table {
    let mut runs: HashMap<&str, usize> = HashMap::new();
    for run in &plan.runs {
        *runs.entry(run.printer.as_str()).or_default() += 1;
    }
    let heads =
        ["printer", "bay", "group", "#runs", "#printing", "#cooling", "#blocked", "#handled", "#down", "#empty"];
    let mut table = Table::new("Hours of every printer, in hours:minutes", &heads);
    for index in standing(instance).into_iter().flat_map(|(_, printers)| printers) {
        let (Some(printer), Some(split)) = (instance.printers.get(index), splits.get(index)) else { continue };
        table.row([
            Cell::head(&printer.name),
            Cell::name(printer.bay.as_deref().unwrap_or_default()),
            Cell::name(instance.groups.get(printer.group.index()).map_or("", String::as_str)),
            Cell::figure(runs.get(printer.name.as_str()).copied().unwrap_or_default()),
            Cell::hours(split.printing),
            Cell::hours(split.cooling),
            Cell::hours(split.blocked),
            Cell::hours(split.handled),
            Cell::hours(split.down),
            Cell::hours(split.empty),
        ]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn bays_stand_as_the_table_first_names_them() {
        let mut instance = sample::instance();
        for (printer, bay) in instance.printers.iter_mut().zip([None, Some("window"), Some("door")]) {
            printer.bay = bay.map(str::to_owned);
        }
        let mut more = instance.printers[1].clone();
        more.name = "A3".into();
        instance.printers.push(more);
        assert_eq!(standing(&instance), [(Some("window"), vec![1, 3]), (Some("door"), vec![2]), (None, vec![0])]);
        let (rows, row_of) = rows(&instance);
        assert_eq!((rows.len(), row_of), (5, vec![4, 1, 3, 2]));
        assert!(matches!(&rows[0], Row::Bay { bay } if bay == "window"));
    }

    #[test]
    fn runs_are_told_in_minutes_from_the_start() {
        let instance = sample::instance();
        let floor = Floor::of(&instance, &sample::plan(&instance), Some(at(0, 9, 0)));
        let told: serde_json::Value = serde_json::from_str(&floor.json()).unwrap();
        assert_eq!(told["end"], 2884);
        assert_eq!(told["now"], 120);
        // On at the start: printing from 190 minutes before it, printed at 07:50, ready at 08:00, harvested from 08:10.
        assert_eq!(told["runs"][0], serde_json::json!([0, 0, -190, -190, 50, 60, 70, 74, -1, 0, "R0001", [0, 0, 4]]));
        assert_eq!(told["runs"][1], serde_json::json!([2, 1, 0, 3, 603, 603, 1440, 1444, 0, 0, "R0002", [0, 1, 1]]));
        // A2 is down until noon; nobody is there from 17:00 to 07:00.
        assert_eq!(told["down"], serde_json::json!([[1, 0, 300, ""]]));
        assert_eq!(told["unattended"], serde_json::json!([[600, 1440], [2040, 2880]]));
    }

    #[test]
    fn no_name_ends_the_element_that_holds_the_data() {
        let mut instance = sample::instance();
        instance.printers[0].name = "</script><script>alert(1)</script>".into();
        let plan = sample::plan(&instance);
        assert!(!Floor::of(&instance, &plan, None).json().contains('<'));
    }
}
