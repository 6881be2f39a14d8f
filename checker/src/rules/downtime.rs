//! DOWNTIME: no load, print, cooling or harvest touches a printer that is down; a ready plate may wait through it.

use crate::book::{Execution, Origin};
use crate::breach::Breach;
use crate::case::Case;
use crate::span::{Span, touched, union};
use platewright_model::Rule;

/// A run from `running.csv`, or one that the log has loaded, was on its printer before anybody planned, so only its
/// harvest is judged.
pub(super) fn downtime(case: &Case) -> Vec<Breach> {
    let mut down: Vec<Vec<Span>> = case.instance.printers.iter().map(|_| Vec::new()).collect();
    for row in &case.instance.downtime {
        down[row.printer.index()].push(Span::new(row.from, row.to));
    }
    for (printer, span) in &case.past.down {
        down[printer.index()].push(*span);
    }
    let down: Vec<Vec<Span>> = down.into_iter().map(union).collect();

    let mut breaches = Vec::new();
    for run in &case.book.runs {
        let Some(down) = run.printer.and_then(|printer| down.get(printer.index())) else { continue };
        for (what, span) in stages(run) {
            for touch in touched(down, span) {
                let row = run.row;
                let message = format!("{} is down {}, while {} {what}", row.printer, case.during(touch), row.run);
                breaches.push(Breach::of(Rule::Downtime, message).run(&row.run).printer(&row.printer).during(touch));
            }
        }
    }
    breaches
}

fn stages<'a>(run: &Execution) -> impl Iterator<Item = (&'a str, Span)> + use<'a> {
    let loaded = match run.origin {
        Origin::Loaded(load) if run.planned() => [
            Some(("is loaded", load)),
            run.print.map(|print| ("prints", print)),
            run.print.zip(run.true_ready).map(|(print, ready)| ("cools", Span::new(print.to, ready))),
        ],
        Origin::Loaded(_) | Origin::Running(_) | Origin::Unexplained => [None; 3],
    };
    loaded.into_iter().flatten().chain([("is harvested", run.harvest)])
}
