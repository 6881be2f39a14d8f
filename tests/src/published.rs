//! Cases that others published, read from a folder beside the project where it is present. They are not part of it; their
//! sources are named in that folder and beside each check.

use crate::machines::Job;
use std::path::PathBuf;

/// A case of alike machines and its optimum.
#[derive(Debug, Clone)]
pub struct Case {
    /// As its collection calls it.
    pub name: String,
    /// How many machines.
    pub machines: usize,
    /// The jobs.
    pub jobs: Vec<Job>,
    /// The least makespan,
    pub optimum: i64,
    /// unless it is only the best known.
    pub proven: bool,
}

/// A file of the folder; says so and gives none where it is not there.
fn file(name: &str) -> Option<PathBuf> {
    let beside = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../shared/published"));
    let folder = std::env::var_os("PLATEWRIGHT_PUBLISHED").map_or(beside, PathBuf::from);
    let path = folder.join(name);
    if path.is_file() {
        return Some(path);
    }
    println!("skipped: data not present ({name}; set PLATEWRIGHT_PUBLISHED to the folder of published cases)");
    None
}

/// Rows of `P||Cmax` (`pcmax/NAME`); none where the data is not present.
pub fn machine_cases(name: &str) -> Option<Vec<Case>> {
    let rows = rows(file(&format!("pcmax/{name}"))?);
    let cases = rows.iter().map(|cell| Case {
        name: cell("instance"),
        machines: number(&cell("machines")) as usize,
        jobs: numbers(&cell("processing_times")).into_iter().map(Job::alone).collect(),
        optimum: number(&cell("optimum")),
        proven: true,
    });
    Some(cases.collect())
}

/// Rows of the common server, with the optimum where a finished job may wait on its machine.
pub fn common_server_cases() -> Option<Vec<Case>> {
    let rows = rows(file("common_server_n8.csv")?);
    let cases = rows.iter().map(|cell| {
        let (load, harvest) = (numbers(&cell("load_minutes")), numbers(&cell("harvest_minutes")));
        let print = numbers(&cell("print_minutes"));
        Case {
            name: cell("instance"),
            machines: number(&cell("machines")) as usize,
            jobs: (0..print.len()).map(|j| Job { load: load[j], print: print[j], harvest: harvest[j] }).collect(),
            optimum: number(&cell("optimum_blocking_allowed")),
            proven: cell("status") == "OPTIMAL",
        }
    });
    Some(cases.collect())
}

/// The rows of a file, each a lookup by column.
fn rows(path: PathBuf) -> Vec<impl Fn(&str) -> String> {
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let header = reader.headers().expect("a header row").clone();
    let records: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let lookup = records.into_iter().map(|record| {
        let header = header.clone();
        move |column: &str| {
            let place = header.iter().position(|name| name == column).unwrap_or_else(|| panic!("no column {column}"));
            record[place].to_owned()
        }
    });
    lookup.collect()
}

fn number(text: &str) -> i64 {
    text.parse().unwrap_or_else(|_| panic!("{text} is no whole number"))
}

fn numbers(text: &str) -> Vec<i64> {
    text.split_whitespace().map(number).collect()
}
