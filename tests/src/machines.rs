//! Machine scheduling as a print room: one printer for each machine, one plate for each job, and one kit of everything.
//!
//! With handling of no minutes, a shift that never ends and an operator for each machine this is `P||Cmax`; with one
//! operator and the job's own load and harvest minutes it is the common server problem, a finished job waiting on its
//! machine.

use crate::tables::Tables;

/// A job, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    /// The operator's before it.
    pub load: i64,
    /// The machine's.
    pub print: i64,
    /// The operator's after it.
    pub harvest: i64,
}

impl Job {
    /// A job that nobody needs to attend.
    pub fn alone(print: i64) -> Job {
        Job { load: 0, print, harvest: 0 }
    }
}

/// The room of a case.
pub fn room(name: &str, machines: usize, operators: usize, jobs: &[Job]) -> Tables {
    let total: i64 = jobs.iter().map(|job| job.load + job.print + job.harvest).sum();
    let mut tables = Tables::new(name, "Etc/UTC", "2026-01-05T00:00", total / 1440 + 2);
    tables.section("handling", &[("load", &0), ("harvest", &0)]);
    for number in 1..=machines {
        tables.row("printers", &[("printer", &format!("M{number:02}")), ("group", &"machines")]);
    }
    for (number, job) in (1..).zip(jobs) {
        let part = format!("job{number:03}");
        tables.row("parts", &[("part", &part), ("material", &"any")]);
        tables.row(
            "plates",
            &[
                ("plate", &part),
                ("group", &"machines"),
                ("part", &part),
                ("copies", &1),
                ("minutes", &job.print),
                ("load_minutes", &job.load),
                ("harvest_minutes", &job.harvest),
            ],
        );
        tables.row("kits", &[("kit", &"all"), ("item", &part), ("quantity", &1)]);
    }
    tables.row(
        "shifts",
        &[("crew", &"always"), ("days", &"daily"), ("from", &"00:00"), ("to", &"24:00"), ("operators", &operators)],
    );
    tables.row("shipments", &[("shipment", &"all"), ("kit", &"all"), ("quantity", &1)]);
    tables
}
