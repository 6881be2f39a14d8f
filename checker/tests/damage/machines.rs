//! PRINTER, READY, GROUP, MATERIAL, DOWNTIME and UNATTENDED.

use crate::bench::{CLIP, LARGE, PETG, at, on, part, plate, run};
use crate::{Damage, Figures, add, hold, retime, run_mut, spare, task_mut};
use platewright_model::instance::{Downtime, PlateId, PrinterId, Running};
use platewright_model::plan::Run;
use platewright_model::{Count, Instance, Minutes};

fn down(printer: u32, from: &str, to: &str) -> Downtime {
    Downtime { printer: PrinterId(printer), from: at(from), to: at(to), reason: None }
}

/// Puts a plate of petg feet on L1 at the start and lets the plan harvest it.
fn feet_on_l1(farm: &mut Instance) -> Run {
    farm.parts.push(part("foot", PETG, 0, None));
    let foot = platewright_model::instance::PartId(3);
    farm.plates.push(plate("feet", PETG, vec![on(LARGE, foot, 8, [60, 0, 3, 4])]));
    farm.running.push(Running { printer: PrinterId(2), plate: PlateId(3), ready: at("2T06:00") });
    let found = run("R0", "L1", "feet", ["2T06:00", "2T06:00", "2T06:00", "2T12:00", "2T12:04"], ["", "day-2"]);
    Run { load: None, ..found }
}

