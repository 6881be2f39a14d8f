//! LOG: plans made anew at noon of Monday, and what they say of the morning otherwise than the log.

use crate::bench::at;
use crate::{Damage, Figures, hold, retask};
use platewright_model::instance::{CrewId, PrinterId};
use platewright_model::log::{Entry, Event};
use platewright_model::{Count, Instance, Plan};

/// The morning as it was planned, with the plan made anew at 12:10: R1 and R2 are harvested, R3 and R4 print.
fn at_noon(instance: &mut Instance, plan: &mut Plan) {
    let (s1, s2) = (PrinterId(0), PrinterId(1));
    let loaded = |printer, run: &str| Event::Loaded { printer, run: run.to_owned() };
    let harvested = |printer, run: &str| {
        let run = run.to_owned();
        Event::Harvested { printer, run, part: None, good: None, rejected: None }
    };
    let rows = [
        ("2T07:15", loaded(s1, "R2")),
        ("2T08:04", harvested(s2, "R1")),
        ("2T08:53", harvested(s1, "R2")),
        ("2T12:05", loaded(s1, "R3")),
        ("2T12:08", loaded(s2, "R4")),
    ];
    instance.log =
        (2..).zip(rows).map(|(line, (time, event))| Entry { at: at(time), event, note: None, line }).collect();
    plan.since = Some(at("2T12:10"));
}

fn entry(instance: &mut Instance, row: usize) -> &mut Entry {
    &mut instance.log[row]
}

fn also(instance: &mut Instance, time: &str, event: Event) {
    instance.log.push(Entry { at: at(time), event, note: None, line: 7 });
}

pub const TABLE: &[Damage] = &[
    Damage { what: "nothing", does: at_noon, breaches: &[] },
    Damage {
        what: "the log does not have R4 loaded",
        does: |instance, plan| {
            at_noon(instance, plan);
            instance.log.pop();
        },
        breaches: &[(
            "LOG R4 S2 - - -..-",
            "R4 is loaded Mon 2026-03-02 12:08 by the plan, and the log does not say so",
        )],
    },
    Damage {
        what: "the log has R3 loaded two minutes later",
        does: |instance, plan| {
            at_noon(instance, plan);
            entry(instance, 3).at = at("2T12:07");
        },
        breaches: &[(
            "LOG R3 S1 - - -..-",
            "R3 is loaded Mon 2026-03-02 12:05 by the plan, Mon 2026-03-02 12:07 by the log",
        )],
    },
    Damage {
        what: "the log has R2 on another printer",
        does: |instance, plan| {
            at_noon(instance, plan);
            for row in [0, 2] {
                match &mut entry(instance, row).event {
                    Event::Loaded { printer, .. } | Event::Harvested { printer, .. } => *printer = PrinterId(2),
                    _ => {}
                }
            }
        },
        breaches: &[("LOG R2 S1 - - -..-", "row 2 of log.csv has R2 on L1, the plan on S1")],
    },
    Damage {
        what: "the log speaks of a run that the plan has not",
        does: |instance, plan| {
            at_noon(instance, plan);
            also(instance, "2T12:09", Event::Loaded { printer: PrinterId(2), run: "R9".to_owned() });
        },
        breaches: &[("LOG R9 - - - -..-", "row 7 of log.csv speaks of R9, and the plan has no such run")],
    },
    Damage {
        what: "of the twenty clips of R2 only nine are good",
        does: |instance, plan| {
            at_noon(instance, plan);
            if let Event::Harvested { good, .. } = &mut entry(instance, 2).event {
                *good = Some(Count(9));
            }
        },
        breaches: &[("ALLOCATION R2 S1 - - -..-", "R2 gives 10 of clip and yields 9")],
    },
    Damage {
        what: "plates of bodies fail one in five; those of R1 are counted, those of R4 are still to come",
        does: |instance, plan| {
            at_noon(instance, plan);
            instance.farm.spares = Some(platewright_model::instance::Spares { confidence: 0.9 });
            instance.plates[0].on_groups[0].failure_rate = 0.2;
        },
        breaches: &[(
            "SPARES - - - summer -..-",
            "what summer is given suffices with a chance of 80 %, 90 % is asked for; body alone: 80 %",
        )],
    },
    Damage {
        what: "one clip in fifty is rejected; R2 has eleven good ones for spring, R3 keeps one spare",
        does: |instance, plan| {
            at_noon(instance, plan);
            instance.farm.spares = Some(platewright_model::instance::Spares { confidence: 0.95 });
            instance.parts[1].reject_rate = 0.02;
            if let Event::Harvested { good, .. } = &mut entry(instance, 2).event {
                *good = Some(Count(11));
            }
            // Of 17 clips at most one is rejected: 0.98^17 + 17 * 0.02 * 0.98^16 = 0.95539 suffices; of 16, none may be.
            plan.allocation
                .iter_mut()
                .filter(|row| row.part == "clip" && row.shipment == "spring")
                .for_each(|row| row.spare = Count(1));
        },
        breaches: &[(
            "SPARES - - - summer -..-",
            "what summer is given suffices with a chance of 72.379 %, 95 % is asked for; clip alone: 72.379 %",
        )],
    },
    Damage {
        what: "R2 failed, and the plan gives its clips away",
        does: |instance, plan| {
            at_noon(instance, plan);
            entry(instance, 2).event = Event::Failed { printer: PrinterId(0), run: "R2".to_owned() };
        },
        breaches: &[("ALLOCATION R2 S1 - - -..-", "R2 gives 10 of clip and yields 0")],
    },
    Damage {
        what: "the harvest of R1 was by somebody who was not there, which is past",
        does: |instance, plan| {
            at_noon(instance, plan);
            retask(plan, "harvest R1", "late-1", "2T08:00", "2T08:04");
        },
        breaches: &[],
    },
    Damage {
        what: "day-2 is absent when he is to harvest R3",
        does: |instance, plan| {
            at_noon(instance, plan);
            let event = Event::Absent { crew: CrewId(0), operator: 2, until: at("2T14:00") };
            also(instance, "2T12:00", event);
        },
        breaches: &[(
            "HANDLING R3 S1 day-2 - 2T13:40..2T13:48",
            "the harvest of R3 on S1: day-2 is not on shift from Mon 2026-03-02 13:40 to 13:48",
        )],
    },
    Damage {
        what: "S2 goes down, nobody knows until when, with R4 on it",
        does: |instance, plan| {
            at_noon(instance, plan);
            also(instance, "2T12:10", Event::Down { printer: PrinterId(1), until: None });
        },
        breaches: &[(
            "DOWNTIME R4 S2 - - 2T15:38..2T15:42",
            "S2 is down from Mon 2026-03-02 15:38 to 15:42, while R4 is harvested",
        )],
    },
    Damage {
        what: "S2 went down after the plan was made, which is for the next one",
        does: |instance, plan| {
            at_noon(instance, plan);
            also(instance, "2T12:11", Event::Down { printer: PrinterId(1), until: None });
        },
        breaches: &[],
    },
];

#[test]
fn the_past_is_held_to_the_log() {
    hold(TABLE, Figures::Restated);
}
