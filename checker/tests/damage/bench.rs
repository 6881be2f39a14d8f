//! A small farm with every rule in force, and a plan for it worked out by hand.
//!
//! Three printers, two groups, two materials, two crews, one run on a printer at the start, two downtimes, unattended
//! limits, whole plates per bag, packing, and two shipments of which one has a release:
//!
//! | run | printer | plate | load | prints | ready | harvest | gives |
//! | --- | --- | --- | --- | --- | --- | --- | --- |
//! | R1 | S2 | bodies | | until 07:50 | 08:00 | 08:00–08:04 day-2 | 5 bodies to spring |
//! | R2 | S1 | clips, changeover | 07:00–07:15 day-1 | 07:15–08:45 | 08:45 | 08:45–08:53 day-1 | 10 of 20 clips to spring |
//! | R3 | S1 | clips | 12:00–12:05 day-1 | 12:05–13:35 | 13:35 | 13:40–13:48 day-2 | 16 of 20 clips to summer |
//! | R4 | S2 | bodies | 12:05–12:08 day-1 | 12:08–15:28 | 15:38 | 15:38–15:42 late-1 | 5 bodies to summer |
//! | R5 | L1 | bodies | 21:00–21:03 late-1 | 21:03–02:03 | 02:13 | Tue 07:00–07:04 day-1 | 5 of 10 bodies to summer |
//!
//! S1 is down 13:35–13:40, in which R3 waits; S2 09:00–11:00; L1 07:00–12:00. Bodies take 30 minutes to finish.
//! Spring's five stations go into boxes of two, two and one: 08:53 day-1, 08:53 day-2, 08:59 day-1; it is ready 09:05,
//! five minutes late at weight 2. Summer's box of five hubs is packed Mon 20:00 by late-1, its box of five stations Tue
//! 07:34 by day-1; it is ready Tue 07:40, 24 h 40 min after the start.

use chrono::{NaiveDateTime, NaiveTime, Weekday};
use platewright_checker::{Figures, check};
use platewright_model::instance::*;
use platewright_model::plan::*;
use platewright_model::{Clock, Count, Instance, Instant, Minutes, Plan, Weight, WeightedMinutes};

/// Wall time in Berlin in the first week of March 2026, an hour ahead of UTC: `2T07:00` is that Monday.
pub fn at(wall: &str) -> Instant {
    let wall: NaiveDateTime = format!("2026-03-0{wall}:00").parse().expect("a wall time");
    Instant(wall.and_utc().timestamp() / 60 - 60)
}

fn clock_time(hour: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, 0, 0).expect("an hour")
}

pub const PLA: MaterialId = MaterialId(0);
pub const PETG: MaterialId = MaterialId(1);
pub const SMALL: GroupId = GroupId(0);
pub const LARGE: GroupId = GroupId(1);
pub const BODY: PartId = PartId(0);
pub const CLIP: PartId = PartId(1);
pub const LID: PartId = PartId(2);

pub fn printer(name: &str, group: GroupId, material: Option<MaterialId>) -> Printer {
    Printer { name: name.to_owned(), group, bay: None, material }
}

pub fn part(name: &str, material: MaterialId, finish: i64, per_bag: Option<u64>) -> Part {
    let name = name.to_owned();
    Part { name, material, grams: None, finish: Minutes(finish), per_bag: per_bag.map(Count), reject_rate: 0.0 }
}

pub fn plate(name: &str, material: MaterialId, on_groups: Vec<PlateOnGroup>) -> Plate {
    Plate { name: name.to_owned(), material, on_groups }
}

/// A plate of one part on one group: minutes to print and to cool, then operator minutes to load and to harvest.
pub fn on(group: GroupId, part: PartId, copies: u64, [minutes, cool, load, harvest]: [i64; 4]) -> PlateOnGroup {
    let [minutes, cool, load, harvest] = [minutes, cool, load, harvest].map(Minutes);
    PlateOnGroup { group, copies: vec![(part, Count(copies))], minutes, cool, load, harvest, failure_rate: 0.0 }
}

pub fn kit(name: &str, items: &[(KitItem, u64)]) -> Kit {
    Kit { name: name.to_owned(), items: items.iter().map(|&(item, count)| (item, Count(count))).collect() }
}

pub fn line(kit: KitId, quantity: u64, per_box: Option<u64>) -> ShipmentLine {
    ShipmentLine { kit, quantity: Count(quantity), per_box: per_box.map(Count) }
}

pub fn shift(crew: CrewId, days: &[Weekday], from: u32, to: u32, operators: u64) -> ShiftRow {
    let days = Days::Weekly(days.to_vec());
    ShiftRow { crew, days, from: clock_time(from), to: clock_time(to % 24), operators: Count(operators) }
}

pub const WORKDAYS: [Weekday; 5] = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];

