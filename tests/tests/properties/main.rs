//! What holds of every plan, whatever the instance: tried on random ones, with the checker as the judge.

mod every_plan;
mod more_of_something;
mod promises;
mod quick;
mod repeated;
mod richer_scenarios;
mod risks;
mod same_room;
