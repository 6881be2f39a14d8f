//! Changes that look like damage and are none: the rules must not forbid more than they say.

use crate::bench::{BODY, at, gives, on, run};
use crate::{Damage, Figures, add, hold, retask, retime, run_mut, spare, task};
use platewright_model::instance::{CrewId, Days, Downtime, PlateId, PrinterId, Running, ShiftRow};
use platewright_model::plan::Outcome;
use platewright_model::{Count, Minutes};

const TABLE: &[Damage] = &[
    Damage { what: "a run that nobody needs", does: |_, plan| add(plan, spare()), breaches: &[] },
    Damage {
        what: "tasks, runs and rows of the allocation in another order",
        does: |_, plan| {
            plan.tasks.reverse();
            plan.runs.reverse();
            plan.allocation.reverse();
        },
        breaches: &[],
    },
    Damage {
        what: "a run from running.csv that prints through a downtime",
        does: |farm, _| {
            let (from, to) = (at("2T07:10"), at("2T07:40"));
            farm.downtime.push(Downtime { printer: PrinterId(1), from, to, reason: None });
        },
        breaches: &[],
    },
    Damage {
        what: "a run from running.csv whose plate does not divide the bag",
        does: |farm, plan| {
            farm.running[0].plate = PlateId(2);
            run_mut(plan, "R1").plate = "odd".to_owned();
        },
        breaches: &[],
    },
    Damage {
        what: "a run from running.csv that was ready before the start",
        does: |farm, plan| {
            farm.running[0].ready = at("1T20:00");
            run_mut(plan, "R1").ready = at("1T20:00");
        },
        breaches: &[],
    },
    Damage {
        what: "a plate that prints as long at night as it may",
        does: |farm, _| farm.farm.unattended.max_minutes = Some(Minutes(243)),
        breaches: &[],
    },
    Damage {
        what: "two plates that print at night one after the other, in the same minute",
        does: |farm, plan| {
            farm.plates[0].on_groups[0].minutes = Minutes(47);
            farm.running[0].ready = at("2T08:00");
            let times = ["2T21:10", "2T21:13", "2T22:10", "3T07:04", "3T07:08"];
            add(plan, run("R6", "S2", "bodies", times, ["late-1", "day-1"]));
            retime(plan, "R4", ["2T12:05", "2T12:08", "2T13:05", "2T15:38", "2T15:42"]);
        },
        breaches: &[],
    },
    Damage {
        what: "a part taken in two rows from one run",
        does: |_, plan| {
            plan.allocation[0].count = Count(2);
            plan.allocation.push(gives("R1", "body", "spring", 3));
        },
        breaches: &[],
    },
    Damage {
        what: "a harvest of no minutes in the minute the shift ends",
        does: |farm, plan| {
            farm.plates[0].on_groups.swap(0, 1);
            farm.plates[0].on_groups[1].harvest = Minutes::ZERO;
            retime(plan, "R1", ["2T07:00", "2T07:00", "2T08:00", "2T08:04", "2T08:04"]);
            retime(plan, "R4", ["2T12:05", "2T12:08", "2T15:38", "2T22:00", "2T22:00"]);
            retask(plan, "pack summer hub", "day-2", "3T07:34", "3T07:40");
        },
        breaches: &[],
    },
    Damage {
        what: "two tasks of no minutes in one minute",
        does: |farm, plan| {
            farm.plates[0].on_groups[0].load = Minutes::ZERO;
            retime(plan, "R4", ["2T12:05", "2T12:05", "2T15:35", "2T15:38", "2T15:42"]);
            add(
                plan,
                run(
                    "R6",
                    "S2",
                    "bodies",
                    ["2T15:42", "2T15:42", "2T19:12", "2T19:12", "2T19:16"],
                    ["late-1", "late-1"],
                ),
            );
        },
        breaches: &[],
    },
    Damage {
        what: "a task that straddles midnight where the crew's shift goes on",
        does: |farm, plan| {
            let daily = |from, to| ShiftRow {
                crew: CrewId(1),
                days: Days::Weekly(crate::bench::WORKDAYS.to_vec()),
                from: chrono::NaiveTime::from_hms_opt(from, 0, 0).expect("an hour"),
                to: chrono::NaiveTime::from_hms_opt(to, 0, 0).expect("an hour"),
                operators: Count(1),
            };
            farm.shifts[1] = daily(15, 0);
            farm.shifts.push(daily(0, 7));
            retime(plan, "R5", ["2T23:58", "3T00:01", "3T05:11", "3T07:00", "3T07:04"]);
        },
        breaches: &[],
    },
    Damage {
        what: "boxes of a row in any order of the plan's rows",
        does: |_, plan| {
            let place = task(plan, "pack spring station");
            let first = plan.tasks.remove(place);
            plan.tasks.push(first);
        },
        breaches: &[],
    },
    Damage {
        what: "a plan whose bounds meet its figures is optimal",
        does: |_, plan| {
            plan.claims.outcome = Outcome::Optimal;
            plan.claims.bound = plan.claims.value;
            plan.claims.late_bound = plan.claims.late;
        },
        breaches: &[],
    },
    Damage {
        what: "a plate with a group more than is used",
        does: |farm, _| farm.plates[1].on_groups.insert(0, on(crate::bench::LARGE, BODY, 1, [1, 0, 1, 1])),
        breaches: &[],
    },
    Damage {
        what: "a run from running.csv alone at night where none may print",
        does: |farm, plan| {
            farm.farm.unattended.max_printers = Some(Count(0));
            farm.running.push(Running { printer: PrinterId(2), plate: PlateId(0), ready: at("3T06:00") });
            plan.runs.retain(|run| run.run != "R5");
            plan.tasks
                .retain(|task| !matches!(&task.work, platewright_model::plan::Work::Load { run, .. } if run == "R5"));
            let mut found =
                run("R5", "L1", "bodies", ["3T06:00", "3T06:00", "3T06:00", "3T07:00", "3T07:04"], ["", "day-1"]);
            found.load = None;
            plan.runs.push(found);
            farm.shipments[1].release = None;
        },
        breaches: &[],
    },
];

#[test]
fn what_is_allowed() {
    hold(TABLE, Figures::Restated);
}