/// A farm in Berlin from Monday 2026-03-02 07:00 with nothing in it.
pub fn bare_farm() -> Instance {
    Instance {
        farm: Farm {
            name: "Bench".to_owned(),
            clock: Clock::new(chrono_tz::Europe::Berlin),
            start: at("2T07:00"),
            horizon_days: 5,
            handling: Handling { load: Minutes(3), harvest: Minutes(4), changeover: Minutes(10), pack_box: Minutes(6) },
            unattended: Unattended { allowed: true, max_printers: None, max_minutes: None },
            whole_plates_per_bag: false,
            costs: None,
            spares: None,
            rehearsal: Default::default(),
        },
        groups: vec!["small".to_owned(), "large".to_owned()],
        materials: vec!["pla".to_owned(), "petg".to_owned()],
        printers: Vec::new(),
        downtime: Vec::new(),
        parts: Vec::new(),
        plates: Vec::new(),
        kits: Vec::new(),
        shipments: Vec::new(),
        crews: Vec::new(),
        shifts: Vec::new(),
        closures: Vec::new(),
        stock: Vec::new(),
        running: Vec::new(),
        log: Vec::new(),
        absences: Vec::new(),
    }
}

/// The farm of this module's story.
pub fn farm() -> Instance {
    let bare = bare_farm();
    let hub = KitId(0);
    let station = KitId(1);
    let down = |printer, from, to| Downtime { printer: PrinterId(printer), from: at(from), to: at(to), reason: None };
    let shipment = |name: &str, lines, release: Option<&str>, due: &str, weight| Shipment {
        name: name.to_owned(),
        lines,
        release: release.map(at),
        due: Some(at(due)),
        weight: Weight(weight),
        after: None,
    };
    Instance {
        farm: Farm {
            unattended: Unattended { allowed: true, max_printers: Some(Count(1)), max_minutes: Some(Minutes(300)) },
            whole_plates_per_bag: true,
            ..bare.farm
        },
        printers: vec![printer("S1", SMALL, Some(PLA)), printer("S2", SMALL, Some(PLA)), printer("L1", LARGE, None)],
        downtime: vec![
            down(0, "2T13:35", "2T13:40"),
            down(1, "2T09:00", "2T11:00"),
            down(2, "2T07:00", "2T10:00"),
            down(2, "2T09:30", "2T12:00"),
        ],
        parts: vec![part("body", PLA, 30, Some(10)), part("clip", PETG, 0, Some(20)), part("lid", PLA, 0, None)],
        plates: vec![
            plate("bodies", PLA, vec![on(SMALL, BODY, 5, [200, 10, 3, 4]), on(LARGE, BODY, 10, [300, 10, 3, 4])]),
            plate("clips", PETG, vec![on(SMALL, CLIP, 20, [90, 0, 5, 8])]),
            plate("odd", PLA, vec![on(SMALL, BODY, 6, [200, 10, 3, 4])]),
        ],
        kits: vec![
            kit("hub", &[(KitItem::Part(BODY), 1), (KitItem::Part(CLIP), 2)]),
            kit("station", &[(KitItem::Kit(hub), 1), (KitItem::Part(LID), 1)]),
        ],
        shipments: vec![
            shipment("spring", vec![line(station, 5, Some(2))], None, "2T09:00", 2000),
            shipment(
                "summer",
                vec![line(hub, 5, Some(5)), line(station, 5, Some(5))],
                Some("2T12:00"),
                "3T12:00",
                1000,
            ),
        ],
        crews: vec!["day".to_owned(), "late".to_owned()],
        shifts: vec![shift(CrewId(0), &WORKDAYS, 7, 15, 2), shift(CrewId(1), &WORKDAYS, 15, 22, 1)],
        stock: vec![Stock { part: LID, quantity: Count(10) }, Stock { part: CLIP, quantity: Count(4) }],
        running: vec![Running { printer: PrinterId(1), plate: PlateId(0), ready: at("2T08:00") }],
        ..bare
    }
}

/// A run loaded by the plan: the load, the start of printing, ready, and the harvest.
pub fn run(name: &str, printer: &str, plate: &str, times: [&str; 5], [loader, harvester]: [&str; 2]) -> Run {
    let [from, print_from, ready, harvest_from, harvest_to] = times.map(at);
    Run {
        run: name.to_owned(),
        printer: printer.to_owned(),
        plate: plate.to_owned(),
        load: Some(Load { from, print_from, loader: loader.to_owned() }),
        ready,
        harvest_from,
        harvest_to,
        harvester: harvester.to_owned(),
    }
}

pub fn pack(shipment: &str, kit: &str, operator: &str, from: &str, to: &str) -> Task {
    let work = Work::Pack { shipment: shipment.to_owned(), kit: kit.to_owned() };
    Task { operator: operator.to_owned(), work, from: at(from), to: at(to) }
}

pub fn gives(source: &str, part: &str, shipment: &str, count: u64) -> Allocation {
    let source = if source == "stock" { Source::Stock } else { Source::Run(source.to_owned()) };
    Allocation { source, part: part.to_owned(), shipment: shipment.to_owned(), count: Count(count), spare: Count(0) }
}

