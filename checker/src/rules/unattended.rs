//! UNATTENDED: the limits on printing while nobody of any crew is on shift. Only printing minutes count, not cooling and
//! not waiting.
//!
//! What `running.csv` found on the printers cannot be planned away: it counts towards the printers that print at once,
//! but a breach needs a run of the plan's own.

use crate::breach::Breach;
use crate::case::Case;
use crate::span::{Span, touched};
use platewright_model::{Instant, Minutes, Rule};

/// None where it is forbidden, else not too many printers in any minute and not too long for any run.
pub(super) fn unattended(case: &Case) -> Vec<Breach> {
    let limits = case.instance.farm.unattended;
    let longest = if limits.allowed { limits.max_minutes } else { Some(Minutes::ZERO) };
    let mut breaches = longest.map_or_else(Vec::new, |longest| too_long(case, longest));
    if let (true, Some(most)) = (limits.allowed, limits.max_printers) {
        breaches.extend(too_many(case, most.0));
    }
    breaches
}

fn too_long(case: &Case, longest: Minutes) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for run in case.book.runs.iter().filter(|run| run.planned()) {
        let Some(print) = run.print else { continue };
        for alone in touched(case.roster.unattended(), print).filter(|alone| alone.minutes() > longest) {
            let row = run.row;
            let may =
                if longest == Minutes::ZERO { "nothing may".to_owned() } else { format!("{longest} are allowed") };
            let message = format!(
                "{} on {} prints unattended {}, {}; {may}",
                row.run,
                row.printer,
                case.during(alone),
                alone.minutes()
            );
            breaches.push(Breach::of(Rule::Unattended, message).run(&row.run).printer(&row.printer).during(alone));
        }
    }
    breaches
}

/// How many runs print, and how many of those are the plan's own, until the next change.
#[derive(Debug, Clone, Copy)]
struct Level {
    span: Span,
    printing: u64,
    planned: u64,
}

fn too_many(case: &Case, most: u64) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let levels = levels(case);
    let mut levels = levels.as_slice();
    for &alone in case.roster.unattended() {
        levels = &levels[levels.partition_point(|level| level.span.to <= alone.from)..];
        let mut excess: Option<(Span, u64)> = None;
        for level in levels.iter().take_while(|level| level.span.from < alone.to) {
            let Some(span) = level.span.overlap(alone) else { continue };
            let over = level.printing > most && level.planned > 0;
            excess = match excess {
                Some((so_far, peak)) if over => Some((Span { to: span.to, ..so_far }, peak.max(level.printing))),
                ended => {
                    breaches.extend(ended.map(|ended| crowd(case, ended, most)));
                    over.then_some((span, level.printing))
                }
            };
        }
        breaches.extend(excess.map(|excess| crowd(case, excess, most)));
    }
    breaches
}

fn crowd(case: &Case, (span, peak): (Span, u64), most: u64) -> Breach {
    let message = format!("printing at once, unattended {}: {peak}; at most {most} may", case.during(span));
    Breach::of(Rule::Unattended, message).during(span)
}

/// The stretches between starts and ends of printing, in order and without a gap.
fn levels(case: &Case) -> Vec<Level> {
    let mut changes: Vec<(Instant, bool, bool)> = Vec::new();
    for run in &case.book.runs {
        if let Some(print) = run.print.filter(|print| print.from < print.to) {
            changes.push((print.from, true, run.planned()));
            changes.push((print.to, false, run.planned()));
        }
    }
    // Ends before starts, so that a minute in which one ends and one starts counts once; no count falls below none,
    // for an end comes after its own start.
    changes.sort_unstable();
    let mut levels: Vec<Level> = Vec::new();
    let (mut printing, mut planned) = (0_u64, 0_u64);
    for (index, &(from, starts, own)) in changes.iter().enumerate() {
        if starts {
            printing += 1;
            planned += u64::from(own);
        } else {
            printing -= 1;
            planned -= u64::from(own);
        }
        let to = changes.get(index + 1).map_or(from, |next| next.0);
        if from < to {
            levels.push(Level { span: Span { from, to }, printing, planned });
        }
    }
    levels
}
