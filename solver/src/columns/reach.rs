//! Forward longest paths: the best value of a history that ends by each minute, for all minutes in one pass.

use crate::history::Tariff;
use crate::problem::{Class, Min, Problem};
use crate::room::{Room, is_clear};

const NEVER: i64 = i64::MIN / 4;

/// A mode on its way forward.
struct Gear<'a> {
    mode: usize,
    kind: usize,
    load_open: &'a [u8],
    change_open: &'a [u8],
    harvest_open: &'a [u8],
    lanes: Vec<Option<usize>>,
}

/// By minute, the greatest value of a history of the class that is over by then, at least 0 (a printer may be left
/// alone: a relaxation for one that holds a plate at the start).
pub fn best_by_minute(room: &Room<'_>, class: &Class, down: &[Min], tariff: &Tariff, until: Min) -> Vec<i64> {
    let problem = room.problem;
    let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
    let kind_of = |material: Option<usize>| if kinds == 1 { 0 } else { material.unwrap_or(problem.materials) };
    let held = class.running.as_ref().map(|r| r.mode);
    let mut lanes: Vec<(usize, usize)> = Vec::new();
    let mut gears: Vec<Gear<'_>> = Vec::new();
    for mode in class.modes.iter().copied().chain(held.filter(|m| !class.modes.contains(m))) {
        let mut of_epoch = Vec::new();
        for (epoch, steps) in tariff.value[mode].iter().enumerate() {
            let carries = tariff.carriers && kinds > 1;
            of_epoch.push((carries || !steps.is_empty() || (epoch == 0 && held == Some(mode))).then(|| {
                lanes.push((gears.len(), epoch));
                lanes.len() - 1
            }));
        }
        let lengths = &room.of_mode[mode];
        gears.push(Gear {
            mode,
            kind: kind_of(Some(problem.modes[mode].material)),
            load_open: room.starts(lengths.load),
            change_open: room.starts(lengths.change),
            harvest_open: room.starts(lengths.harvest),
            lanes: of_epoch,
        });
    }
    // Every load and harvest begins and ends in a minute of a row, so rows lose nothing.
    let rows = room.row_after(until) + 1;
    let mut empty = vec![NEVER; rows * kinds];
    let mut ready = vec![NEVER; rows * lanes.len()];
    let mut best = vec![0i64; until as usize + 1];
    match &class.running {
        Some(on) => {
            let lane = gears.iter().find(|g| g.mode == on.mode).and_then(|g| g.lanes[0]);
            let at = on.ready.max(0);
            if let (Some(lane), true) = (lane, at <= until) {
                ready[room.row_after(at) * lanes.len() + lane] = 0;
            }
        }
        None => empty[kind_of(class.material)] = 0,
    }
    let nights_bind = problem.night_printers.is_some() || problem.night_minutes.is_some();
    let mut so_far = 0i64;
    let mut filled = 0usize;
    for row in 0..rows {
        let at = room.minute_of_row(row);
        if at > until {
            break;
        }
        let harvest = |zero_minutes: bool, ready: &mut [i64], empty: &mut [i64]| {
            for (lane, &(gear, epoch)) in lanes.iter().enumerate() {
                let gear = &gears[gear];
                let m = &problem.modes[gear.mode];
                if (m.harvest == 0) != zero_minutes {
                    continue;
                }
                if row > 0 {
                    let waited = ready[(row - 1) * lanes.len() + lane];
                    let here = &mut ready[row * lanes.len() + lane];
                    *here = (*here).max(waited);
                }
                let value = ready[row * lanes.len() + lane];
                if value <= NEVER || gear.harvest_open[at as usize] == 0 {
                    continue;
                }
                let end = at + m.harvest;
                if end <= until && is_clear(down, at, end) {
                    let gain = value + tariff.value_of(gear.mode, epoch, at) - tariff.operators(at, end);
                    let after = &mut empty[room.row_after(end) * kinds + gear.kind];
                    *after = (*after).max(gain);
                }
            }
        };
        harvest(true, &mut ready, &mut empty);
        harvest(false, &mut ready, &mut empty);
        best[filled..at as usize].fill(so_far);
        filled = at as usize;
        let epoch = tariff.epoch(at);
        for kind in 0..kinds {
            so_far = so_far.max(empty[row * kinds + kind]);
            if row > 0 {
                // Waiting across a morning gives something back, and counts for nothing until the next harvest.
                let waited = empty[(row - 1) * kinds + kind];
                let back = if waited > NEVER { tariff.spared_at(at).unwrap_or(0) } else { 0 };
                let here = &mut empty[row * kinds + kind];
                *here = (*here).max(waited + back);
            }
            let value = empty[row * kinds + kind];
            if value <= NEVER {
                continue;
            }
            for gear in gears.iter().filter(|g| Some(g.mode) != held || class.modes.contains(&g.mode)) {
                let Some(lane) = gear.lanes[epoch] else { continue };
                let m = &problem.modes[gear.mode];
                let swap = kinds > 1 && kind != problem.materials && kind != gear.kind;
                let (open, minutes) =
                    if swap { (gear.change_open, m.load + problem.changeover) } else { (gear.load_open, m.load) };
                if open[at as usize] == 0 {
                    continue;
                }
                let print_from = at + minutes;
                let print_to = print_from + m.print;
                let end = print_to + m.cool;
                if end > until || down[at as usize] < end {
                    continue;
                }
                if nights_bind && print_to > room.print_limit(print_from) {
                    continue;
                }
                let nights = if tariff.night.is_empty() {
                    0
                } else {
                    tariff.night[room.night_after(print_to)] - tariff.night[room.night_after(print_from)]
                };
                let gain = value - tariff.operators(at, print_from) - nights - tariff.early(print_from);
                let after = &mut ready[room.row_after(end) * lanes.len() + lane];
                *after = (*after).max(gain);
            }
        }
    }
    best[filled..].fill(so_far);
    best
}

/// The least minutes between the end of a history and a shipment being ready with a part of it.
pub fn least_tail(problem: &Problem<'_>) -> Min {
    let tails = problem.orders.iter().enumerate().flat_map(|(order, o)| {
        o.needs.iter().map(move |&(part, _)| problem.finish[part] + crate::demand::pack_tail(problem, order, part))
    });
    tails.min().unwrap_or(0)
}