/// The loads and harvests that the runs call for, in order.
pub fn tasks_of(runs: &[Run]) -> Vec<Task> {
    let mut tasks = Vec::new();
    for row in runs {
        let names = || (row.run.clone(), row.printer.clone());
        if let Some(load) = &row.load {
            let (run, printer) = names();
            let work = Work::Load { run, printer };
            tasks.push(Task { operator: load.loader.clone(), work, from: load.from, to: load.print_from });
        }
        let (run, printer) = names();
        let work = Work::Harvest { run, printer };
        tasks.push(Task { operator: row.harvester.clone(), work, from: row.harvest_from, to: row.harvest_to });
    }
    tasks.sort_by_key(|task| (task.from, task.operator.clone()));
    tasks
}

/// The plan of this module's story, its figures worked out by hand.
pub fn plan(instance: &Instance) -> Plan {
    let found = Run {
        load: None,
        ..run("R1", "S2", "bodies", ["2T07:00", "2T07:00", "2T08:00", "2T08:00", "2T08:04"], ["", "day-2"])
    };
    let runs = vec![
        found,
        run("R2", "S1", "clips", ["2T07:00", "2T07:15", "2T08:45", "2T08:45", "2T08:53"], ["day-1", "day-1"]),
        run("R3", "S1", "clips", ["2T12:00", "2T12:05", "2T13:35", "2T13:40", "2T13:48"], ["day-1", "day-2"]),
        run("R4", "S2", "bodies", ["2T12:05", "2T12:08", "2T15:38", "2T15:38", "2T15:42"], ["day-1", "late-1"]),
        run("R5", "L1", "bodies", ["2T21:00", "2T21:03", "3T02:13", "3T07:00", "3T07:04"], ["late-1", "day-1"]),
    ];
    let mut tasks = tasks_of(&runs);
    tasks.extend([
        pack("spring", "station", "day-1", "2T08:53", "2T08:59"),
        pack("spring", "station", "day-2", "2T08:53", "2T08:59"),
        pack("spring", "station", "day-1", "2T08:59", "2T09:05"),
        pack("summer", "hub", "late-1", "2T20:00", "2T20:06"),
        pack("summer", "station", "day-1", "3T07:34", "3T07:40"),
    ]);
    tasks.sort_by_key(|task| (task.from, task.operator.clone()));
    let promise = |index: usize, ready: &str, late: i64| ShipmentPlan {
        shipment: instance.shipments[index].name.clone(),
        ready: at(ready),
        due: instance.shipments[index].due,
        late: Minutes(late),
    };
    Plan {
        instance_digest: instance.digest(),
        objective: Objective::Soonest,
        since: None,
        labelled: Default::default(),
        runs,
        tasks,
        allocation: vec![
            gives("R1", "body", "spring", 5),
            gives("R2", "clip", "spring", 10),
            gives("stock", "lid", "spring", 5),
            gives("R4", "body", "summer", 5),
            gives("R5", "body", "summer", 5),
            gives("R3", "clip", "summer", 16),
            gives("stock", "clip", "summer", 4),
            gives("stock", "lid", "summer", 5),
        ],
        shipments: vec![promise(0, "2T09:05", 5), promise(1, "3T07:40", 0)],
        claims: Claims {
            outcome: Outcome::Feasible,
            value: Minutes(1480),
            bound: Minutes(1200),
            makespan: Minutes(1480),
            late: WeightedMinutes(10_000),
            late_bound: WeightedMinutes(0),
            // S1: 408 minutes to its last harvest, of which 180 print and 5 are down; S2: 522, 250, 120; L1: 1444, 300,
            // 300.
            idle: Minutes(223 + 152 + 844),
            // Clips: 4 in stock and 40 made for 30; bodies: 20 made for 15.
            surplus_parts: Count(14 + 5),
            runs: Count(5),
            // Loads 15, 5, 3, 3; harvests 4, 8, 8, 4, 4; five boxes of 6.
            operator_minutes: Minutes(26 + 28 + 30),
            engine: "by hand".to_owned(),
            seed: 0,
            notes: Vec::new(),
            prices: Vec::new(),
        },
    }
}

/// Lets the plan state the figures that follow from it, so that a damage shows only what it breaks itself.
pub fn restate(instance: &Instance, plan: &mut Plan) {
    let Figures { shipments, makespan, late, idle, surplus_parts, runs, operator_minutes, value } =
        check(instance, plan).figures;
    plan.instance_digest = instance.digest();
    let promise = |s: platewright_checker::ShipmentFigures| ShipmentPlan {
        shipment: s.shipment,
        ready: s.ready,
        due: s.due,
        late: s.late,
    };
    plan.shipments = shipments.into_iter().map(promise).collect();
    let claims = plan.claims.clone();
    let bound = claims.bound.min(value);
    plan.claims = Claims { makespan, late, idle, surplus_parts, runs, operator_minutes, value, bound, ..claims };
}
