//! From loads to a plan: each printer makes the runs of its load one after another, those for the first shipments first.

use super::jobs::Load;
use super::rooms::{Room, Run};
use crate::finish::finish;
use crate::floor::Floor;
use crate::history::Leg;
use crate::problem::Problem;
use crate::schedule::{Merit, Schedule};

/// The plan of loads by group; none where it cannot be carried out.
pub(super) fn plan(problem: &Problem<'_>, room: &Room, loads: &[Vec<Load>]) -> Option<(Merit, Schedule)> {
    let mut floor = Floor::new(problem, &vec![problem.horizon; problem.orders.len()]);
    for (group, loads) in room.groups.iter().zip(loads) {
        let mut waiting: Vec<Vec<Run>> = vec![Vec::new(); group.jobs.minutes.len()];
        for run in &group.runs {
            let kind = group.jobs.minutes.iter().position(|&m| m == i64::from(run.minutes))?;
            waiting[kind].push(*run);
        }
        waiting.iter_mut().for_each(|runs| runs.sort_by_key(|r| std::cmp::Reverse((r.turn, r.mode))));
        for (&(class, slot), load) in group.printers.iter().zip(loads) {
            let mut runs: Vec<Run> = Vec::new();
            for &(kind, n) in load {
                for _ in 0..n {
                    runs.push(waiting[kind].pop()?);
                }
            }
            runs.sort_by_key(|r| (r.turn, r.mode));
            let machine = floor.machines.iter().position(|m| (m.class, m.slot) == (class, slot))?;
            let mut from = 0;
            for (at, run) in runs.iter().enumerate() {
                let mode = &problem.modes[run.mode];
                let print_from = from + mode.load;
                let ready = print_from + mode.to_ready();
                let leg = Leg {
                    mode: run.mode,
                    load_from: Some(from),
                    print_from,
                    ready,
                    harvest_from: ready,
                    harvest_to: ready + mode.harvest,
                };
                if leg.harvest_to > problem.horizon || !floor.book(machine, at, leg) {
                    return None;
                }
                from = leg.harvest_to;
            }
        }
    }
    finish(&floor, false)
}
