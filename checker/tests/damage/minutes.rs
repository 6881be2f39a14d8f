//! Sweeps over events against a count of every minute.
//!
//! The runs are thrown onto the printers at random, so that most plans break most rules; what the checker lists must
//! cover the very minutes that a walk through the time finds.

use crate::bench::{BODY, WORKDAYS};
use crate::bench::{PLA, SMALL, at, bare_farm, on, part, plate, printer, restate, run, shift};
use platewright_checker::check;
use platewright_model::instance::{CrewId, Downtime, PlateId, PrinterId, Running};
use platewright_model::plan::{Load, Plan, Run};
use platewright_model::{Count, Instance, Instant, Minutes, Rule};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;

const PLATE_MINUTES: [i64; 2] = [200, 700];
const COOL: i64 = 10;

fn random_farm(random: &mut ChaCha8Rng) -> Instance {
    let mut farm = bare_farm();
    farm.farm.unattended.max_printers = Some(Count(random.random_range(0..3)));
    farm.printers = ["P0", "P1", "P2", "P3"].map(|name| printer(name, SMALL, None)).to_vec();
    farm.parts = vec![part("body", PLA, 0, None)];
    let sheet = |name: &str, minutes| plate(name, PLA, vec![on(SMALL, BODY, 1, [minutes, COOL, 3, 4])]);
    farm.plates = vec![sheet("short", PLATE_MINUTES[0]), sheet("long", PLATE_MINUTES[1])];
    farm.crews = vec!["day".to_owned()];
    let from = random.random_range(0..20);
    farm.shifts = vec![shift(CrewId(0), &WORKDAYS, from, random.random_range(from + 1..=24), 1)];
    for _ in 0..random.random_range(0..4) {
        let from = farm.farm.start + Minutes(random.random_range(-500..4000));
        let to = from + Minutes(random.random_range(1..600));
        farm.downtime.push(Downtime { printer: PrinterId(random.random_range(0..4)), from, to, reason: None });
    }
    if random.random() {
        let ready = farm.farm.start + Minutes(random.random_range(-300..1500));
        farm.running.push(Running { printer: PrinterId(0), plate: PlateId(1), ready });
    }
    farm
}

fn random_plan(random: &mut ChaCha8Rng, farm: &Instance) -> Plan {
    let mut plan = crate::bench::plan(&crate::bench::farm());
    plan.tasks.clear();
    plan.allocation.clear();
    plan.runs.clear();
    for (number, found) in farm.running.iter().enumerate() {
        let mut row = run(&format!("F{number}"), "P0", "long", ["2T08:00"; 5], ["", "day-1"]);
        row.load = None;
        row.ready = found.ready;
        row.harvest_from = farm.farm.start.max(found.ready) + Minutes(random.random_range(0..60));
        row.harvest_to = row.harvest_from + Minutes(4);
        plan.runs.push(row);
    }
    for number in 0..random.random_range(1..12) {
        let kind = random.random_range(0..2);
        let from = farm.farm.start + Minutes(random.random_range(0..3500));
        let print_from = from + Minutes(3);
        let ready = print_from + Minutes(PLATE_MINUTES[kind] + COOL);
        let harvest_from = ready + Minutes(random.random_range(0..200));
        plan.runs.push(Run {
            run: format!("R{number}"),
            printer: format!("P{}", random.random_range(0..4)),
            plate: ["short", "long"][kind].to_owned(),
            load: Some(Load { from, print_from, loader: "day-1".to_owned() }),
            ready,
            harvest_from,
            harvest_to: harvest_from + Minutes(4),
            harvester: "day-1".to_owned(),
        });
    }
    plan.tasks = crate::bench::tasks_of(&plan.runs);
    // Of any length, so that short tasks lie within long ones; HANDLING may say so.
    for task in &mut plan.tasks {
        task.to = task.from + Minutes(random.random_range(1..150));
    }
    restate(farm, &mut plan);
    plan
}

/// The minutes in which a run prints, by its row.
fn prints(farm: &Instance, run: &Run, minute: Instant) -> bool {
    let to = run.ready - Minutes(COOL);
    let from = run.load.as_ref().map_or(farm.farm.start, |load| load.print_from);
    (from..to).contains(&minute)
}

fn is_down(farm: &Instance, printer: &str, minute: Instant) -> bool {
    farm.downtime.iter().any(|d| farm.printers[d.printer.index()].name == printer && (d.from..d.to).contains(&minute))
}

