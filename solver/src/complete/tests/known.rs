//! Cases whose optimum is known otherwise.

use super::farm;
use crate::complete::search;
use crate::problem::Problem;
use platewright_model::instance::*;
use platewright_model::units::Weight;
use platewright_model::{Count, Minutes};

/// Jobs as plates of one part each: (load, print, harvest); a crew that never leaves.
fn machines(machines: usize, operators: i64, jobs: &[(i64, i64, i64)]) -> Instance {
    let handling = Handling { load: Minutes(0), harvest: Minutes(0), changeover: Minutes(0), pack_box: Minutes(0) };
    let unattended = Unattended { allowed: true, max_printers: None, max_minutes: None };
    let mut i = farm::empty(2, handling, unattended);
    i.groups.truncate(1);
    for m in 0..machines {
        i.printers.push(Printer { name: format!("M{m}"), group: GroupId(0), bay: None, material: None });
    }
    for (j, &(load, print, harvest)) in jobs.iter().enumerate() {
        i.parts.push(Part {
            name: format!("J{j}"),
            material: MaterialId(0),
            grams: None,
            finish: Minutes(0),
            per_bag: None,
            reject_rate: 0.0,
        });
        let on = PlateOnGroup {
            group: GroupId(0),
            copies: vec![(PartId(j as u32), Count(1))],
            minutes: Minutes(print),
            cool: Minutes(0),
            load: Minutes(load),
            harvest: Minutes(harvest),
            failure_rate: 0.0,
        };
        i.plates.push(Plate { name: format!("J{j}"), material: MaterialId(0), on_groups: vec![on] });
    }
    let items = (0..jobs.len()).map(|j| (KitItem::Part(PartId(j as u32)), Count(1))).collect();
    i.kits.push(Kit { name: "all".into(), items });
    let line = ShipmentLine { kit: KitId(0), quantity: Count(1), per_box: None };
    i.shipments.push(Shipment {
        name: "S".into(),
        lines: vec![line],
        release: None,
        due: None,
        weight: Weight(1000),
        after: None,
    });
    for day in 0..2 {
        farm::shift(&mut i, 0, day, 0, 1440, operators);
    }
    i
}

fn published(file: &str) -> Option<String> {
    let path = format!("{}/../../shared/published/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).inspect_err(|_| eprintln!("skipped: data not present")).ok()
}

/// Elidrissi, Benmansour, Hasani, Werner, Computers & Operations Research 2024, doi 10.1016/j.cor.2024.106638; their
/// optimum under blocking was computed with an independent solver, which proved all but one.
#[test]
fn two_machines_with_one_operator() {
    let Some(text) = published("common_server_n8.csv") else { return };
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let numbers = |f: usize| fields[f].split(' ').map(|n| n.parse::<i64>().unwrap()).collect::<Vec<_>>();
        let (print, load, harvest) = (numbers(2), numbers(3), numbers(4));
        let jobs: Vec<_> = (0..print.len()).map(|j| (load[j], print[j], harvest[j])).collect();
        let instance = machines(fields[1].parse().unwrap(), 1, &jobs);
        let problem = Problem::new(&instance);
        let found = search(&problem, false, None, 1_000_000, &|| false);
        assert!(found.proven, "{}", fields[0]);
        let merit = found.best.map(|s| s.merit(&problem, false));
        assert_eq!(merit.map(|m| m.value), fields[6].parse().ok(), "{}", fields[0]);
    }
}

/// Graham, SIAM J. Appl. Math. 17 (1969) 416-429: longest first takes 4m - 1 for what can be done in 3m.
#[test]
fn the_worst_case_of_longest_first() {
    for m in 2..=4 {
        let lengths = (m + 1..2 * m).flat_map(|n| [n, n]).chain([m; 3]);
        let jobs: Vec<(i64, i64, i64)> = lengths.map(|n| (0, n, 0)).collect();
        let instance = machines(m as usize, m, &jobs);
        let problem = Problem::new(&instance);
        let found = search(&problem, false, None, 1_000_000, &|| false);
        assert!(found.proven);
        assert_eq!(found.best.map(|s| s.merit(&problem, false).value), Some(3 * m));
    }
}
