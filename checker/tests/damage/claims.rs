//! READINESS and CLAIM: what the plan says of itself.

use crate::bench::at;
use crate::{Damage, Figures, hold};
use platewright_model::instance::Stock;
use platewright_model::plan::{Objective, Outcome};
use platewright_model::{Count, Minutes, WeightedMinutes};

pub const READINESS: &[Damage] = &[
    Damage {
        what: "a shipment is promised before its last box",
        does: |_, plan| plan.shipments[0].ready = at("2T08:59"),
        breaches: &[(
            "READINESS - - - spring 2T08:59..-",
            "spring is ready Mon 2026-03-02 09:05, the plan says Mon 2026-03-02 08:59",
        )],
    },
    Damage {
        what: "a shipment is promised later than it is ready",
        does: |_, plan| plan.shipments[1].ready = at("3T08:00"),
        breaches: &[(
            "READINESS - - - summer 3T08:00..-",
            "summer is ready Tue 2026-03-03 07:40, the plan says Tue 2026-03-03 08:00",
        )],
    },
    Damage {
        what: "a shipment is not promised",
        does: |_, plan| {
            plan.shipments.remove(1);
        },
        breaches: &[("READINESS - - - summer -..-", "the plan does not say when summer is ready")],
    },
    Damage {
        what: "a shipment is promised twice",
        does: |_, plan| plan.shipments.push(plan.shipments[0].clone()),
        breaches: &[("READINESS - - - spring -..-", "spring is in the plan twice")],
    },
    Damage {
        what: "what is promised is no shipment",
        does: |_, plan| plan.shipments[0].shipment = "Spring".to_owned(),
        breaches: &[
            ("READINESS - - - Spring -..-", "there is no shipment \"Spring\""),
            ("READINESS - - - spring -..-", "the plan does not say when spring is ready"),
        ],
    },
];

pub const TABLE: &[Damage] = &[
    Damage {
        what: "the tables have changed since",
        does: |farm, plan| {
            farm.stock.push(Stock { part: platewright_model::instance::PartId(0), quantity: Count(1) });
            plan.claims.surplus_parts = Count(20);
        },
        breaches: &[("CLAIM - - - - -..-", "the plan was made for other tables than these: its digest differs")],
    },
    Damage {
        what: "the due date is another",
        does: |_, plan| plan.shipments[0].due = Some(at("2T10:00")),
        breaches: &[(
            "CLAIM - - - spring -..-",
            "spring is due Mon 2026-03-02 09:00, the plan says Mon 2026-03-02 10:00",
        )],
    },
    Damage {
        what: "the due date is left out",
        does: |_, plan| plan.shipments[1].due = None,
        breaches: &[("CLAIM - - - summer -..-", "summer is due Tue 2026-03-03 12:00, the plan says no date")],
    },
    Damage {
        what: "a shipment is said to be in time",
        does: |_, plan| plan.shipments[0].late = Minutes::ZERO,
        breaches: &[("CLAIM - - - spring -..-", "spring is 5 min late, the plan says 0 min")],
    },
    Damage {
        what: "the makespan is rounded, the value with it",
        does: |_, plan| {
            plan.claims.makespan = Minutes(1440);
            plan.claims.value = Minutes(1440);
        },
        breaches: &[
            ("CLAIM - - - - -..-", "the makespan comes to 1480 minutes, the plan says 1440"),
            ("CLAIM - - - - -..-", "what soonest minimises comes to 1480 minutes, the plan says 1440"),
        ],
    },
    Damage {
        what: "the lateness is not weighted",
        does: |_, plan| plan.claims.late = WeightedMinutes(5_000),
        breaches: &[("CLAIM - - - - -..-", "the weighted lateness comes to 10 minutes, the plan says 5")],
    },
    Damage {
        what: "cooling counts as printing",
        does: |_, plan| plan.claims.idle = Minutes(1219 - 30),
        breaches: &[("CLAIM - - - - -..-", "the printers' idle time comes to 1219 minutes, the plan says 1189")],
    },
    Damage {
        what: "surplus leaves out the stock",
        does: |_, plan| plan.claims.surplus_parts = Count(5),
        breaches: &[("CLAIM - - - - -..-", "the parts left over are 19, the plan says 5")],
    },
    Damage {
        what: "the run from running.csv is not counted",
        does: |_, plan| plan.claims.runs = Count(4),
        breaches: &[("CLAIM - - - - -..-", "the runs are 5, the plan says 4")],
    },
    Damage {
        what: "packing is no operator's work",
        does: |_, plan| plan.claims.operator_minutes = Minutes(54),
        breaches: &[("CLAIM - - - - -..-", "the operators' work comes to 84 minutes, the plan says 54")],
    },
    Damage {
        what: "the value is not the objective's",
        does: |_, plan| plan.objective = Objective::LeastIdle,
        breaches: &[("CLAIM - - - - -..-", "what least-idle minimises comes to 1219 minutes, the plan says 1480")],
    },
    Damage {
        what: "the bound is above the value",
        does: |_, plan| plan.claims.bound = Minutes(1481),
        breaches: &[("CLAIM - - - - -..-", "no lower bound can be 1481 minutes where the plan itself comes to 1480")],
    },
    Damage {
        what: "the bound is below nothing",
        does: |_, plan| plan.claims.bound = Minutes(-1),
        breaches: &[("CLAIM - - - - -..-", "no lower bound can be -1 minutes where the plan itself comes to 1480")],
    },
    Damage {
        what: "the bound on lateness is above the lateness",
        does: |_, plan| plan.claims.late_bound = WeightedMinutes(10_001),
        breaches: &[(
            "CLAIM - - - - -..-",
            "no lower bound on the weighted lateness can be 10.001 minutes where the plan's own comes to 10",
        )],
    },
    Damage {
        what: "the bound on lateness is below nothing",
        does: |_, plan| plan.claims.late_bound = WeightedMinutes(-1),
        breaches: &[(
            "CLAIM - - - - -..-",
            "no lower bound on the weighted lateness can be -0.001 minutes where the plan's own comes to 10",
        )],
    },
    Damage {
        what: "a plan with a gap is called optimal",
        does: |_, plan| {
            plan.claims.outcome = Outcome::Optimal;
            plan.claims.late_bound = plan.claims.late;
        },
        breaches: &[("CLAIM - - - - -..-", "the plan is called optimal, and its bounds do not meet its figures")],
    },
    Damage {
        what: "a plan that may be late for nothing is called optimal",
        does: |_, plan| {
            plan.claims.outcome = Outcome::Optimal;
            plan.claims.bound = plan.claims.value;
        },
        breaches: &[("CLAIM - - - - -..-", "the plan is called optimal, and its bounds do not meet its figures")],
    },
];

#[test]
fn damage_to_promises() {
    hold(READINESS, Figures::AsTheyWere);
}

#[test]
fn damage_to_claims() {
    hold(TABLE, Figures::AsTheyWere);
}