/// The one crew's shift on workdays, on the wall of a week without a clock change.
fn is_staffed(farm: &Instance, minute: Instant) -> bool {
    let row = &farm.shifts[0];
    let since = (minute - at("2T00:00")).0;
    let (from, to) = (minutes_of(row.from), minutes_of(row.to));
    let to = if to <= from { to + 1440 } else { to };
    (0..5).any(|day| (day * 1440 + from..day * 1440 + to).contains(&since))
}

fn minutes_of(time: chrono::NaiveTime) -> i64 {
    use chrono::Timelike;
    i64::from(time.num_seconds_from_midnight() / 60)
}

/// The minutes that the breaches of a rule cover, by printer.
fn covered(farm: &Instance, plan: &Plan, rule: Rule) -> BTreeSet<(String, Instant)> {
    let mut minutes = BTreeSet::new();
    for breach in check(farm, plan).breaches.into_iter().filter(|breach| breach.rule == rule) {
        if let (Some(from), Some(to)) = (breach.from, breach.to) {
            let who = breach.printer.or(breach.operator).unwrap_or_default();
            minutes.extend((from.0..to.0).map(|minute| (who.clone(), Instant(minute))));
        }
    }
    minutes
}

fn each_minute(farm: &Instance) -> impl Iterator<Item = Instant> {
    (farm.farm.start.0 - 1000..farm.farm.horizon_end().0 + 1000).map(Instant)
}

#[test]
fn sweeps_find_the_minutes_that_a_walk_finds() {
    let mut broken = [0; 4];
    for seed in 0..150 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let farm = random_farm(&mut random);
        let plan = random_plan(&mut random, &farm);
        let name = |printer: usize| format!("P{printer}");

        let most = farm.farm.unattended.max_printers.map_or(u64::MAX, |most| most.0);
        let crowded: BTreeSet<_> = each_minute(&farm)
            .filter(|&m| (farm.farm.start..farm.farm.horizon_end()).contains(&m) && !is_staffed(&farm, m))
            .filter(|&m| plan.runs.iter().filter(|run| prints(&farm, run, m)).count() as u64 > most)
            .filter(|&m| plan.runs.iter().any(|run| run.load.is_some() && prints(&farm, run, m)))
            .map(|m| (String::new(), m))
            .collect();
        assert_eq!(covered(&farm, &plan, Rule::Unattended), crowded, "seed {seed}");

        let mut both = BTreeSet::new();
        let mut touched = BTreeSet::new();
        let mut idle = 0;
        for printer in (0..4).map(name) {
            let runs: Vec<&Run> = plan.runs.iter().filter(|run| run.printer == printer).collect();
            let from = |run: &Run| run.load.as_ref().map_or(farm.farm.start, |load| load.from);
            let last = runs.iter().map(|run| run.harvest_to).max().unwrap_or(farm.farm.start);
            for minute in each_minute(&farm) {
                if runs.iter().filter(|run| (from(run)..run.harvest_to).contains(&minute)).count() > 1 {
                    both.insert((printer.clone(), minute));
                }
                let down = is_down(&farm, &printer, minute);
                let handled = |run: &&Run| {
                    let loaded = run.load.as_ref().is_some_and(|load| (load.from..run.ready).contains(&minute));
                    loaded || (run.harvest_from..run.harvest_to).contains(&minute)
                };
                if down && runs.iter().any(handled) {
                    touched.insert((printer.clone(), minute));
                }
                let busy = down || runs.iter().any(|run| prints(&farm, run, minute));
                idle += i64::from((farm.farm.start..last).contains(&minute) && !busy);
            }
        }
        assert_eq!(covered(&farm, &plan, Rule::Printer), both, "seed {seed}");
        assert_eq!(covered(&farm, &plan, Rule::Downtime), touched, "seed {seed}");
        assert_eq!(check(&farm, &plan).figures.idle, Minutes(idle), "seed {seed}");

        let twice: BTreeSet<_> = each_minute(&farm)
            .filter(|m| plan.tasks.iter().filter(|task| (task.from..task.to).contains(m)).count() > 1)
            .map(|m| ("day-1".to_owned(), m))
            .collect();
        // OPERATOR names the printer too; only the minutes matter here.
        let found: BTreeSet<_> =
            covered(&farm, &plan, Rule::Operator).into_iter().map(|(_, m)| ("day-1".to_owned(), m)).collect();
        assert_eq!(found, twice, "seed {seed}");

        for (count, set) in broken.iter_mut().zip([&crowded, &both, &touched, &twice]) {
            *count += usize::from(!set.is_empty());
        }
    }
    assert!(broken.iter().all(|&count| count >= 15), "too few plans break each rule to say much: {broken:?}");
}
