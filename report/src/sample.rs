//! A small instance and a plan for it, reasoned by hand, for this crate's tests.

use chrono::{NaiveDate, NaiveTime, Weekday};
use platewright_model::instance::*;
use platewright_model::plan::*;
use platewright_model::{Clock, Count, Instance, Instant, Minutes, Plan, Weight, WeightedMinutes};

/// Monday 2 March 2026, 07:00 in Lisbon (UTC).
fn start() -> Instant {
    let wall = NaiveDate::from_ymd_opt(2026, 3, 2).unwrap().and_hms_opt(7, 0, 0).unwrap();
    Instant(wall.and_utc().timestamp() / 60)
}

/// Minutes after the start as day (from 0) and wall time.
pub fn at(day: i64, hour: i64, minute: i64) -> Instant {
    start() + Minutes(day * 1440 + (hour - 7) * 60 + minute)
}

/// Two small printers, one of them down on Monday morning, and a large one; one operator from 07:00 to 17:00; two lamps
/// of a base and two cups due on Wednesday noon; a plate of cups on the first printer at the start and a cup in stock.
pub fn instance() -> Instance {
    let printer = |name: &str, group| Printer { name: name.into(), group: GroupId(group), bay: None, material: None };
    let part = |name: &str, reject_rate| Part {
        name: name.into(),
        material: MaterialId(0),
        grams: None,
        finish: Minutes(0),
        per_bag: None,
        reject_rate,
    };
    let plate = |name: &str, group, part, copies, minutes, cool, failure_rate| Plate {
        name: name.into(),
        material: MaterialId(0),
        on_groups: vec![PlateOnGroup {
            group: GroupId(group),
            copies: vec![(PartId(part), Count(copies))],
            minutes: Minutes(minutes),
            cool: Minutes(cool),
            load: Minutes(3),
            harvest: Minutes(4),
            failure_rate,
        }],
    };
    Instance {
        farm: Farm {
            name: "Harbour Street print room".into(),
            clock: Clock::new(chrono_tz::Europe::Lisbon),
            start: start(),
            horizon_days: 14,
            handling: Handling { load: Minutes(3), harvest: Minutes(4), changeover: Minutes(0), pack_box: Minutes(0) },
            unattended: Unattended { allowed: true, max_printers: None, max_minutes: None },
            whole_plates_per_bag: false,
            costs: None,
            spares: None,
            rehearsal: Default::default(),
        },
        groups: vec!["small".into(), "large".into()],
        materials: vec!["PLA".into()],
        printers: vec![printer("A1", 0), printer("A2", 0), printer("B1", 1)],
        downtime: vec![Downtime { printer: PrinterId(1), from: at(-1, 12, 0), to: at(0, 12, 0), reason: None }],
        parts: vec![part("cup", 0.1), part("base", 0.0)],
        plates: vec![
            plate("cup-4", 0, 0, 4, 240, 10, 0.0),
            plate("base-1", 1, 1, 1, 600, 0, 0.05),
            plate("cup-9", 0, 0, 9, 500, 0, 0.0),
        ],
        kits: vec![Kit {
            name: "lamp".into(),
            items: vec![(KitItem::Part(PartId(1)), Count(1)), (KitItem::Part(PartId(0)), Count(2))],
        }],
        shipments: vec![Shipment {
            name: "shop".into(),
            lines: vec![ShipmentLine { kit: KitId(0), quantity: Count(2), per_box: None }],
            release: None,
            due: Some(at(2, 12, 0)),
            weight: Weight::default(),
            after: None,
        }],
        crews: vec!["day".into()],
        shifts: vec![ShiftRow {
            crew: CrewId(0),
            days: Days::Weekly(vec![
                Weekday::Mon,
                Weekday::Tue,
                Weekday::Wed,
                Weekday::Thu,
                Weekday::Fri,
                Weekday::Sat,
                Weekday::Sun,
            ]),
            from: NaiveTime::from_hms_opt(7, 0, 0).unwrap(),
            to: NaiveTime::from_hms_opt(17, 0, 0).unwrap(),
            operators: Count(1),
        }],
        closures: Vec::new(),
        stock: vec![Stock { part: PartId(0), quantity: Count(1) }],
        running: vec![Running { printer: PrinterId(0), plate: PlateId(0), ready: at(0, 8, 0) }],
        log: Vec::new(),
        absences: Vec::new(),
    }
}

/// Both bases one after the other on the large printer, each blocked for a night; the cups come from the plate that was
/// on at the start, and the cup in stock stays there.
pub fn plan(instance: &Instance) -> Plan {
    let base = |run: &str, load_from: Instant, harvest_from: Instant| Run {
        run: run.into(),
        printer: "B1".into(),
        plate: "base-1".into(),
        load: Some(Load { from: load_from, print_from: load_from + Minutes(3), loader: "day-1".into() }),
        ready: load_from + Minutes(603),
        harvest_from,
        harvest_to: harvest_from + Minutes(4),
        harvester: "day-1".into(),
    };
    let cups = Run {
        run: "R0001".into(),
        printer: "A1".into(),
        plate: "cup-4".into(),
        load: None,
        ready: at(0, 8, 0),
        harvest_from: at(0, 8, 10),
        harvest_to: at(0, 8, 14),
        harvester: "day-1".into(),
    };
    let runs = vec![cups, base("R0002", at(0, 7, 0), at(1, 7, 0)), base("R0003", at(1, 7, 4), at(2, 7, 0))];
    let task = |work, from, minutes| Task { operator: "day-1".into(), work, from, to: from + Minutes(minutes) };
    let mut tasks: Vec<Task> = Vec::new();
    for run in &runs {
        let (name, printer) = (run.run.clone(), run.printer.clone());
        if let Some(load) = &run.load {
            tasks.push(task(Work::Load { run: name.clone(), printer: printer.clone() }, load.from, 3));
        }
        tasks.push(task(Work::Harvest { run: name, printer }, run.harvest_from, 4));
    }
    tasks.sort_by_key(|t| t.from);
    let takes = |run: &str, part: &str, count| Allocation {
        source: Source::Run(run.into()),
        part: part.into(),
        shipment: "shop".into(),
        count: Count(count),
        spare: Count(0),
    };
    let ready = at(2, 7, 4);
    Plan {
        instance_digest: instance.digest(),
        objective: Objective::Soonest,
        since: None,
        labelled: Default::default(),
        allocation: vec![takes("R0001", "cup", 4), takes("R0002", "base", 1), takes("R0003", "base", 1)],
        shipments: vec![ShipmentPlan { shipment: "shop".into(), ready, due: Some(at(2, 12, 0)), late: Minutes(0) }],
        claims: Claims {
            outcome: Outcome::Feasible,
            value: ready - start(),
            bound: Minutes(2800),
            makespan: ready - start(),
            late: WeightedMinutes(0),
            late_bound: WeightedMinutes(0),
            idle: Minutes(0),
            surplus_parts: Count(1),
            runs: Count(3),
            operator_minutes: Minutes(18),
            engine: "quick".into(),
            seed: 0,
            notes: Vec::new(),
            prices: Vec::new(),
        },
        runs,
        tasks,
    }
}
