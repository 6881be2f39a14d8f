//! Random rooms.

use chrono::{NaiveDate, NaiveTime, TimeDelta};
use platewright_model::calendar::Clock;
use platewright_model::instance::*;
use platewright_model::units::Weight;
use platewright_model::{Count, Instant, Minutes};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Repeatable chance.
pub(super) struct Dice(ChaCha8Rng);

impl Dice {
    pub(super) fn new(seed: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(seed))
    }

    /// From `low` to `high`, both included.
    pub(super) fn roll(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// True once in `sides` times.
    pub(super) fn one_in(&mut self, sides: i64) -> bool {
        self.roll(1, sides) == 1
    }
}

/// A room whose every figure is a multiple of a grid, so that starts on the grid are enough.
pub(super) struct Coarse {
    pub instance: Instance,
    pub grid: i32,
    /// Runs to load that the brute force tries at most.
    pub loads: usize,
}

fn start() -> Instant {
    // 2026-03-02T00:00 UTC.
    Instant(1_772_409_600 / 60)
}

fn date(day: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 2).unwrap() + TimeDelta::days(day)
}

fn time(minute: i64) -> NaiveTime {
    NaiveTime::from_hms_opt((minute / 60 % 24) as u32, (minute % 60) as u32, 0).unwrap()
}

pub(super) fn empty(days: u32, handling: Handling, unattended: Unattended) -> Instance {
    Instance {
        farm: Farm {
            name: "Test room".into(),
            clock: Clock::new(chrono_tz::UTC),
            start: start(),
            horizon_days: days,
            handling,
            unattended,
            whole_plates_per_bag: false,
            costs: None,
        },
        groups: vec!["fast".into(), "slow".into()],
        materials: vec!["PLA".into(), "PETG".into()],
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
    }
}

pub(super) fn shift(instance: &mut Instance, crew: u32, day: i64, from: i64, to: i64, operators: i64) {
    while instance.crews.len() <= crew as usize {
        instance.crews.push(format!("CREW{}", instance.crews.len()));
    }
    instance.shifts.push(ShiftRow {
        crew: CrewId(crew),
        days: Days::Date(date(day)),
        from: time(from),
        to: time(to),
        operators: Count(operators as u64),
    });
}

