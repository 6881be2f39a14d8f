//! HANDLING and OPERATOR.

use crate::bench::{at, run};
use crate::{Damage, Figures, add, hold, retask, retime, run_mut, spare, task, task_mut};
use platewright_model::plan::Work;
use platewright_model::{Count, Minutes};

pub const TABLE: &[Damage] = &[
    Damage {
        what: "a load has no task",
        does: |_, plan| {
            let place = task(plan, "load R2");
            plan.tasks.remove(place);
        },
        breaches: &[(
            "HANDLING R2 S1 day-1 - 2T07:00..2T07:15",
            "R2 on S1 has no load task for day-1 from Mon 2026-03-02 07:00 to 07:15",
        )],
    },
    Damage {
        what: "a harvest has no task",
        does: |_, plan| {
            let place = task(plan, "harvest R4");
            plan.tasks.remove(place);
        },
        breaches: &[(
            "HANDLING R4 S2 late-1 - 2T15:38..2T15:42",
            "R4 on S2 has no harvest task for late-1 from Mon 2026-03-02 15:38 to 15:42",
        )],
    },
    Damage {
        what: "the load task is another operator's than the run's",
        does: |_, plan| task_mut(plan, "load R2").operator = "day-2".to_owned(),
        breaches: &[(
            "HANDLING R2 S1 day-1 - 2T07:00..2T07:15",
            "the load task of R2 on S1 differs from the run: it is day-2's, not day-1's",
        )],
    },
    Damage {
        what: "the harvest task names another printer than the run",
        does: |_, plan| {
            task_mut(plan, "harvest R2").work = Work::Harvest { run: "R2".to_owned(), printer: "S2".to_owned() };
        },
        breaches: &[(
            "HANDLING R2 S1 day-1 - 2T08:45..2T08:53",
            "the harvest task of R2 on S1 differs from the run: it is on S2, not on S1",
        )],
    },
    Damage {
        what: "the load task starts and ends a minute after the run's load",
        does: |_, plan| retask(plan, "load R2", "day-1", "2T07:01", "2T07:16"),
        breaches: &[
            (
                "HANDLING R2 S1 day-1 - 2T07:00..2T07:15",
                "the load task of R2 on S1 differs from the run: it starts Mon 2026-03-02 07:01, not Mon 2026-03-02 07:00",
            ),
            (
                "READY R2 S1 - - 2T07:15..-",
                "R2 on S1 starts to print Mon 2026-03-02 07:15, its load ends Mon 2026-03-02 07:16",
            ),
        ],
    },
    Damage {
        what: "the harvest task starts and ends a minute after the run's harvest",
        does: |_, plan| retask(plan, "harvest R4", "late-1", "2T15:39", "2T15:43"),
        breaches: &[(
            "HANDLING R4 S2 late-1 - 2T15:38..2T15:42",
            "the harvest task of R4 on S2 differs from the run: it starts Mon 2026-03-02 15:39, not Mon 2026-03-02 15:38; it ends Mon 2026-03-02 15:43, not Mon 2026-03-02 15:42",
        )],
    },
    Damage {
        what: "a load is a minute short",
        does: |_, plan| retime(plan, "R2", ["2T07:00", "2T07:14", "2T08:44", "2T08:45", "2T08:53"]),
        breaches: &[("HANDLING R2 S1 day-1 - 2T07:00..2T07:14", "the load of R2 on S1 takes 14 min, 15 min are due")],
    },
    Damage {
        what: "a load pays a changeover that it does not owe",
        does: |_, plan| retime(plan, "R5", ["2T20:50", "2T21:03", "3T02:13", "3T07:00", "3T07:04"]),
        breaches: &[("HANDLING R5 L1 late-1 - 2T20:50..2T21:03", "the load of R5 on L1 takes 13 min, 3 min are due")],
    },
    Damage {
        what: "a load takes the farm's minutes and not the plate's",
        does: |_, plan| retime(plan, "R3", ["2T12:00", "2T12:03", "2T13:33", "2T13:40", "2T13:48"]),
        breaches: &[("HANDLING R3 S1 day-1 - 2T12:00..2T12:03", "the load of R3 on S1 takes 3 min, 5 min are due")],
    },
    Damage {
        what: "a load leaves out the changeover and a minute more",
        does: |_, plan| retime(plan, "R2", ["2T07:00", "2T07:04", "2T08:34", "2T08:45", "2T08:53"]),
        breaches: &[("HANDLING R2 S1 day-1 - 2T07:00..2T07:04", "the load of R2 on S1 takes 4 min, 15 min are due")],
    },
    Damage {
        what: "a harvest is three minutes short",
        does: |_, plan| retime(plan, "R4", ["2T12:05", "2T12:08", "2T15:38", "2T15:38", "2T15:39"]),
        breaches: &[("HANDLING R4 S2 late-1 - 2T15:38..2T15:39", "the harvest of R4 on S2 takes 1 min, 4 min are due")],
    },
    Damage {
        what: "a harvest runs backwards",
        does: |_, plan| retime(plan, "R4", ["2T12:05", "2T12:08", "2T15:38", "2T15:42", "2T15:38"]),
        breaches: &[(
            "HANDLING R4 S2 late-1 - 2T15:42..2T15:42",
            "the harvest of R4 on S2 takes -4 min, 4 min are due",
        )],
    },
    Damage {
        what: "a run is harvested twice",
        does: |_, plan| {
            let mut again = plan.tasks[task(plan, "harvest R2")].clone();
            (again.from, again.to, again.operator) = (at("2T09:10"), at("2T09:18"), "day-2".to_owned());
            plan.tasks.insert(0, again);
        },
        breaches: &[(
            "HANDLING R2 S1 day-2 - 2T09:10..2T09:18",
            "the harvest of R2 on S1 from Mon 2026-03-02 09:10 to 09:18 is a task that no run calls for",
        )],
    },
    Damage {
        what: "a run that was on its printer at the start is loaded all the same",
        does: |_, plan| {
            let mut load = plan.tasks[task(plan, "load R2")].clone();
            load.work = Work::Load { run: "R1".to_owned(), printer: "S2".to_owned() };
            load.operator = "day-2".to_owned();
            plan.tasks.push(load);
        },
        breaches: &[(
            "HANDLING R1 S2 day-2 - 2T07:00..2T07:15",
            "the load of R1 on S2 from Mon 2026-03-02 07:00 to 07:15 is a task that no run calls for",
        )],
    },
    Damage {
        what: "a task is for a run that the plan does not have",
        does: |_, plan| {
            add(plan, spare());
            plan.runs.pop();
            let place = task(plan, "harvest R6");
            plan.tasks.remove(place);
        },
        breaches: &[(
            "HANDLING R6 L1 late-1 - 2T15:10..2T15:13",
            "the load of R6 on L1 from Mon 2026-03-02 15:10 to 15:13 is a task that no run calls for",
        )],
    },
    Damage {
        what: "a run has no load and running.csv does not have it",
        does: |_, plan| {
            run_mut(plan, "R4").load = None;
            let place = task(plan, "load R4");
            plan.tasks.remove(place);
        },
        breaches: &[("HANDLING R4 S2 - - 2T15:38..2T15:42", "R4 has no load, and running.csv has no such run on S2")],
    },
    Damage {
        what: "the run from running.csv is there twice",
        does: |_, plan| {
            let mut again =
                run("R6", "S2", "bodies", ["2T08:00", "2T08:00", "2T08:00", "2T08:10", "2T08:14"], ["", "day-2"]);
            again.load = None;
            add(plan, again);
        },
        breaches: &[("HANDLING R6 S2 - - 2T08:10..2T08:14", "R6 has no load, and running.csv has no such run on S2")],
    },
    Damage {
        what: "a plate is loaded after the shift's end",
        does: |_, plan| retime(plan, "R5", ["2T22:10", "2T22:13", "3T03:23", "3T07:00", "3T07:04"]),
        breaches: &[(
            "HANDLING R5 L1 late-1 - 2T22:10..2T22:13",
            "the load of R5 on L1: late-1 is not on shift from Mon 2026-03-02 22:10 to 22:13",
        )],
    },
    Damage {
        what: "a plate is loaded before the farm starts",
        does: |_, plan| retime(plan, "R2", ["2T06:50", "2T07:05", "2T08:35", "2T08:45", "2T08:53"]),
        breaches: &[(
            "HANDLING R2 S1 day-1 - 2T06:50..2T07:05",
            "the load of R2 on S1: it starts Mon 2026-03-02 06:50, the farm starts Mon 2026-03-02 07:00",
        )],
    },
    Damage {
        what: "a harvest straddles the end of its operator's shift, while another crew's begins",
        does: |_, plan| retime(plan, "R3", ["2T12:00", "2T12:05", "2T13:35", "2T14:58", "2T15:06"]),
        breaches: &[(
            "HANDLING R3 S1 day-2 - 2T14:58..2T15:06",
            "the harvest of R3 on S1: it ends Mon 2026-03-02 15:06, the shift of day-2 ends Mon 2026-03-02 15:00",
        )],
    },
    Damage {
        what: "the horizon ends with the first day",
        does: |farm, _| farm.farm.horizon_days = 1,
        breaches: &[
            (
                "HANDLING R5 L1 day-1 - 3T07:00..3T07:04",
                "the harvest of R5 on L1: it ends Tue 2026-03-03 07:04, the plan may reach to Tue 2026-03-03 07:00",
            ),
            (
                "PACK - - day-1 summer 3T07:34..3T07:40",
                "a box of station for summer: it ends Tue 2026-03-03 07:40, the plan may reach to Tue 2026-03-03 07:00",
            ),
        ],
    },
    Damage {
        what: "the second day is closed",
        does: |farm, plan| {
            let date = chrono::NaiveDate::from_ymd_opt(2026, 3, 3).expect("a date");
            farm.closures.push(platewright_model::instance::Closure { date, note: None });
            add(plan, spare());
        },
        breaches: &[
            (
                "HANDLING R5 L1 day-1 - 3T07:00..3T07:04",
                "the harvest of R5 on L1: day-1 is not on shift from Tue 2026-03-03 07:00 to 07:04",
            ),
            (
                "PACK - - day-1 summer 3T07:34..3T07:40",
                "a box of station for summer: day-1 is not on shift from Tue 2026-03-03 07:34 to 07:40",
            ),
        ],
    },
    Damage {
        what: "an operator loads two printers at once",
        does: |_, plan| retime(plan, "R4", ["2T12:03", "2T12:06", "2T15:36", "2T15:38", "2T15:42"]),
        breaches: &[(
            "OPERATOR R4 S2 day-1 - 2T12:03..2T12:05",
            "day-1 is at two tasks from Mon 2026-03-02 12:03 to 12:05: the load of R3 on S1 and the load of R4 on S2",
        )],
    },
    Damage {
        what: "an operator packs two boxes at once",
        does: |_, plan| {
            let place = task(plan, "pack spring station");
            plan.tasks[place].from = at("2T08:56");
            plan.tasks[place].to = at("2T09:02");
        },
        breaches: &[(
            "OPERATOR - - day-1 spring 2T08:59..2T09:02",
            "day-1 is at two tasks from Mon 2026-03-02 08:59 to 09:02: a box of station for spring and a box of station for spring",
        )],
    },
    Damage {
        what: "a load of no minutes sits inside another task of its operator",
        does: |farm, plan| {
            farm.plates[0].on_groups[0].load = Minutes::ZERO;
            retime(plan, "R4", ["2T12:03", "2T12:03", "2T15:33", "2T15:38", "2T15:42"]);
        },
        breaches: &[(
            "OPERATOR R4 S2 day-1 - 2T12:03..2T12:03",
            "day-1 is at two tasks from Mon 2026-03-02 12:03 to 12:03: the load of R3 on S1 and the load of R4 on S2",
        )],
    },
    Damage {
        what: "the operator's number is one too high",
        does: |_, plan| {
            run_mut(plan, "R3").harvester = "day-3".to_owned();
            task_mut(plan, "harvest R3").operator = "day-3".to_owned();
        },
        breaches: &[(
            "OPERATOR R3 S1 day-3 - 2T13:40..2T13:48",
            "there is no operator \"day-3\": crew day goes from day-1 to day-2",
        )],
    },
    Damage {
        what: "nobody has such a crew",
        does: |_, plan| task_mut(plan, "pack summer hub").operator = "night-1".to_owned(),
        breaches: &[(
            "OPERATOR - - night-1 summer 2T20:00..2T20:06",
            "there is no operator \"night-1\": no crew has that name",
        )],
    },
    Damage {
        what: "the crew is one person short",
        does: |farm, _| farm.shifts[0].operators = Count(1),
        breaches: &[
            (
                "OPERATOR R1 S2 day-2 - 2T08:00..2T08:04",
                "there is no operator \"day-2\": crew day goes from day-1 to day-1",
            ),
            (
                "OPERATOR - - day-2 spring 2T08:53..2T08:59",
                "there is no operator \"day-2\": crew day goes from day-1 to day-1",
            ),
            (
                "OPERATOR R3 S1 day-2 - 2T13:40..2T13:48",
                "there is no operator \"day-2\": crew day goes from day-1 to day-1",
            ),
        ],
    },
];

#[test]
fn damage_by_people() {
    hold(TABLE, Figures::Restated);
}
