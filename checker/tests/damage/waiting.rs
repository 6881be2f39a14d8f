//! AFTER and SPARES: what shipments wait for, and what is kept for them.

use crate::bench::{PLA, at, farm, gives, part, plan, restate};
use crate::{Damage, Figures, hold};
use platewright_checker::check;
use platewright_model::instance::{After, PartId, ShipmentId, Spares, Stock};
use platewright_model::plan::Allocation;
use platewright_model::{Count, Instance, Minutes, Plan};

fn after(farm: &mut Instance, which: usize, first: u32, hold: i64) {
    farm.shipments[which].after = Some(After { shipment: ShipmentId(first), hold: Minutes(hold) });
}

fn confidence(farm: &mut Instance, confidence: f64) {
    farm.farm.spares = Some(Spares { confidence });
}

/// Plates of bodies on small printers fail at a rate.
fn bodies_fail(farm: &mut Instance, rate: f64) {
    farm.plates[0].on_groups[0].failure_rate = rate;
}

fn keep(plan: &mut Plan, source: &str, part: &str, shipment: &str, spare: u64) {
    plan.allocation.push(Allocation { spare: Count(spare), ..gives(source, part, shipment, 0) });
}

pub const TABLE: &[Damage] = &[
    Damage {
        what: "clips are loaded before the first shipment has been looked over",
        does: |farm, _| after(farm, 1, 0, 180),
        breaches: &[(
            "AFTER R3 S1 - summer 2T12:00..-",
            "R3 is loaded Mon 2026-03-02 12:00, summer takes no clip from before Mon 2026-03-02 12:05, 3 h after spring is ready",
        )],
    },
    Damage {
        what: "a shipment that is ready on Monday comes after one that is ready on Tuesday",
        does: |farm, _| after(farm, 0, 1, 0),
        breaches: &[
            (
                "AFTER R1 S2 - spring -..-",
                "R1 was loaded before the start, spring takes no body from before Tue 2026-03-03 07:40, when summer is ready",
            ),
            (
                "AFTER R2 S1 - spring 2T07:00..-",
                "R2 is loaded Mon 2026-03-02 07:00, spring takes no clip from before Tue 2026-03-03 07:40, when summer is ready",
            ),
        ],
    },
    Damage {
        what: "a spare is loaded before the first shipment has been looked over",
        does: |farm, plan| {
            farm.shipments[1].release = None;
            after(farm, 1, 0, 175);
            keep(plan, "R2", "clip", "summer", 3);
        },
        breaches: &[(
            "AFTER R2 S1 - summer 2T07:00..-",
            "R2 is loaded Mon 2026-03-02 07:00, summer takes no clip from before Mon 2026-03-02 12:00, 2 h 55 min after \
             spring is ready",
        )],
    },
    Damage {
        what: "plates fail one in five and nothing is kept for it",
        does: |farm, _| {
            confidence(farm, 0.9);
            bodies_fail(farm, 0.2);
        },
        breaches: &[
            (
                "SPARES - - - spring -..-",
                "what spring is given suffices with a chance of 80 %, 90 % is asked for; body alone: 80 %",
            ),
            (
                "SPARES - - - summer -..-",
                "what summer is given suffices with a chance of 80 %, 90 % is asked for; body alone: 80 %",
            ),
        ],
    },
    Damage {
        what: "each part suffices, all together do not",
        does: |farm, plan| {
            confidence(farm, 0.95);
            bodies_fail(farm, 0.04);
            farm.parts[1].reject_rate = 0.02;
            // Of 11 clips at most one is rejected: 0.98^11 + 11 * 0.02 * 0.98^10 = 0.98049
            keep(plan, "R2", "clip", "spring", 1);
            keep(plan, "R3", "clip", "summer", 4);
        },
        breaches: &[(
            "SPARES - - - spring -..-",
            "what spring is given suffices with a chance of 94.126 %, 95 % is asked for; body alone: 96 %",
        )],
    },
    Damage {
        what: "a run keeps more spares than it holds",
        does: |_, plan| keep(plan, "R2", "clip", "spring", 11),
        breaches: &[("ALLOCATION R2 S1 - - -..-", "R2 gives 21 of clip and yields 20")],
    },
    Damage {
        what: "a spare comes a day after its shipment",
        does: |_, plan| keep(plan, "R5", "body", "spring", 2),
        breaches: &[(
            "SPARES R5 L1 - spring -..-",
            "spare body for spring is usable Tue 2026-03-03 07:34, after the last that it takes, Mon 2026-03-02 08:34",
        )],
    },
    Damage {
        what: "a spare is kept of a part that the shipment does not hold",
        does: |farm, plan| {
            farm.parts.push(part("foot", PLA, 0, None));
            farm.stock.push(Stock { part: PartId(3), quantity: Count(2) });
            keep(plan, "stock", "foot", "spring", 1);
        },
        breaches: &[("SPARES - - - spring -..-", "spare foot is kept for spring, which takes none")],
    },
    Damage {
        what: "a spare is loaded before its shipment's release",
        does: |_, plan| keep(plan, "R2", "clip", "summer", 3),
        breaches: &[(
            "RELEASE R2 S1 - summer 2T07:00..-",
            "R2 is loaded Mon 2026-03-02 07:00, summer takes no clip from before its release Mon 2026-03-02 12:00",
        )],
    },
];