/// A tiny room with any of the rules in force.
pub(super) fn coarse(dice: &mut Dice) -> Coarse {
    let grid = [60, 120, 120, 180][dice.roll(0, 3) as usize];
    let days = if grid == 60 { 1 } else { dice.roll(1, 2) };
    let g = |dice: &mut Dice, low: i64, high: i64| Minutes(dice.roll(low, high) * i64::from(grid));
    let slots = 1440 / i64::from(grid);
    let pack = if dice.one_in(4) { g(dice, 1, 1) } else { Minutes(0) };
    let handling = Handling {
        load: g(dice, 0, 1),
        harvest: g(dice, 0, 1),
        changeover: if dice.one_in(2) { g(dice, 1, 2) } else { Minutes(0) },
        pack_box: pack,
    };
    let unattended = Unattended {
        allowed: !dice.one_in(8),
        max_printers: dice.one_in(4).then_some(Count(1)),
        max_minutes: dice.one_in(5).then(|| g(dice, 1, 4)),
    };
    let mut i = empty(days as u32, handling, unattended);
    let groups = dice.roll(1, 2);
    for p in 0..dice.roll(1, 2) {
        i.printers.push(Printer {
            name: format!("P{p}"),
            group: GroupId(dice.roll(0, groups - 1) as u32),
            bay: None,
            material: dice.one_in(2).then(|| MaterialId(dice.roll(0, 1) as u32)),
        });
        if dice.one_in(4) {
            let from = dice.roll(0, slots - 2) * i64::from(grid);
            let to = from + dice.roll(1, 3) * i64::from(grid);
            i.downtime.push(Downtime {
                printer: PrinterId(p as u32),
                from: start() + Minutes(from),
                to: start() + Minutes(to),
                reason: None,
            });
        }
    }
    for part in 0..dice.roll(1, 2) {
        i.parts.push(Part {
            name: format!("part{part}"),
            material: MaterialId(dice.roll(0, 1) as u32),
            grams: None,
            finish: if dice.one_in(3) { g(dice, 1, 2) } else { Minutes(0) },
            per_bag: None,
            reject_rate: 0.0,
        });
    }
    let parts = i.parts.len() as i64;
    for p in 0..dice.roll(parts, parts + 1) {
        let first = PartId((p % parts) as u32);
        let material = i.parts[first.index()].material;
        let other = PartId(((p + 1) % parts) as u32);
        let mixed = parts == 2 && i.parts[other.index()].material == material && dice.one_in(3);
        let on_groups = (0..groups)
            .filter(|_| groups == 1 || !dice.one_in(3))
            .map(|group| group as u32)
            .collect::<Vec<u32>>()
            .into_iter()
            .map(|group| {
                let mut copies = vec![(first, Count(dice.roll(1, 2) as u64))];
                if mixed {
                    copies.push((other, Count(dice.roll(1, 2) as u64)));
                }
                let load = if dice.one_in(3) { g(dice, 0, 2) } else { i.farm.handling.load };
                let harvest = if dice.one_in(3) { g(dice, 0, 2) } else { i.farm.handling.harvest };
                PlateOnGroup {
                    group: GroupId(group),
                    copies,
                    minutes: g(dice, 1, 4),
                    cool: if dice.one_in(4) { g(dice, 1, 1) } else { Minutes(0) },
                    load,
                    harvest,
                    failure_rate: 0.0,
                }
            })
            .collect::<Vec<_>>();
        if !on_groups.is_empty() {
            i.plates.push(Plate { name: format!("plate{p}"), material, on_groups });
        }
    }
    let shipments = dice.roll(1, 2);
    let mut lines = 0;
    for s in 0..shipments {
        let mut shipment_lines = Vec::new();
        for _ in 0..if dice.one_in(4) { 2 } else { 1 } {
            let first = dice.roll(0, parts - 1);
            let mut items = vec![(KitItem::Part(PartId(first as u32)), Count(1))];
            if parts == 2 && dice.one_in(2) {
                items.push((KitItem::Part(PartId(1 - first as u32)), Count(1)));
            }
            i.kits.push(Kit { name: format!("kit{lines}"), items });
            let quantity = if shipments == 1 { dice.roll(1, 3) } else { dice.roll(1, 2) };
            let per_box = (pack.0 > 0 && !dice.one_in(3)).then(|| Count(dice.roll(1, 2) as u64));
            shipment_lines.push(ShipmentLine { kit: KitId(lines), quantity: Count(quantity as u64), per_box });
            lines += 1;
        }
        i.shipments.push(Shipment {
            name: format!("S{s}"),
            lines: shipment_lines,
            release: dice.one_in(4).then(|| start() + Minutes(dice.roll(-1, slots / 2) * i64::from(grid))),
            due: dice.one_in(2).then(|| start() + Minutes(dice.roll(-1, slots) * i64::from(grid))),
            weight: Weight(dice.roll(0, 3) as u64 * 1000),
        });
    }
    for part in 0..parts {
        if dice.one_in(5) {
            i.stock.push(Stock { part: PartId(part as u32), quantity: Count(1) });
        }
    }
    for p in 0..i.printers.len() {
        if !dice.one_in(4) {
            continue;
        }
        let group = i.printers[p].group;
        let fits: Vec<u32> =
            (0..i.plates.len()).filter(|&q| i.plates[q].on(group).is_some()).map(|q| q as u32).collect();
        if !fits.is_empty() {
            let plate = PlateId(fits[dice.roll(0, fits.len() as i64 - 1) as usize]);
            let ready = start() + Minutes(dice.roll(-1, slots) * i64::from(grid));
            i.running.push(Running { printer: PrinterId(p as u32), plate, ready });
        }
    }
    for day in 0..days {
        let from = dice.roll(0, slots / 3);
        let to = dice.roll(from + 2, slots.min(from + slots / 2));
        shift(&mut i, 0, day, from * i64::from(grid), to * i64::from(grid), dice.roll(1, 2));
        if dice.one_in(2) {
            let from = dice.roll(1, slots - 2);
            let to = dice.roll(from + 1, slots);
            let crew = dice.roll(0, 1) as u32;
            shift(&mut i, crew, day, from * i64::from(grid), to * i64::from(grid), 1);
        }
    }
    Coarse { instance: i, grid, loads: 4 }
}
