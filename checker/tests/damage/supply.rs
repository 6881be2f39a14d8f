//! RELEASE, ALLOCATION, BAG and PACK.

use crate::bench::{PLA, at, gives, pack, part, run};
use crate::{Damage, Figures, add, hold, retask, spare, task, task_mut, without_packing};
use platewright_model::instance::{PartId, Stock};
use platewright_model::plan::{Allocation, Run, Source};
use platewright_model::{Count, Minutes, Plan};

/// The row of the allocation with that source, part and shipment.
fn row<'p>(plan: &'p mut Plan, source: &str, part: &str, shipment: &str) -> &'p mut Allocation {
    let like = gives(source, part, shipment, 0);
    let is =
        |row: &&mut Allocation| (&row.source, &row.part, &row.shipment) == (&like.source, &like.part, &like.shipment);
    plan.allocation.iter_mut().find(is).expect("the plan has the row")
}

pub const TABLE: &[Damage] = &[
    Damage {
        what: "clips loaded in the morning go into the shipment released at noon",
        does: |_, plan| row(plan, "stock", "clip", "summer").source = Source::Run("R2".to_owned()),
        breaches: &[(
            "RELEASE R2 S1 - summer 2T07:00..-",
            "R2 is loaded Mon 2026-03-02 07:00, summer takes no clip from before its release Mon 2026-03-02 12:00",
        )],
    },
    Damage {
        what: "bodies that were on a printer at the start go into a shipment released then",
        does: |farm, _| farm.shipments[0].release = Some(at("2T07:00")),
        breaches: &[(
            "RELEASE R1 S2 - spring -..-",
            "R1 was loaded before the start, spring takes no body from before its release Mon 2026-03-02 07:00",
        )],
    },
    Damage {
        what: "a shipment gets a clip too few",
        does: |farm, plan| {
            without_packing(farm, plan);
            row(plan, "R3", "clip", "summer").count = Count(15);
        },
        breaches: &[("ALLOCATION - - - summer -..-", "summer needs 20 of clip and gets 19")],
    },
    Damage {
        what: "a shipment gets a clip too many",
        does: |_, plan| row(plan, "R3", "clip", "summer").count = Count(17),
        breaches: &[("ALLOCATION - - - summer -..-", "summer needs 20 of clip and gets 21")],
    },
    Damage {
        what: "a shipment gets no lids at all",
        does: |farm, plan| {
            without_packing(farm, plan);
            plan.allocation.retain(|row| row.part != "lid" || row.shipment != "spring");
        },
        breaches: &[("ALLOCATION - - - spring -..-", "spring needs 5 of lid and gets 0")],
    },
    Damage {
        what: "a run gives a body more than it yields",
        does: |_, plan| {
            row(plan, "R4", "body", "summer").count = Count(6);
            row(plan, "R5", "body", "summer").count = Count(4);
        },
        breaches: &[("ALLOCATION R4 S2 - - -..-", "R4 gives 6 of body and yields 5")],
    },
    Damage {
        what: "a run gives more than it yields over two rows and two shipments",
        does: |_, plan| {
            row(plan, "R3", "clip", "summer").count = Count(10);
            plan.allocation.push(gives("R3", "clip", "summer", 6));
            row(plan, "R2", "clip", "spring").count = Count(5);
            plan.allocation.push(gives("R3", "clip", "spring", 5));
        },
        breaches: &[
            ("ALLOCATION R3 S1 - - -..-", "R3 gives 21 of clip and yields 20"),
            (
                "PACK - - day-2 spring 2T08:53..2T08:59",
                "box 2 of station for spring is packed Mon 2026-03-02 08:53: 8 of clip are needed by then, 5 are usable",
            ),
            (
                "PACK - - day-1 spring 2T08:59..2T09:05",
                "box 3 of station for spring is packed Mon 2026-03-02 08:59: 10 of clip are needed by then, 5 are usable",
            ),
        ],
    },
    Damage {
        what: "a run gives lids and has none on its plate",
        does: |_, plan| {
            row(plan, "stock", "lid", "summer").count = Count(4);
            plan.allocation.push(gives("R5", "lid", "summer", 1));
        },
        breaches: &[("ALLOCATION R5 L1 - - -..-", "R5 gives 1 of lid and yields 0")],
    },
    Damage {
        what: "stock gives a clip more than it has",
        does: |_, plan| {
            row(plan, "R3", "clip", "summer").count = Count(15);
            row(plan, "stock", "clip", "summer").count = Count(5);
        },
        breaches: &[("ALLOCATION - - - - -..-", "stock gives 5 of clip and has 4")],
    },
    Damage {
        what: "parts come from a run that the plan does not have",
        does: |farm, plan| {
            without_packing(farm, plan);
            row(plan, "R3", "clip", "summer").source = Source::Run("R33".to_owned());
        },
        breaches: &[("ALLOCATION R33 - - summer -..-", "clip for summer comes from \"R33\", and there is no such run")],
    },
    Damage {
        what: "a row is for no part",
        does: |farm, plan| {
            without_packing(farm, plan);
            row(plan, "R5", "body", "summer").part = "bdy".to_owned();
        },
        breaches: &[
            ("ALLOCATION R5 - - summer -..-", "\"bdy\" for summer is no part"),
            ("ALLOCATION - - - summer -..-", "summer needs 10 of body and gets 5"),
        ],
    },
    Damage {
        what: "a row is for no shipment",
        does: |farm, plan| {
            without_packing(farm, plan);
            row(plan, "R5", "body", "summer").shipment = "Summer".to_owned();
        },
        breaches: &[
            ("ALLOCATION R5 - - Summer -..-", "body goes to \"Summer\", and there is no such shipment"),
            ("ALLOCATION - - - summer -..-", "summer needs 10 of body and gets 5"),
        ],
    },
    Damage {
        what: "a row gives nothing",
        does: |_, plan| plan.allocation.push(gives("R5", "body", "summer", 0)),
        breaches: &[("ALLOCATION R5 - - summer -..-", "a row gives summer none of body")],
    },
    Damage {
        what: "a shipment gets a part that is in none of its kits",
        does: |farm, plan| {
            farm.parts.push(part("foot", PLA, 0, None));
            farm.stock.push(Stock { part: PartId(3), quantity: Count(2) });
            plan.allocation.push(gives("stock", "foot", "spring", 1));
        },
        breaches: &[("ALLOCATION - - - spring -..-", "spring needs 0 of foot and gets 1")],
    },
    Damage {
        what: "a row gives more than can be counted",
        does: |_, plan| {
            plan.allocation.push(gives("R5", "body", "summer", u64::MAX));
            plan.allocation.push(gives("R5", "body", "summer", u64::MAX));
        },
        breaches: &[
            ("ALLOCATION R5 L1 - - -..-", "R5 gives 36893488147419103235 of body and yields 10"),
            ("ALLOCATION - - - summer -..-", "summer needs 10 of body and gets 36893488147419103240"),
        ],
    },
    Damage {
        what: "two runs have one name",
        does: |_, plan| add(plan, Run { run: "R5".to_owned(), ..spare() }),
        breaches: &[("ALLOCATION R5 L1 - - -..-", "two runs are called R5")],
    },
    Damage {
        what: "a run is called stock, another has no name",
        does: |_, plan| {
            add(plan, Run { run: "stock".to_owned(), ..spare() });
            let times = ["2T15:45", "2T15:48", "2T19:18", "2T19:18", "2T19:22"];
            add(plan, run("", "S2", "bodies", times, ["late-1", "late-1"]));
        },
        breaches: &[
            ("ALLOCATION stock L1 - - -..-", "a run on L1 is called stock, which stands for stock.csv"),
            ("ALLOCATION  S2 - - -..-", "a run on S2 has no name"),
        ],
    },
    Damage {
        what: "a plate that does not divide the bag is used",
        does: |_, plan| {
            let times = ["2T15:45", "2T15:48", "2T19:18", "2T19:18", "2T19:22"];
            add(plan, run("R6", "S2", "odd", times, ["late-1", "late-1"]));
        },
        breaches: &[("BAG R6 S2 - - -..-", "R6 prints odd, whose 6 of body do not divide the bag of 10")],
    },
    Damage {
        what: "a plate that holds more than a bag is used",
        does: |farm, _| farm.parts[0].per_bag = Some(Count(5)),
        breaches: &[("BAG R5 L1 - - -..-", "R5 prints bodies, whose 10 of body do not divide the bag of 5")],
    },
    Damage {
        what: "a box is missing",
        does: |_, plan| {
            let place = task(plan, "pack spring station");
            plan.tasks.remove(place);
        },
        breaches: &[("PACK - - - spring -..-", "spring has 2 boxes of station, 3 are due")],
    },
    Damage {
        what: "a box is packed that is not due",
        does: |_, plan| plan.tasks.push(pack("spring", "station", "day-2", "2T10:00", "2T10:06")),
        breaches: &[("PACK - - - spring -..-", "spring has 4 boxes of station, 3 are due")],
    },
    Damage {
        what: "a box takes a minute less",
        does: |_, plan| task_mut(plan, "pack summer hub").to = at("2T20:05"),
        breaches: &[("PACK - - late-1 summer 2T20:00..2T20:05", "a box of hub for summer takes 5 min, 6 min are due")],
    },
    Damage {
        what: "a box is packed after the shift's end",
        does: |_, plan| retask(plan, "pack summer hub", "late-1", "2T21:58", "2T22:04"),
        breaches: &[(
            "PACK - - late-1 summer 2T21:58..2T22:04",
            "a box of hub for summer: it ends Mon 2026-03-02 22:04, the shift of late-1 ends Mon 2026-03-02 22:00",
        )],
    },
    Damage {
        what: "a box is packed before its clips are harvested",
        does: |_, plan| retask(plan, "pack spring station", "day-2", "2T08:47", "2T08:53"),
        breaches: &[(
            "PACK - - day-2 spring 2T08:47..2T08:53",
            "box 1 of station for spring is packed Mon 2026-03-02 08:47: 4 of clip are needed by then, 0 are usable",
        )],
    },
    Damage {
        what: "a box is packed before its bodies are finished",
        does: |_, plan| retask(plan, "pack summer station", "day-2", "3T07:33", "3T07:39"),
        breaches: &[(
            "PACK - - day-2 summer 3T07:33..3T07:39",
            "box 1 of station for summer is packed Tue 2026-03-03 07:33: 10 of body are needed by then, 5 are usable",
        )],
    },
    Damage {
        what: "a box is packed from parts that are in a box of another row",
        does: |_, plan| retask(plan, "pack summer station", "late-1", "2T20:06", "2T20:12"),
        breaches: &[(
            "PACK - - late-1 summer 2T20:06..2T20:12",
            "box 1 of station for summer is packed Mon 2026-03-02 20:06: 10 of body are needed by then, 5 are usable",
        )],
    },
    Damage {
        what: "a box is for a kit that is not in the shipment",
        does: |_, plan| plan.tasks.push(pack("spring", "hub", "day-2", "2T10:00", "2T10:06")),
        breaches: &[(
            "PACK - - day-2 spring 2T10:00..2T10:06",
            "a box of hub for spring is packed from Mon 2026-03-02 10:00 to 10:06, and none is to be",
        )],
    },
    Damage {
        what: "a box is for no shipment",
        does: |_, plan| plan.tasks.push(pack("autumn", "hub", "day-2", "2T10:00", "2T10:06")),
        breaches: &[(
            "PACK - - day-2 autumn 2T10:00..2T10:06",
            "a box of hub for autumn is packed from Mon 2026-03-02 10:00 to 10:06, and none is to be",
        )],
    },
    Damage {
        what: "a row that is not packed in boxes has a box",
        does: |farm, _| farm.shipments[1].lines[0].per_box = None,
        breaches: &[(
            "PACK - - late-1 summer 2T20:00..2T20:06",
            "a box of hub for summer is packed from Mon 2026-03-02 20:00 to 20:06, and none is to be",
        )],
    },
    Damage {
        what: "packing takes nobody and is in the plan all the same",
        does: |farm, plan| {
            farm.farm.handling.pack_box = Minutes::ZERO;
            plan.tasks.retain(|task| task.from != at("2T08:53") && task.from != at("2T08:59"));
        },
        breaches: &[
            (
                "PACK - - late-1 summer 2T20:00..2T20:06",
                "a box of hub for summer is packed from Mon 2026-03-02 20:00 to 20:06, and none is to be",
            ),
            (
                "PACK - - day-1 summer 3T07:34..3T07:40",
                "a box of station for summer is packed from Tue 2026-03-03 07:34 to 07:40, and none is to be",
            ),
        ],
    },
];

#[test]
fn damage_by_supply() {
    hold(TABLE, Figures::Restated);
}