#[test]
fn what_a_shipment_waits_for_and_what_is_kept_for_it() {
    hold(TABLE, Figures::Restated);
}

/// What looks like a breach and is none.
#[test]
fn a_wait_that_is_just_over_and_spares_that_just_suffice() {
    type Change = fn(&mut Instance, &mut Plan);
    let changes: [(&str, Change); 5] = [
        ("the hold is over the minute that the first run is loaded", |farm, _| after(farm, 1, 0, 175)),
        ("stock may go into what comes later", |farm, plan| {
            after(farm, 0, 1, 0);
            farm.stock[1].quantity = Count(30);
            farm.stock.push(Stock { part: PartId(0), quantity: Count(5) });
            for row in plan.allocation.iter_mut().filter(|row| row.shipment == "spring") {
                *row = gives("stock", &row.part, "spring", row.count.0);
            }
        }),
        ("exactly the chance that is asked for", |farm, _| {
            confidence(farm, 0.8);
            bodies_fail(farm, 0.2);
        }),
        (
            "rejects of clips are covered by spares of the same run, one plate of bodies fails with 0.04",
            |farm, plan| {
                confidence(farm, 0.95);
                bodies_fail(farm, 0.04);
                farm.parts[1].reject_rate = 0.01;
                keep(plan, "R2", "clip", "spring", 2);
                keep(plan, "R3", "clip", "summer", 4);
            },
        ),
        ("the large plate makes up for the small one", |farm, plan| {
            confidence(farm, 0.999);
            bodies_fail(farm, 0.5);
            plan.allocation.retain(|row| row.part != "body" || row.shipment != "spring");
            farm.stock.push(Stock { part: PartId(0), quantity: Count(5) });
            plan.allocation.push(gives("stock", "body", "spring", 5));
            keep(plan, "R5", "body", "summer", 5);
        }),
    ];
    for (what, change) in changes {
        let mut instance = farm();
        let mut plan = plan(&instance);
        change(&mut instance, &mut plan);
        restate(&instance, &mut plan);
        assert_eq!(check(&instance, &plan).breaches, [], "{what}");
    }
    // A spare is surplus, and makes a shipment no later than its last copy does.
    let (instance, mut plan) = (farm(), plan(&farm()));
    let before = check(&instance, &plan).figures;
    keep(&mut plan, "R2", "clip", "spring", 4);
    assert_eq!(check(&instance, &plan).figures, before);
    assert!(before.shipments[0].ready < at("3T07:00"));
}

/// Whatever is said to be spare, it is judged: what a run does not hold counts for nothing.
#[test]
fn spares_beyond_all_counting_are_judged() {
    let mut instance = farm();
    confidence(&mut instance, 0.9);
    bodies_fail(&mut instance, 0.2);
    instance.parts[1].reject_rate = 0.3;
    let mut plan = plan(&instance);
    for source in ["R2", "R2", "stock", "R77"] {
        for part in ["clip", "body", "no part"] {
            for shipment in ["spring", "summer", "no shipment"] {
                keep(&mut plan, source, part, shipment, u64::MAX);
            }
        }
    }
    let codes: std::collections::BTreeSet<&str> =
        check(&instance, &plan).breaches.iter().map(|b| b.rule.code()).collect();
    assert!(codes.contains("ALLOCATION") && codes.contains("RELEASE"), "{codes:?}");
}
