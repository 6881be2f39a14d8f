//! The object of a call that came to nothing.

use platewright_checker::Breach;
use platewright_model::Faults;
use serde::Serialize;

/// What `--json` prints where the input or the call is unusable.
#[derive(Debug, Serialize)]
pub struct Unusable {
    outcome: &'static str,
    faults: Vec<FaultObject>,
}

#[derive(Debug, Serialize)]
struct FaultObject {
    code: String,
    file: Option<String>,
    row: Option<u64>,
    column: Option<String>,
    message: String,
    help: String,
}

/// The code of a fault that is not in the tables but in the call.
const CALL: &str = "CALL";

/// Faults of a folder.
pub fn of_tables(faults: &Faults) -> Unusable {
    let faults = faults.0.iter().map(|fault| FaultObject {
        code: fault.code.to_string(),
        file: Some(fault.file.clone()),
        row: fault.row,
        column: fault.column.clone(),
        message: fault.message.clone(),
        help: fault.help.clone(),
    });
    Unusable { outcome: "unusable", faults: faults.collect() }
}

/// A call that makes no sense, in the words of the command line.
pub fn of_call(words: &str) -> Unusable {
    let message = words.lines().next().unwrap_or_default().trim_start_matches("error: ");
    of_call_with_help(message, "see `platewright --help`")
}

/// A call that cannot be done.
pub fn of_call_with_help(message: &str, help: &str) -> Unusable {
    let fault = FaultObject {
        code: CALL.to_owned(),
        file: None,
        row: None,
        column: None,
        message: message.to_owned(),
        help: help.to_owned(),
    };
    Unusable { outcome: "unusable", faults: vec![fault] }
}

/// What `plan --json` prints where the planner's plan is refused by the checker.
#[derive(Debug, Serialize)]
pub struct NotBelieved {
    outcome: &'static str,
    reasons: Vec<String>,
}

/// A plan that the checker refuses.
pub fn not_believed(message: &str, breaches: &[Breach]) -> NotBelieved {
    let breaches = breaches.iter().map(ToString::to_string);
    NotBelieved { outcome: "unknown", reasons: std::iter::once(message.to_owned()).chain(breaches).collect() }
}

/// What `--json` prints where a command is made of plans that hold, and the plan breaks rules.
#[derive(Debug, Serialize)]
pub struct Broken {
    outcome: &'static str,
    reasons: Vec<String>,
}

/// A plan that breaks rules.
pub fn broken(message: &str, breaches: &[Breach]) -> Broken {
    let breaches = breaches.iter().map(ToString::to_string);
    Broken { outcome: "broken", reasons: std::iter::once(message.to_owned()).chain(breaches).collect() }
}
