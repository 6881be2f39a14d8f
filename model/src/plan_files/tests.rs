//! Plans written, read back, and edited in between.

use super::*;
use crate::fault::FaultCode;
use crate::plan::{Allocation, Claims, Load, Objective, Outcome, Run, ShipmentPlan, Source, Task, Work};
use crate::units::{Count, Instant, Minutes, WeightedMinutes};
use proptest::prelude::*;
use std::fs;

fn instance() -> Instance {
    crate::tables::read(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/sound"))).unwrap()
}

/// A plan with every kind of row, over the night on which the clocks go forward, with names that a CSV has to quote.
/// Whether it keeps the rules is no matter here.
fn plan(instance: &Instance) -> Plan {
    let start = instance.farm.start;
    let at = |minutes: i64| start + Minutes(minutes);
    let (run, printer) = (|n: u32| format!("R{n:04}"), |n: u32| format!("#{n}, \"left\""));
    Plan {
        instance_digest: instance.digest(),
        objective: Objective::LeastIdle,
        since: None,
        labelled: Default::default(),
        runs: vec![
            Run {
                run: run(1),
                printer: printer(1),
                plate: "hub-set".into(),
                load: None,
                ready: at(-20),
                harvest_from: at(0),
                harvest_to: at(4),
                harvester: "day-1".into(),
            },
            Run {
                run: run(2),
                printer: printer(2),
                plate: "=clip-25".into(),
                load: Some(Load { from: at(2520), print_from: at(2523), loader: "day-2".into() }),
                ready: at(2673),
                harvest_from: at(2673),
                harvest_to: at(2681),
                harvester: "day-2".into(),
            },
        ],
        tasks: vec![
            Task {
                operator: "#day-1".into(),
                work: Work::Harvest { run: run(1), printer: printer(1) },
                from: at(0),
                to: at(4),
            },
            Task {
                operator: "day-2".into(),
                work: Work::Load { run: run(2), printer: printer(2) },
                from: at(2520),
                to: at(2523),
            },
            Task {
                operator: "day-2".into(),
                work: Work::Pack { shipment: "school".into(), kit: "station".into() },
                from: at(2700),
                to: at(2706),
            },
        ],
        allocation: vec![
            Allocation {
                source: Source::Stock,
                part: "clip".into(),
                shipment: "school".into(),
                count: Count(30),
                spare: Count(0),
            },
            Allocation {
                source: Source::Run(run(2)),
                part: "clip".into(),
                shipment: "school".into(),
                count: Count(2),
                spare: Count(0),
            },
        ],
        shipments: vec![
            ShipmentPlan { shipment: "school".into(), ready: at(2706), due: Some(at(1980)), late: Minutes(726) },
            ShipmentPlan { shipment: "shop".into(), ready: at(2720), due: None, late: Minutes(0) },
        ],
        claims: Claims {
            outcome: Outcome::Feasible,
            value: Minutes(2720),
            bound: Minutes(2700),
            makespan: Minutes(2720),
            late: WeightedMinutes(1_452_500),
            late_bound: WeightedMinutes(4_000),
            idle: Minutes(12),
            surplus_parts: Count(23),
            runs: Count(2),
            operator_minutes: Minutes(13),
            engine: "quick".into(),
            seed: 7,
            notes: vec!["The time limit ended the search.".into()],
            prices: vec![],
        },
    }
}

/// A folder with the plan's files.
fn written() -> (Instance, Plan, tempfile::TempDir) {
    let instance = instance();
    let plan = plan(&instance);
    let folder = tempfile::tempdir().unwrap();
    write(&plan, &instance, folder.path()).unwrap();
    (instance, plan, folder)
}

fn edit(folder: &Path, file: &str, from: &str, to: &str) {
    let text = fs::read_to_string(folder.join(file)).unwrap();
    assert!(text.contains(from), "{file} has no {from}:\n{text}");
    fs::write(folder.join(file), text.replacen(from, to, 1)).unwrap();
}

fn text(folder: &Path, file: &str) -> String {
    fs::read_to_string(folder.join(file)).unwrap()
}

#[test]
fn a_plan_comes_back_as_it_was() {
    let (instance, plan, folder) = written();
    let read = read(&instance, folder.path()).unwrap();
    assert_eq!(read, PlanFolder { plan, disagreements: vec![], has_claims: true });
}

#[test]
fn a_plan_of_nothing_has_headers_and_comes_back() {
    let instance = instance();
    let mut plan = plan(&instance);
    (plan.runs, plan.tasks, plan.allocation, plan.shipments) = Default::default();
    let folder = tempfile::tempdir().unwrap();
    write(&plan, &instance, folder.path()).unwrap();
    assert_eq!(text(folder.path(), "tasks.csv"), "operator,task,from,to,printer,run,shipment,kit\n");
    assert_eq!(read(&instance, folder.path()).unwrap().plan, plan);
}

#[test]
fn the_tables_have_their_columns_and_offsets() {
    let (_, _, folder) = written();
    insta::assert_snapshot!(text(folder.path(), "runs.csv"), @r##"
    run,printer,plate,load_from,print_from,ready,harvest_from,harvest_to,loader,harvester
    R0001,"#1, ""left""",hub-set,,,2026-03-27T06:40:00+00:00,2026-03-27T07:00:00+00:00,2026-03-27T07:04:00+00:00,,day-1
    R0002,"#2, ""left""",=clip-25,2026-03-29T02:00:00+01:00,2026-03-29T02:03:00+01:00,2026-03-29T04:33:00+01:00,2026-03-29T04:33:00+01:00,2026-03-29T04:41:00+01:00,day-2,day-2
    "##);
    insta::assert_snapshot!(text(folder.path(), "tasks.csv"), @r##"
    operator,task,from,to,printer,run,shipment,kit
    "#day-1",harvest,2026-03-27T07:00:00+00:00,2026-03-27T07:04:00+00:00,"#1, ""left""",R0001,,
    day-2,load,2026-03-29T02:00:00+01:00,2026-03-29T02:03:00+01:00,"#2, ""left""",R0002,,
    day-2,pack,2026-03-29T05:00:00+01:00,2026-03-29T05:06:00+01:00,,,school,station
    "##);
    insta::assert_snapshot!(text(folder.path(), "allocation.csv"), @r##"
    source,part,shipment,count
    stock,clip,school,30
    R0002,clip,school,2
    "##);
    insta::assert_snapshot!(text(folder.path(), "shipments.csv"), @r##"
    shipment,ready,due,late_minutes
    school,2026-03-29T05:06:00+01:00,2026-03-28T16:00:00+00:00,726
    shop,2026-03-29T05:20:00+01:00,,0
    "##);
}

#[test]
fn the_document_states_whole_minutes_as_whole_numbers() {
    let (_, _, folder) = written();
    let document = text(folder.path(), "plan.json");
    let figures = document.split("\"runs\"").next().unwrap();
    insta::assert_snapshot!(figures.replace(&instance().digest(), "DIGEST"), @r##"
    {
      "format": 1,
      "instance_digest": "DIGEST",
      "outcome": "feasible",
      "objective": "least-idle",
      "value_minutes": 2720,
      "bound_minutes": 2700,
      "gap": 0.007352941176470588,
      "makespan_minutes": 2720,
      "late_minutes": 1452.5,
      "late_bound_minutes": 4,
      "idle_printer_minutes": 12,
      "surplus_parts": 23,
      "run_count": 2,
      "operator_minutes": 13,
      "engine": "quick",
      "seed": 7,
      "notes": [
        "The time limit ended the search."
      ],
      "prices": [],
    "##);
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let ((_, _, first), (_, _, second)) = (written(), written());
    for file in ORDER {
        assert_eq!(text(first.path(), file), text(second.path(), file), "{file}");
    }
}

#[test]
fn the_columns_of_rows_are_those_of_the_header() {
    let instance = instance();
    let plan = plan(&instance);
    let document: serde_json::Value = serde_json::from_slice(&document::text(&plan, instance.farm.clock)).unwrap();
    for (table, columns) in [
        ("runs", &rows::RUN_COLUMNS[..]),
        ("tasks", &rows::TASK_COLUMNS),
        ("allocation", &rows::ALLOCATION_COLUMNS),
        ("shipments", &rows::SHIPMENT_COLUMNS),
    ] {
        let keys: Vec<&String> = document[table][0].as_object().unwrap().keys().collect();
        assert_eq!(keys, columns, "{table}");
    }
}

#[test]
fn without_the_document_the_tables_speak() {
    let (instance, plan, folder) = written();
    fs::remove_file(folder.path().join("plan.json")).unwrap();
    let read = read(&instance, folder.path()).unwrap();
    assert!(!read.has_claims && read.disagreements.is_empty());
    assert_eq!((&read.plan.runs, &read.plan.tasks), (&plan.runs, &plan.tasks));
    // School weighs 2 and is 726 minutes late.
    assert_eq!(read.plan.claims.late, WeightedMinutes(1_452_000));
    assert_eq!(read.plan.claims.makespan, Minutes(2720));
    assert_eq!(read.plan.claims.operator_minutes, Minutes(13));
}

#[test]
fn the_document_and_the_tables_are_compared() {
    let (instance, _, folder) = written();
    edit(folder.path(), "allocation.csv", "school,30", "school,29");
    edit(folder.path(), "plan.json", "\"gap\": 0.00735", "\"gap\": 0.10735");
    edit(folder.path(), "shipments.csv", "shop,", "shed,");
    let told = read(&instance, folder.path()).unwrap().disagreements;
    insta::assert_snapshot!(told.join("\n"), @r##"
    gap is 0.1073529411764706 in plan.json, its value and bound give 0.007352941176470588
    allocation.csv, entry 1 (stock): count is 29 there and 30 in plan.json
    shipments.csv, entry 2 (shed): shipment is shed there and shop in plan.json
    "##);

    let text = text(folder.path(), "runs.csv");
    fs::write(folder.path().join("runs.csv"), text.lines().take(2).collect::<Vec<_>>().join("\n")).unwrap();
    let told = read(&instance, folder.path()).unwrap().disagreements;
    assert_eq!(told[1], "plan.json has 2 runs, runs.csv has 1");
}

#[test]
fn a_time_in_another_offset_is_the_same_time() {
    let (instance, plan, folder) = written();
    fs::remove_file(folder.path().join("plan.json")).unwrap();
    edit(folder.path(), "runs.csv", "2026-03-27T06:40:00+00:00", "2026-03-27T08:40:00+02:00");
    assert_eq!(read(&instance, folder.path()).unwrap().plan.runs, plan.runs);
}

#[test]
fn all_faults_of_a_plan_are_told() {
    let (instance, _, folder) = written();
    edit(folder.path(), "runs.csv", "06:40:00", "06:40:30");
    edit(folder.path(), "runs.csv", ",day-2,day-2", ",,day-2");
    edit(folder.path(), "tasks.csv", "pack", "park");
    edit(folder.path(), "tasks.csv", "R0002,,", "R0002,school,");
    edit(folder.path(), "allocation.csv", "school,2", "school,0");
    fs::remove_file(folder.path().join("shipments.csv")).unwrap();
    fs::write(folder.path().join("plan.json"), "{\n\"format\": 1,\n}").unwrap();
    insta::assert_snapshot!(read(&instance, folder.path()).unwrap_err(), @r##"
    runs.csv, row 2, column ready   [T208]
        2026-03-27T06:40:30+00:00 is not a whole minute.
        Write 00 for the seconds: plans run in whole minutes.

    runs.csv, row 3, column loader   [T408]
        The cell is blank and other cells of the load are not.
        Fill in load_from, print_from and loader, or leave all three blank for a run from running.csv.

    tasks.csv, row 3, column shipment   [T409]
        A load has no shipment, and the cell says "school".
        Leave the cell blank, or correct the task.

    tasks.csv, row 4, column task   [T216]
        "park" is not a task.
        Did you mean "pack"? A task is load, harvest or pack.

    allocation.csv, row 3, column count   [T205]
        0 is out of range: the parts given to a shipment may be 1 to 100,000,000.
        Delete a row that gives nothing.

    shipments.csv   [T002]
        The file is missing.
        Name the folder that a plan was written into, or plan again.

    plan.json, row 3   [T115]
        The file is not JSON: trailing comma at line 3 column 1.
        Plan again, or delete plan.json to check the tables alone.
    "##);
}

#[test]
fn a_document_of_another_kind_is_refused() {
    let (instance, _, folder) = written();
    let refused = |from: &str, to: &str| {
        let whole = text(folder.path(), "plan.json");
        edit(folder.path(), "plan.json", from, to);
        let faults = read(&instance, folder.path()).unwrap_err();
        fs::write(folder.path().join("plan.json"), whole).unwrap();
        (faults.0[0].code, faults.0[0].message.clone())
    };
    assert_eq!(refused("\"format\": 1", "\"format\": 2").0, FaultCode::UnknownFormat);
    assert_eq!(refused("\"least-idle\"", "\"cheapest\"").0, FaultCode::UnknownWord);
    assert_eq!(refused("\"bound_minutes\": 2700", "\"bound_minutes\": -9223372036854775808").0, FaultCode::OutOfRange);
    assert!(refused("\"bound_minutes\": 2700,", "").1.contains("missing field `bound_minutes`"));
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let (instance, plan, folder) = written();
    let blocked = folder.path().join("runs.csv").join("plan");
    let error = write(&plan, &instance, &blocked).unwrap_err().to_string();
    assert!(error.contains("runs.csv"), "{error}");
}

#[test]
fn a_missing_folder_is_one_fault() {
    let (instance, _, folder) = written();
    let faults = read(&instance, &folder.path().join("nowhere")).unwrap_err();
    assert_eq!(faults.0.iter().map(|fault| fault.code).collect::<Vec<_>>(), [FaultCode::MissingFolder]);
}

#[test]
fn times_far_from_any_calendar_do_not_panic() {
    let (instance, mut plan, folder) = written();
    plan.runs[0].ready = Instant(i64::MAX);
    write(&plan, &instance, folder.path()).unwrap();
    assert!(read(&instance, folder.path()).is_err());
}

proptest! {
    #[test]
    fn a_damaged_plan_is_read_or_told(at in 0..3000_usize, bytes in prop::collection::vec(any::<u8>(), 1..4), which in 0..5_usize) {
        let instance = instance();
        let plan = plan(&instance);
        let mut files = rows::texts(&plan, instance.farm.clock).unwrap();
        files.push((DOCUMENT, document::text(&plan, instance.farm.clock)));
        let damaged = &mut files[which].1;
        let at = at % damaged.len();
        damaged.splice(at..(at + bytes.len()).min(damaged.len()), bytes);
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        if let Err(faults) = read(&instance, folder.path()) {
            prop_assert!(!faults.0.is_empty() && faults.0.iter().all(|fault| !fault.file.is_empty()), "{faults}");
        }
    }
}

#[test]
fn spares_stand_beside_the_count_and_only_where_there_are_some() {
    let instance = instance();
    let mut plan = plan(&instance);
    plan.allocation[1].spare = Count(3);
    plan.allocation.push(Allocation { count: Count(0), spare: Count(5), ..plan.allocation[1].clone() });
    let folder = tempfile::tempdir().unwrap();
    write(&plan, &instance, folder.path()).unwrap();
    insta::assert_snapshot!(text(folder.path(), "allocation.csv"), @r"
    source,part,shipment,count,spare
    stock,clip,school,30,0
    R0002,clip,school,2,3
    R0002,clip,school,0,5
    ");
    assert_eq!(read(&instance, folder.path()).unwrap(), PlanFolder { plan, disagreements: vec![], has_claims: true });
    edit(folder.path(), "allocation.csv", "2,3", "2,4");
    let disagreements = read(&instance, folder.path()).unwrap().disagreements;
    assert_eq!(disagreements, ["allocation.csv, entry 2 (R0002): spare is 4 there and 3 in plan.json"]);
    // Without spares a row of nothing is a fault.
    edit(folder.path(), "allocation.csv", "0,5", "0,0");
    assert_eq!(read(&instance, folder.path()).unwrap_err().0[0].code, FaultCode::OutOfRange);
}