pub const TABLE: &[Damage] = &[
    Damage {
        what: "a plate is loaded while the one before is still on the printer",
        does: |_, plan| {
            let times = ["2T16:00", "2T16:03", "2T21:13", "2T21:13", "2T21:17"];
            add(plan, run("R6", "L1", "bodies", times, ["late-1", "late-1"]));
        },
        breaches: &[("PRINTER R5 L1 - - 2T21:00..2T21:17", "L1 has both R6 and R5 from Mon 2026-03-02 21:00 to 21:17")],
    },
    Damage {
        what: "a plate is loaded while the one from running.csv is still on the printer",
        does: |farm, plan| {
            farm.downtime.remove(1);
            let times = ["2T07:30", "2T07:33", "2T11:03", "2T11:03", "2T11:07"];
            add(plan, run("R6", "S2", "bodies", times, ["day-2", "day-1"]));
        },
        breaches: &[("PRINTER R6 S2 - - 2T07:30..2T08:04", "S2 has both R1 and R6 from Mon 2026-03-02 07:30 to 08:04")],
    },
    Damage {
        what: "nobody has such a printer",
        does: |_, plan| {
            let times = ["2T15:10", "2T15:13", "2T20:23", "2T20:23", "2T20:27"];
            add(plan, run("R6", "L9", "bodies", times, ["late-1", "late-1"]));
        },
        breaches: &[("PRINTER R6 L9 - - -..-", "R6 is on \"L9\", and there is no such printer")],
    },
    Damage {
        what: "the plan forgets a run from running.csv",
        does: |farm, _| {
            farm.running.push(Running { printer: PrinterId(2), plate: PlateId(0), ready: at("2T06:00") });
        },
        breaches: &[(
            "PRINTER - L1 - - 2T07:00..-",
            "L1 holds bodies at the start, and no run of the plan harvests it",
        )],
    },
    Damage {
        what: "the plan has another plate than running.csv",
        does: |_, plan| run_mut(plan, "R1").plate = "odd".to_owned(),
        breaches: &[("PRINTER R1 S2 - - 2T07:00..-", "S2 holds bodies at the start, the plan says \"odd\"")],
    },
    Damage {
        what: "ready leaves out the cooling",
        does: |_, plan| run_mut(plan, "R4").ready = at("2T15:28"),
        breaches: &[(
            "READY R4 S2 - - 2T15:28..-",
            "R4 on S2 is ready Mon 2026-03-02 15:38, the plan says Mon 2026-03-02 15:28",
        )],
    },
    Damage {
        what: "ready leaves out the cooling, and the plate is harvested then",
        does: |_, plan| retime(plan, "R4", ["2T12:05", "2T12:08", "2T15:28", "2T15:28", "2T15:32"]),
        breaches: &[
            (
                "READY R4 S2 - - 2T15:28..-",
                "R4 on S2 is ready Mon 2026-03-02 15:38, the plan says Mon 2026-03-02 15:28",
            ),
            (
                "READY R4 S2 late-1 - 2T15:28..-",
                "R4 on S2 is harvested Mon 2026-03-02 15:28, it is ready Mon 2026-03-02 15:38",
            ),
        ],
    },
    Damage {
        what: "a plate is harvested while it prints",
        does: |_, plan| retime(plan, "R2", ["2T07:00", "2T07:15", "2T08:45", "2T08:40", "2T08:48"]),
        breaches: &[(
            "READY R2 S1 day-1 - 2T08:40..-",
            "R2 on S1 is harvested Mon 2026-03-02 08:40, it is ready Mon 2026-03-02 08:45",
        )],
    },
    Damage {
        what: "a plate waits two minutes between load and print",
        does: |_, plan| {
            retime(plan, "R4", ["2T12:05", "2T12:10", "2T15:40", "2T15:40", "2T15:44"]);
            task_mut(plan, "load R4").to = at("2T12:08");
        },
        breaches: &[(
            "READY R4 S2 - - 2T12:10..-",
            "R4 on S2 starts to print Mon 2026-03-02 12:10, its load ends Mon 2026-03-02 12:08",
        )],
    },
    Damage {
        what: "a run from running.csv is ready sooner than that table says",
        does: |_, plan| run_mut(plan, "R1").ready = at("2T07:50"),
        breaches: &[(
            "READY R1 S2 - - 2T07:50..-",
            "R1 on S2 is ready Mon 2026-03-02 08:00, the plan says Mon 2026-03-02 07:50",
        )],
    },
    Damage {
        what: "a run from running.csv is harvested before it is ready",
        does: |_, plan| retime(plan, "R1", ["2T07:00", "2T07:00", "2T08:00", "2T07:55", "2T07:59"]),
        breaches: &[(
            "READY R1 S2 day-2 - 2T07:55..-",
            "R1 on S2 is harvested Mon 2026-03-02 07:55, it is ready Mon 2026-03-02 08:00",
        )],
    },
    Damage {
        what: "a plate takes the minutes of another group",
        does: |_, plan| retime(plan, "R5", ["2T21:00", "2T21:03", "3T00:33", "3T07:00", "3T07:04"]),
        breaches: &[(
            "READY R5 L1 - - 3T00:33..-",
            "R5 on L1 is ready Tue 2026-03-03 02:13, the plan says Tue 2026-03-03 00:33",
        )],
    },
    Damage {
        what: "a plate runs on a group that it does not list",
        does: |_, plan| {
            let times = ["3T08:00", "3T08:05", "3T09:35", "3T09:35", "3T09:43"];
            add(plan, run("R6", "L1", "clips", times, ["day-1", "day-2"]));
        },
        breaches: &[("GROUP R6 L1 - - -..-", "R6 prints clips on L1, which is in group large; the plate is for small")],
    },
    Damage {
        what: "nobody has such a plate",
        does: |_, plan| add(plan, Run { plate: "bodys".to_owned(), ..spare() }),
        breaches: &[("GROUP R6 L1 - - -..-", "R6 prints \"bodys\", and there is no such plate")],
    },
    Damage {
        what: "a changeover is left out",
        does: |_, plan| retime(plan, "R2", ["2T07:00", "2T07:05", "2T08:35", "2T08:45", "2T08:53"]),
        breaches: &[(
            "MATERIAL R2 S1 day-1 - 2T07:00..2T07:05",
            "R2 needs petg, S1 holds pla: its load leaves out the changeover of 10 min",
        )],
    },
    Damage {
        what: "a changeover after the run from running.csv is left out",
        does: |farm, plan| add(plan, feet_on_l1(farm)),
        breaches: &[(
            "MATERIAL R5 L1 late-1 - 2T21:00..2T21:03",
            "R5 needs pla, L1 holds petg: its load leaves out the changeover of 10 min",
        )],
    },
    Damage {
        what: "a plate holds two materials",
        does: |farm, _| farm.plates[0].on_groups[0].copies.push((CLIP, Count(1))),
        breaches: &[
            ("MATERIAL R1 S2 - - -..-", "R1 prints bodies, which is in pla, with clip in petg"),
            ("MATERIAL R4 S2 - - -..-", "R4 prints bodies, which is in pla, with clip in petg"),
        ],
    },
    Damage {
        what: "a plate prints through a downtime",
        does: |_, plan| {
            let times = ["2T08:10", "2T08:13", "2T11:43", "2T11:43", "2T11:47"];
            add(plan, run("R6", "S2", "bodies", times, ["day-2", "day-2"]));
        },
        breaches: &[(
            "DOWNTIME R6 S2 - - 2T09:00..2T11:00",
            "S2 is down from Mon 2026-03-02 09:00 to 11:00, while R6 prints",
        )],
    },
    Damage {
        what: "a plate is harvested in a downtime",
        does: |_, plan| retime(plan, "R3", ["2T12:00", "2T12:05", "2T13:35", "2T13:36", "2T13:44"]),
        breaches: &[(
            "DOWNTIME R3 S1 - - 2T13:36..2T13:40",
            "S1 is down from Mon 2026-03-02 13:36 to 13:40, while R3 is harvested",
        )],
    },
    Damage {
        what: "a plate is loaded and printed in two downtimes that overlap",
        does: |_, plan| {
            let times = ["2T09:20", "2T09:23", "2T14:33", "2T14:33", "2T14:37"];
            add(plan, run("R6", "L1", "bodies", times, ["day-2", "day-2"]));
        },
        breaches: &[
            (
                "DOWNTIME R6 L1 - - 2T09:20..2T09:23",
                "L1 is down from Mon 2026-03-02 09:20 to 09:23, while R6 is loaded",
            ),
            ("DOWNTIME R6 L1 - - 2T09:23..2T12:00", "L1 is down from Mon 2026-03-02 09:23 to 12:00, while R6 prints"),
        ],
    },
    Damage {
        what: "a plate cools in a downtime",
        does: |farm, _| farm.downtime.push(down(1, "2T15:30", "2T15:35")),
        breaches: &[(
            "DOWNTIME R4 S2 - - 2T15:30..2T15:35",
            "S2 is down from Mon 2026-03-02 15:30 to 15:35, while R4 cools",
        )],
    },
    Damage {
        what: "a run from running.csv is harvested in a downtime",
        does: |farm, _| farm.downtime.push(down(1, "2T08:02", "2T08:10")),
        breaches: &[(
            "DOWNTIME R1 S2 - - 2T08:02..2T08:04",
            "S2 is down from Mon 2026-03-02 08:02 to 08:04, while R1 is harvested",
        )],
    },
    Damage {
        what: "two printers print at night where one may",
        does: |_, plan| {
            let times = ["2T21:10", "2T21:13", "3T00:43", "3T07:04", "3T07:08"];
            add(plan, run("R6", "S2", "bodies", times, ["late-1", "day-1"]));
        },
        breaches: &[(
            "UNATTENDED - - - - 2T22:00..3T00:33",
            "printing at once, unattended from Mon 2026-03-02 22:00 to Tue 2026-03-03 00:33: 2; at most 1 may",
        )],
    },
    Damage {
        what: "no printer may print at night",
        does: |farm, _| farm.farm.unattended.max_printers = Some(Count(0)),
        breaches: &[(
            "UNATTENDED - - - - 2T22:00..3T02:03",
            "printing at once, unattended from Mon 2026-03-02 22:00 to Tue 2026-03-03 02:03: 1; at most 0 may",
        )],
    },
    Damage {
        what: "a plate prints a minute longer at night than it may",
        does: |farm, _| farm.farm.unattended.max_minutes = Some(Minutes(242)),
        breaches: &[(
            "UNATTENDED R5 L1 - - 2T22:00..3T02:03",
            "R5 on L1 prints unattended from Mon 2026-03-02 22:00 to Tue 2026-03-03 02:03, 4 h 03 min; 4 h 02 min are allowed",
        )],
    },
    Damage {
        what: "nothing may print unattended",
        does: |farm, _| farm.farm.unattended.allowed = false,
        breaches: &[(
            "UNATTENDED R5 L1 - - 2T22:00..3T02:03",
            "R5 on L1 prints unattended from Mon 2026-03-02 22:00 to Tue 2026-03-03 02:03, 4 h 03 min; nothing may",
        )],
    },
];

#[test]
fn damage_by_machines() {
    hold(TABLE, Figures::Restated);
}
