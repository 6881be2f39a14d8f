//! LOG: what a plan says of the time before its `since` is what the log says.

use crate::breach::Breach;
use crate::case::Case;
use crate::span::near;
use platewright_model::{Instant, Rule};
use std::collections::HashMap;

/// Every run that the log loaded or took off by then is in the plan, on that printer, with those times; and no run of
/// the plan was loaded or harvested by then of which the log knows nothing.
pub(super) fn log(case: &Case) -> Vec<Breach> {
    let Some(since) = case.past.since else { return Vec::new() };
    let mut breaches = Vec::new();
    let by_name: HashMap<&str, usize> =
        (0..).zip(&case.book.runs).map(|(at, run)| (run.row.run.as_str(), at)).collect();
    for (name, fate) in case.past.runs() {
        let said = format!("row {} of log.csv", fate.line);
        match by_name.get(name).and_then(|&at| case.book.runs.get(at)) {
            None => {
                let message = format!("{said} speaks of {name}, and the plan has no such run");
                breaches.push(Breach::of(Rule::Log, message).run(name));
            }
            Some(run) if run.printer != Some(fate.printer) => {
                let on = case.printer(fate.printer);
                let message = format!("{said} has {name} on {on}, the plan on {}", run.row.printer);
                breaches.push(Breach::of(Rule::Log, message).run(name).printer(&run.row.printer));
            }
            Some(_) => {}
        }
    }
    for run in &case.book.runs {
        let row = run.row;
        let fate = case.past.of_run(&row.run);
        // A task of no minutes at that very moment is still to come.
        let begun = |from: Instant| near(from) < since;
        let loaded = row.load.as_ref().map(|load| (near(load.print_from), begun(load.from)));
        let taken_off = Some((near(row.harvest_to), begun(row.harvest_from)));
        let moments = [
            ("loaded", loaded, fate.and_then(|fate| fate.loaded)),
            ("taken off", taken_off, fate.and_then(|fate| fate.ended.as_ref()).map(|end| end.at)),
        ];
        for (what, planned, logged) in moments {
            if let Some(message) = differs(case, since, &format!("{} is {what}", row.run), planned, logged) {
                breaches.push(Breach::of(Rule::Log, message).run(&row.run).printer(&row.printer));
            }
        }
    }
    breaches
}

fn differs(
    case: &Case,
    since: Instant,
    what: &str,
    planned: Option<(Instant, bool)>,
    logged: Option<Instant>,
) -> Option<String> {
    match (planned, logged) {
        (Some((planned, _)), Some(logged)) if planned != logged => {
            Some(format!("{what} {} by the plan, {} by the log", case.at(planned), case.at(logged)))
        }
        (Some((planned, true)), None) if planned <= since => {
            Some(format!("{what} {} by the plan, and the log does not say so", case.at(planned)))
        }
        _ => None,
    }
}
