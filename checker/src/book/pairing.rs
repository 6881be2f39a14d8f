//! Which task is which run's load or harvest.
//!
//! Tasks and runs are written in two tables, and either may be damaged. A task belongs to the run it names; where a
//! name has several tasks or several runs, first to the one with the same printer and start, so that what is told as
//! too much is what does not fit.

use super::{Duty, Execution};
use crate::span::near;
use platewright_model::Instant;
use platewright_model::plan::Work;
use std::collections::{HashMap, VecDeque};

/// A run's name, its printer's, and the start of the load or harvest.
type Key<'a> = (&'a str, &'a str, Instant);

/// One kind of task that runs call for.
struct Kind<'a> {
    /// The run and printer that the task names, if it is of this kind.
    names: fn(&'a Work) -> Option<(&'a str, &'a str)>,
    /// When the run wants it, if it does.
    wanted: fn(&Execution<'a>) -> Option<Instant>,
    /// Where the run keeps it.
    place: for<'r> fn(&'r mut Execution<'a>) -> &'r mut Option<usize>,
}

/// Gives each run its tasks; returns the positions of the tasks that are left over, in order.
pub(super) fn pair<'a>(runs: &mut [Execution<'a>], duties: &[Duty<'a>]) -> Vec<usize> {
    let loads = Kind {
        names: |work| match work {
            Work::Load { run, printer } => Some((run, printer)),
            _ => None,
        },
        wanted: |run| run.row.load.as_ref().map(|load| near(load.from)),
        place: |run| &mut run.load_task,
    };
    let harvests = Kind {
        names: |work| match work {
            Work::Harvest { run, printer } => Some((run, printer)),
            _ => None,
        },
        wanted: |run| Some(run.harvest.from),
        place: |run| &mut run.harvest_task,
    };
    let mut strays = pair_kind(&loads, runs, duties);
    strays.extend(pair_kind(&harvests, runs, duties));
    strays.sort_unstable();
    strays
}

fn pair_kind<'a>(kind: &Kind<'a>, runs: &mut [Execution<'a>], duties: &[Duty<'a>]) -> Vec<usize> {
    let mut exact: HashMap<Key<'a>, VecDeque<usize>> = HashMap::new();
    for (position, run) in runs.iter().enumerate() {
        if let Some(start) = (kind.wanted)(run) {
            exact.entry((&run.row.run, &run.row.printer, start)).or_default().push_back(position);
        }
    }
    let mut left = Vec::new();
    for (task, duty) in duties.iter().enumerate() {
        let Some((run, printer)) = (kind.names)(&duty.row.work) else { continue };
        match exact.get_mut(&(run, printer, duty.span.from)).and_then(VecDeque::pop_front) {
            Some(position) => *(kind.place)(&mut runs[position]) = Some(task),
            None => left.push((task, run)),
        }
    }

    let mut by_name: HashMap<&str, VecDeque<usize>> = HashMap::new();
    for (position, run) in runs.iter_mut().enumerate() {
        if (kind.wanted)(run).is_some() && (kind.place)(run).is_none() {
            by_name.entry(&run.row.run).or_default().push_back(position);
        }
    }
    left.retain(|&(task, run)| match by_name.get_mut(run).and_then(VecDeque::pop_front) {
        Some(position) => {
            *(kind.place)(&mut runs[position]) = Some(task);
            false
        }
        None => true,
    });
    left.into_iter().map(|(task, _)| task).collect()
}
