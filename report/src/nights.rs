//! Nights used: the stretches with nobody on shift, and what the printers do in them.

use crate::page::{Grid, Lean, Page};
use crate::phases::phases;
use crate::span::Span;
use crate::wall::{Wall, clock_hours, percent};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use std::collections::BTreeSet;

/// One unattended stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Night {
    /// When, clipped to the plan.
    pub span: Span,
    /// How many printers print in some minute of it.
    pub printers: usize,
    /// Most printers printing in one minute of it.
    pub most_at_once: usize,
    /// The first minute at which so many print; the stretch's start where none does.
    pub most_from: Instant,
    /// Printing minutes in it, over all printers.
    pub printing: Minutes,
}

/// Every unattended stretch between the start and the end of the plan, in order.
pub fn nights(instance: &Instance, plan: &Plan) -> Vec<Night> {
    let span = Span::of_plan(instance, plan);
    let runs = phases(instance, plan);
    roster::unattended(instance)
        .into_iter()
        .map(|(from, to)| Span { from, to }.within(span))
        .filter(|night| !night.is_empty())
        .map(|night| {
            let printing: Vec<_> = runs
                .iter()
                .map(|run| (run.printer, run.printing.within(night)))
                .filter(|(_, printing)| !printing.is_empty())
                .collect();
            let (most_at_once, most_from) = most_at_once(printing.iter().map(|(_, s)| *s), night.from);
            Night {
                span: night,
                printers: printing.iter().map(|(printer, _)| *printer).collect::<BTreeSet<_>>().len(),
                most_at_once,
                most_from,
                printing: printing.iter().map(|(_, s)| s.length()).sum(),
            }
        })
        .collect()
}

fn most_at_once(printing: impl Iterator<Item = Span>, from: Instant) -> (usize, Instant) {
    let mut changes: Vec<(Instant, bool)> = printing.flat_map(|s| [(s.from, true), (s.to, false)]).collect();
    // At one instant those that end come first: intervals are half-open.
    changes.sort();
    let (mut now, mut most) = (0, (0, from));
    for (at, begins) in changes {
        if begins {
            now += 1;
            if now > most.0 {
                most = (now, at);
            }
        } else {
            now -= 1;
        }
    }
    most
}

const SHOWN: usize = 10;

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    let nights = nights(instance, plan);
    if nights.is_empty() {
        return;
    }
    let wall = Wall::of(instance);
    page.heading("Nights, and other stretches with nobody on shift");
    let used = nights.iter().filter(|n| n.most_at_once > 0).count();
    let mut words = format!("{} of {} had printing", used, nights.len());
    if let Some(most) = nights.iter().rev().max_by_key(|n| n.most_at_once).filter(|n| n.most_at_once > 0) {
        words.push_str(&format!("; most printers at once: {}, from {}", most.most_at_once, wall.say(most.most_from)));
    }
    match (instance.farm.unattended.allowed, instance.farm.unattended.max_printers) {
        (false, _) => words.push_str(" (unattended printing is not allowed)"),
        (true, Some(limit)) => words.push_str(&format!(" (the limit is {limit})")),
        (true, None) => {}
    }
    page.say(&format!("{words}. Used: printing hours over those of all printers."));
    let mut grid = Grid::new([
        ("from", Lean::Left),
        ("to", Lean::Left),
        ("for", Lean::Right),
        ("printers at once", Lean::Right),
        ("printing", Lean::Right),
        ("used", Lean::Right),
    ]);
    for night in nights.iter().take(SHOWN) {
        grid.row([
            wall.column(night.span.from),
            wall.column(night.span.to),
            clock_hours(night.span.length()),
            night.most_at_once.to_string(),
            clock_hours(night.printing),
            percent(night.printing, Minutes(night.span.length().0 * instance.printers.len() as i64)),
        ]);
    }
    page.table(&grid);
    if nights.len() > SHOWN {
        let rest = nights.iter().skip(SHOWN);
        let printing: Minutes = rest.clone().map(|n| n.printing).sum();
        page.say(&format!("and {} more, with {} hours of printing", rest.count(), clock_hours(printing)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, at};

    #[test]
    fn printing_past_the_end_of_the_shift_uses_the_night() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let nights = nights(&instance, &plan);
        let [monday, tuesday] = nights[..] else { panic!("two nights: {nights:?}") };
        assert_eq!(monday.span, Span { from: at(0, 17, 0), to: at(1, 7, 0) });
        assert_eq!((monday.printers, monday.most_at_once, monday.printing), (1, 1, Minutes(3)));
        assert_eq!((tuesday.printing, tuesday.most_from), (Minutes(7), at(1, 17, 0)));
    }

    #[test]
    fn a_run_that_ends_as_another_begins_does_not_print_beside_it() {
        let spans = |pairs: &[(i64, i64)]| {
            pairs.iter().map(|&(f, t)| Span { from: Instant(f), to: Instant(t) }).collect::<Vec<_>>().into_iter()
        };
        assert_eq!(most_at_once(spans(&[(0, 5), (5, 9), (6, 7)]), Instant(0)), (2, Instant(6)));
        assert_eq!(most_at_once(spans(&[]), Instant(4)), (0, Instant(4)));
    }
}
