//! The workbook and the calendar of a plan that crosses a clock change.

use super::write;
use crate::calendar;
use calamine::{Data, Reader, Xlsx};
use platewright_model::plan::{Allocation, Claims, Load, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use platewright_model::{Count, Instance, Instant, Minutes, Plan, WeightedMinutes, tables};
use std::fs;
use std::io::Cursor;
use std::path::Path;

/// One printer and one operator through the night.
pub(super) fn farm(folder: &Path, start: &str) {
    let farm = format!(
        "name = \"=Room; one, two\"\ntime_zone = \"Europe/Lisbon\"\nstart = \"{start}\"\n[handling]\nload = 3\nharvest = 4\n"
    );
    for (file, text) in [
        ("farm.toml", farm.as_str()),
        ("printers.csv", "printer,group,bay\n=P1,small,🦊\n"),
        ("parts.csv", "part,material,grams\n+cup,PLA,12.5\n"),
        ("plates.csv", "plate,group,part,copies,minutes\n@cup,small,+cup,2,120\n"),
        ("kits.csv", "kit,item,quantity\nset,+cup,1\n"),
        ("shipments.csv", "shipment,kit,quantity,due\n\"-shop, \"\"x\"\";\",set,1,2026-10-25T01:30\n"),
        ("shifts.csv", "crew,days,from,to,operators\nnight,daily,22:00,06:00,1\n"),
    ] {
        fs::write(folder.join(file), text).unwrap();
    }
}

/// A run loaded at 22:00, ready and harvested after the clocks went back.
fn plan(instance: &Instance) -> Plan {
    let start = instance.farm.start;
    let at = |minutes: i64| start + Minutes(minutes);
    let shipment = &instance.shipments[0];
    let ready = at(304);
    let task =
        |work, from: Instant, minutes| Task { operator: "night-1".into(), work, from, to: from + Minutes(minutes) };
    let (run, printer) = ("R0001".to_owned(), "=P1".to_owned());
    Plan {
        instance_digest: instance.digest(),
        objective: Objective::Soonest,
        since: None,
        labelled: Default::default(),
        runs: vec![Run {
            run: run.clone(),
            printer: printer.clone(),
            plate: "@cup".into(),
            load: Some(Load { from: at(0), print_from: at(3), loader: "night-1".into() }),
            ready: at(123),
            harvest_from: at(300),
            harvest_to: ready,
            harvester: "night-1".into(),
        }],
        tasks: vec![
            task(Work::Load { run: run.clone(), printer: printer.clone() }, at(0), 3),
            task(Work::Harvest { run: run.clone(), printer }, at(300), 4),
        ],
        allocation: vec![Allocation {
            source: Source::Run(run),
            part: "+cup".into(),
            shipment: shipment.name.clone(),
            count: Count(1),
            spare: Count(0),
        }],
        shipments: vec![ShipmentPlan {
            shipment: shipment.name.clone(),
            ready,
            due: shipment.due,
            late: Minutes((ready - shipment.due.unwrap()).0.max(0)),
        }],
        claims: Claims {
            outcome: Outcome::Feasible,
            value: Minutes(304),
            bound: Minutes(127),
            makespan: Minutes(304),
            late: WeightedMinutes(0),
            late_bound: WeightedMinutes(0),
            idle: Minutes(0),
            surplus_parts: Count(1),
            runs: Count(1),
            operator_minutes: Minutes(7),
            engine: "quick".into(),
            seed: 0,
            notes: Vec::new(),
            prices: Vec::new(),
        },
    }
}

fn made() -> (Instance, Plan) {
    let folder = tempfile::tempdir().unwrap();
    farm(folder.path(), "2026-10-24T22:00");
    let instance = tables::read(folder.path()).unwrap();
    let plan = plan(&instance);
    (instance, plan)
}

#[test]
fn every_sheet_is_there_with_real_dates_and_no_formula() {
    let (instance, plan) = made();
    let bytes = write(&instance, &plan).unwrap();
    assert_eq!(bytes, write(&instance, &plan).unwrap(), "the same bytes twice");
    let mut workbook = Xlsx::new(Cursor::new(&bytes)).unwrap();
    let names = workbook.sheet_names();
    assert_eq!(names, ["plan", "shipments", "parts", "runs", "tasks", "allocation", "bags", "boxes", "days"]);
    for name in &names {
        assert!(workbook.worksheet_formula(name).unwrap().is_empty(), "{name} holds a formula");
    }
    let runs = workbook.worksheet_range("runs").unwrap();
    assert_eq!(runs.get((1, 1)), Some(&Data::String("=P1".into())));
    let Some(Data::DateTime(harvest)) = runs.get((1, 7)) else { panic!("{runs:?}") };
    // 300 elapsed minutes after 22:00, on a wall clock that went back an hour.
    assert_eq!(harvest.as_datetime().unwrap().to_string(), "2026-10-25 02:00:00");
    assert_eq!(runs.get((1, 13)), Some(&Data::Float(177.0)));
    let parts = workbook.worksheet_range("parts").unwrap();
    let figures: Vec<f64> =
        (2..8).map(|column| parts.get((1, column)).and_then(calamine::DataType::as_f64).unwrap()).collect();
    assert_eq!(figures, [1.0, 0.0, 2.0, 1.0, 1.0, 1.0]);
}

#[test]
fn the_calendar_is_in_utc_and_says_no_day_of_writing() {
    let (instance, plan) = made();
    let text = calendar::text(&instance, &plan);
    assert_eq!(text, calendar::text(&instance, &plan));
    assert!(text.lines().all(|line| line.len() <= 75), "{text}");
    let unfolded = text.replace("\r\n ", "");
    let lines: Vec<&str> = unfolded.split("\r\n").collect();
    let count = |line: &str| lines.iter().filter(|l| **l == line).count();
    assert_eq!((count("BEGIN:VEVENT"), count("END:VEVENT")), (3, 3), "{text}");
    // The night from 22:00 to 06:00 has nine hours; the shipment is due at the first 01:30 and ready at 02:04.
    for line in
        ["DTSTART:20261024T210000Z", "DTEND:20261025T060000Z", "DTSTART:20261025T003000Z", "DTSTART:20261025T020400Z"]
    {
        assert_eq!(count(line), 1, "{line} in {text}");
    }
    assert_eq!(count("DTSTAMP:20261024T210000Z"), 3);
    assert!(unfolded.contains("SUMMARY:night: 1 load\\, 1 harvest"), "{text}");
    assert!(unfolded.contains("SUMMARY:Shipment -shop\\, \"x\"\\; is ready\\, late"), "{text}");
}
