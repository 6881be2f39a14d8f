//! A plan of 20,000 runs on 1,000 printers over 120 days is judged as the small one is.

use crate::bench::{BODY, PLA, SMALL, WORKDAYS, bare_farm, gives, kit, line, on, part, plate, printer, restate, shift};
use crate::bench::{pack, plan as by_hand, tasks_of};
use platewright_checker::check;
use platewright_model::instance::{CrewId, KitId, KitItem, Shipment};
use platewright_model::plan::{Load, Plan, Run};
use platewright_model::{Count, Instance, Instant, Minutes, Rule, Weight};

const PRINTERS: u32 = 1_000;
const ROUNDS: u32 = 20;
const OPERATORS: u32 = 50;

/// Printers are filled every six days, always on a weekday or a Saturday, each operator walking along 20 of them.
fn farm() -> Instance {
    let mut farm = bare_farm();
    farm.farm.horizon_days = 120;
    farm.farm.unattended.max_printers = Some(Count(u64::from(PRINTERS)));
    farm.farm.unattended.max_minutes = Some(Minutes(900));
    farm.printers = (0..PRINTERS).map(|p| printer(&format!("P{p:04}"), SMALL, Some(PLA))).collect();
    farm.parts = vec![part("body", PLA, 30, None)];
    farm.plates = vec![plate("bodies", PLA, vec![on(SMALL, BODY, 5, [1500, 10, 3, 4])])];
    farm.kits = vec![kit("lamp", &[(KitItem::Part(BODY), 5)])];
    farm.shipments = vec![Shipment {
        name: "spring".to_owned(),
        lines: vec![line(KitId(0), u64::from(PRINTERS * ROUNDS), Some(20))],
        release: None,
        due: None,
        after: None,
        weight: Weight(1000),
    }];
    farm.crews = vec!["day".to_owned()];
    let mut days = WORKDAYS.to_vec();
    days.extend([chrono::Weekday::Sat, chrono::Weekday::Sun]);
    farm.shifts = vec![shift(CrewId(0), &days, 7, 22, u64::from(OPERATORS))];
    farm
}

fn plan(farm: &Instance) -> Plan {
    let mut plan = by_hand(&crate::bench::farm());
    plan.allocation.clear();
    plan.runs.clear();
    // The clocks go forward on 29 March: from then on seven o'clock comes an hour sooner.
    let morning = |day: u32| {
        let spring = if day >= 27 { 60 } else { 0 };
        farm.farm.start + Minutes(i64::from(day) * 1440 - spring)
    };
    for round in 0..ROUNDS {
        for p in 0..PRINTERS {
            let (operator, place) = (p % OPERATORS + 1, i64::from(p / OPERATORS));
            let from = morning(round * 6) + Minutes(place * 3);
            let print_from = from + Minutes(3);
            let harvest_from = morning(round * 6 + 2) + Minutes(place * 4);
            plan.runs.push(Run {
                run: format!("R{:05}", round * PRINTERS + p),
                printer: format!("P{p:04}"),
                plate: "bodies".to_owned(),
                load: Some(Load { from, print_from, loader: format!("day-{operator}") }),
                ready: print_from + Minutes(1510),
                harvest_from,
                harvest_to: harvest_from + Minutes(4),
                harvester: format!("day-{operator}"),
            });
        }
    }
    plan.tasks = tasks_of(&plan.runs);
    for round in 0..ROUNDS {
        for operator in 1..=OPERATORS {
            let mut task = pack("spring", "lamp", &format!("day-{operator}"), "2T07:00", "2T07:06");
            let from = morning(round * 6 + 2) + Minutes(600);
            (task.from, task.to) = (from, from + Minutes(6));
            plan.tasks.push(task);
        }
    }
    plan.allocation = plan.runs.iter().map(|run| gives(&run.run, "body", "spring", 5)).collect();
    restate(farm, &mut plan);
    plan
}

#[test]
fn a_large_plan_holds_and_a_small_damage_in_it_is_found() {
    let farm = farm();
    let mut plan = plan(&farm);
    let report = check(&farm, &plan);
    assert_eq!(report.breaches, []);
    assert_eq!(report.figures.runs, Count(20_000));
    assert_eq!(report.figures.surplus_parts, Count(0));
    assert_eq!(report.figures.operator_minutes, Minutes(20_000 * 7 + 1_000 * 6));

    plan.runs[12_345].ready = Instant(plan.runs[12_345].ready.0 - 1);
    let found: Vec<_> = check(&farm, &plan).breaches.into_iter().map(|b| (b.rule, b.run)).collect();
    assert_eq!(found, [(Rule::Ready, Some("R12345".to_owned()))]);
}

#[test]
fn a_large_plan_of_one_name_on_one_printer_is_judged_too() {
    let farm = farm();
    let mut plan = plan(&farm);
    for run in &mut plan.runs {
        (run.run, run.printer) = (String::new(), "P0000".to_owned());
    }
    plan.tasks = tasks_of(&plan.runs);
    let report = check(&farm, &plan);
    let printer = report.breaches.iter().filter(|b| b.rule == Rule::Printer).count();
    assert_eq!(printer, 20_000 - 20, "all but the first run of each round meet another");
}
