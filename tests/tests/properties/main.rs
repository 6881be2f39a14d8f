//! What holds of every plan, whatever the instance: tried on random ones, with the checker as the judge.

mod contradictions;
mod every_plan;
mod mid_week;
mod more_of_something;
mod only_printer_time;
mod promises;
mod quick;
mod repeated;
mod richer_scenarios;
mod risks;
mod same_room;
