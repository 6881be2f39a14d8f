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
    i.shipments.push(Shipment { name: "S".into(), lines: vec![line], release: None, due: None, weight: Weight(1000) });
    for day in 0..2 {
        farm::shift(&mut i, 0, day, 0, 1440, operators);
    }
    i
}

fn published(file: &str) -> Option<String> {
    let path = format!("{}/../../shared/published/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).inspect_err(|_| eprintln!("skipped: data not present")).ok()
}

#[test]
fn common_server() {
    let Some(text) = published("common_server_n8.csv") else { return };
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let numbers = |f: usize| fields[f].split(' ').map(|n| n.parse::<i64>().unwrap()).collect::<Vec<_>>();
        let (print, load, harvest) = (numbers(2), numbers(3), numbers(4));
        let jobs: Vec<_> = (0..print.len()).map(|j| (load[j], print[j], harvest[j])).collect();
        let instance = machines(fields[1].parse().unwrap(), 1, &jobs);
        let problem = Problem::new(&instance);
        let t = std::time::Instant::now();
        let found = search(&problem, false, None, 20_000_000, &|| false);
        let merit = found.best.map(|s| s.merit(&problem, false));
        eprintln!(
            "{} {} {} {:?} {} {} {:?}",
            fields[0],
            fields[5],
            fields[6],
            merit.map(|m| m.value),
            found.proven,
            found.nodes,
            t.elapsed()
        );
    }
}

#[test]
#[ignore]
fn identical_machines() {
    for file in ["frangioni_n_le_100", "lawrinenko_nontrivial_sample", "berndt_nontrivial_sample"] {
        let Some(text) = published(&format!("pcmax/{file}.csv")) else { return };
        for line in text.lines().skip(1) {
            let fields: Vec<&str> = line.split(',').collect();
            let jobs: Vec<_> = fields[6].split(' ').map(|n| (0, n.parse::<i64>().unwrap(), 0)).collect();
            let count = fields[1].parse::<usize>().unwrap();
            if jobs.len() > 20 || count > 10 {
                continue;
            }
            let instance = machines(count, count as i64, &jobs);
            let problem = Problem::new(&instance);
            let t = std::time::Instant::now();
            let found = search(&problem, false, None, 2_000_000, &|| false);
            let merit = found.best.map(|s| s.merit(&problem, false));
            let v = merit.map(|m| m.value).unwrap_or(0);
            let opt = fields[3].parse::<i64>().unwrap();
            eprintln!(
                "{} m{} n{} {} {} {} {} {:?} bound {}",
                if v == opt { "same" } else { "DIFF" },
                count,
                jobs.len(),
                fields[3],
                v,
                found.proven,
                found.nodes,
                t.elapsed(),
                found.value_bound
            );
        }
    }
}
