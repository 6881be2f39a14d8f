//! Cases of machine scheduling whose optimum others have published or proven: a print room without nights, handling or
//! choices of plates is one, so the planner must not be worse there than the literature, nor its bounds better.

mod common_server;
mod graham;
mod machine_cases;
mod machines_per_operator;
mod mcnaughton;
mod solved;
mod trade_facts;
