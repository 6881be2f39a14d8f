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
            spares: None,
            rehearsal: Default::default(),
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
        log: Vec::new(),
        absences: Vec::new(),
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
            after: None,
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

/// A room to the minute, of a few printers and so many runs as near as can be told, over some days.
pub(super) fn fine(dice: &mut Dice, runs: i64) -> Instance {
    let mut left = runs;
    let handling = Handling {
        load: Minutes(dice.roll(0, 12)),
        harvest: Minutes(dice.roll(0, 12)),
        changeover: if dice.one_in(2) { Minutes(dice.roll(5, 30)) } else { Minutes(0) },
        pack_box: if dice.one_in(4) { Minutes(dice.roll(3, 20)) } else { Minutes(0) },
    };
    let unattended = Unattended {
        allowed: !dice.one_in(10),
        max_printers: dice.one_in(5).then(|| Count(dice.roll(1, 2) as u64)),
        max_minutes: dice.one_in(6).then(|| Minutes(dice.roll(100, 700))),
    };
    let days = 8;
    let mut i = empty(days, handling, unattended);
    let groups = if dice.one_in(3) { 2 } else { 1 };
    let materials = if dice.one_in(2) { 2 } else { 1 };
    for p in 0..dice.roll(2, 3) {
        i.printers.push(Printer {
            name: format!("P{p}"),
            group: GroupId(dice.roll(0, groups - 1) as u32),
            bay: None,
            material: dice.one_in(3).then(|| MaterialId(dice.roll(0, materials - 1) as u32)),
        });
        if dice.one_in(6) {
            let from = start() + Minutes(dice.roll(0, 2000));
            let to = from + Minutes(dice.roll(30, 600));
            i.downtime.push(Downtime { printer: PrinterId(p as u32), from, to, reason: None });
        }
    }
    let parts = dice.roll(1, 5);
    let mut needs = Vec::new();
    for part in 0..parts {
        let material = MaterialId(dice.roll(0, materials - 1) as u32);
        i.parts.push(Part {
            name: format!("part{part}"),
            material,
            grams: None,
            finish: if dice.one_in(4) { Minutes(dice.roll(5, 60)) } else { Minutes(0) },
            per_bag: None,
            reject_rate: 0.0,
        });
        let of_part =
            if part == parts - 1 { left.max(1) } else { dice.roll(1, (left - (parts - 1 - part)).clamp(1, 4)) };
        left -= of_part;
        let copies = dice.roll(1, 4);
        needs.push(of_part * copies - dice.roll(0, copies - 1));
        for alternative in 0..if dice.one_in(3) { 2 } else { 1 } {
            let base = if dice.one_in(3) { dice.roll(300, 700) } else { dice.roll(30, 300) };
            let mixed =
                (alternative == 1 && part > 0 && i.parts[part as usize - 1].material == material).then_some(part - 1);
            let count = if alternative == 0 { copies } else { dice.roll(1, 6) };
            let on_groups = (0..groups)
                .filter(|&group| group == 0 || !dice.one_in(4))
                .collect::<Vec<_>>()
                .into_iter()
                .map(|group| PlateOnGroup {
                    group: GroupId(group as u32),
                    copies: std::iter::once((PartId(part as u32), Count(count as u64)))
                        .chain(mixed.map(|m| (PartId(m as u32), Count(1))))
                        .collect(),
                    minutes: Minutes(base * count / copies + group * 20),
                    cool: if dice.one_in(4) { Minutes(dice.roll(5, 30)) } else { Minutes(0) },
                    load: if dice.one_in(3) { Minutes(dice.roll(0, 20)) } else { i.farm.handling.load },
                    harvest: if dice.one_in(3) { Minutes(dice.roll(0, 20)) } else { i.farm.handling.harvest },
                    failure_rate: 0.0,
                })
                .collect();
            i.plates.push(Plate { name: format!("plate{}", i.plates.len()), material, on_groups });
        }
    }
    // A plate of the first group for each part, and a printer there.
    i.printers[0].group = GroupId(0);
    let shipments = dice.roll(1, 2);
    for s in 0..shipments {
        let mut lines = Vec::new();
        for (part, &need) in needs.iter().enumerate() {
            let share = match (shipments, s) {
                (1, _) => need,
                (_, 0) => need / 2,
                _ => need - need / 2,
            };
            if share == 0 {
                continue;
            }
            let kit = i.kits.len() as u32;
            i.kits.push(Kit { name: format!("kit{kit}"), items: vec![(KitItem::Part(PartId(part as u32)), Count(1))] });
            let per_box = dice.one_in(3).then(|| Count(dice.roll(2, 5) as u64));
            lines.push(ShipmentLine { kit: KitId(kit), quantity: Count(share as u64), per_box });
        }
        if lines.is_empty() {
            continue;
        }
        i.shipments.push(Shipment {
            name: format!("S{s}"),
            lines,
            release: dice.one_in(5).then(|| start() + Minutes(dice.roll(0, 600))),
            due: dice.one_in(2).then(|| start() + Minutes(dice.roll(300, 3000))),
            weight: Weight(dice.roll(1, 3) as u64 * 1000),
            after: None,
        });
    }
    for part in 0..parts {
        if dice.one_in(6) {
            i.stock.push(Stock { part: PartId(part as u32), quantity: Count(dice.roll(1, 3) as u64) });
        }
    }
    if dice.one_in(4) {
        let ready = start() + Minutes(dice.roll(-100, 600));
        i.running.push(Running { printer: PrinterId(0), plate: PlateId(0), ready });
    }
    let split = dice.one_in(2);
    let (from, to) = (dice.roll(300, 540), dice.roll(840, 1320));
    let operators = dice.roll(1, 2);
    for day in 0..i64::from(days) {
        if split {
            let noon = (from + to) / 2;
            shift(&mut i, 0, day, from, noon - 60, operators);
            shift(&mut i, 0, day, noon + 60, to, operators);
        } else {
            shift(&mut i, 0, day, from, to, operators);
        }
        if operators == 1 && dice.one_in(5) {
            let from = dice.roll(600, 900);
            shift(&mut i, 1, day, from, from + dice.roll(100, 400), 1);
        }
    }
    i
}
