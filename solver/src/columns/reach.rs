//! Forward longest paths: the best value of a history that ends by each minute, for all minutes in one pass.

use crate::history::Tariff;
use crate::problem::{Class, Min, Problem};
use crate::room::Room;

const NEVER: i64 = i64::MIN / 4;

/// By minute, the greatest value of a history of the class that is over by then, at least 0 (a printer may be left
/// alone: a relaxation for one that holds a plate at the start).
pub fn best_by_minute(room: &Room<'_>, class: &Class, down: &[Min], tariff: &Tariff, until: Min) -> Vec<i64> {
    let problem = room.problem;
    let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
    let kind_of = |material: Option<usize>| if kinds == 1 { 0 } else { material.unwrap_or(problem.materials) };
    let mut lanes = Vec::new();
    let mut lane_of = vec![vec![None; tariff.epochs.len()]; problem.modes.len()];
    let held = class.running.as_ref().map(|r| r.mode);
    for mode in class.modes.iter().copied().chain(held.filter(|m| !class.modes.contains(m))) {
        for (epoch, lane) in lane_of[mode].iter_mut().enumerate() {
            if !tariff.value[mode][epoch].is_empty() || (epoch == 0 && held == Some(mode)) {
                *lane = Some(lanes.len());
                lanes.push((mode, epoch));
            }
        }
    }
    let minutes = until as usize + 1;
    let mut empty = vec![NEVER; minutes * kinds];
    let mut ready = vec![NEVER; minutes * lanes.len()];
    let mut best = vec![0i64; minutes];
    match &class.running {
        Some(on) => {
            let at = on.ready.max(0);
            if let (Some(lane), true) = (lane_of[on.mode][0], at <= until) {
                ready[at as usize * lanes.len() + lane] = 0;
            }
        }
        None => empty[kind_of(class.material)] = 0,
    }
    for at in 0..=until {
        let row = at as usize;
        let pull_ready = |ready: &mut [i64], empty: &mut [i64], zero_minutes: bool| {
            for (lane, &(mode, epoch)) in lanes.iter().enumerate() {
                let m = &problem.modes[mode];
                if (m.harvest == 0) != zero_minutes {
                    continue;
                }
                if row > 0 {
                    let waited = ready[(row - 1) * lanes.len() + lane];
                    let here = &mut ready[row * lanes.len() + lane];
                    *here = (*here).max(waited);
                }
                let value = ready[row * lanes.len() + lane];
                let end = at + m.harvest;
                let clear = end == at || down[row] >= end;
                if value > NEVER && end <= until && clear && room.can_start(room.of_mode[mode].harvest, at) {
                    let gain = value + tariff.value_of(mode, epoch, at) - tariff.operators(at, end);
                    let after = &mut empty[end as usize * kinds + kind_of(Some(m.material))];
                    *after = (*after).max(gain);
                }
            }
        };
        pull_ready(&mut ready, &mut empty, true);
        pull_ready(&mut ready, &mut empty, false);
        if row > 0 {
            best[row] = best[row - 1];
        }
        let epoch = tariff.epoch(at);
        for kind in 0..kinds {
            if row > 0 {
                let waited = empty[(row - 1) * kinds + kind];
                let here = &mut empty[row * kinds + kind];
                *here = (*here).max(waited);
            }
            let value = empty[row * kinds + kind];
            best[row] = best[row].max(value);
            if value <= NEVER {
                continue;
            }
            for &mode in &class.modes {
                let Some(lane) = lane_of[mode][epoch] else { continue };
                let m = &problem.modes[mode];
                let lengths = &room.of_mode[mode];
                let swap = kinds > 1 && kind != problem.materials && kind != m.material;
                let length = if swap { lengths.change } else { lengths.load };
                if !room.can_start(length, at) {
                    continue;
                }
                let print_from = at + room.lengths[length];
                let print_to = print_from + m.print;
                let end = print_to + m.cool;
                if end > until || print_to > room.print_limit(print_from) || down[row] < end {
                    continue;
                }
                let nights = tariff.night.get(room.night_after(print_to)).copied().unwrap_or(0)
                    - tariff.night.get(room.night_after(print_from)).copied().unwrap_or(0);
                let gain = value - tariff.operators(at, print_from) - nights;
                let after = &mut ready[end as usize * lanes.len() + lane];
                *after = (*after).max(gain);
            }
        }
    }
    best
}

/// The least minutes between the end of a history and a shipment being ready with a part of it.
pub fn least_tail(problem: &Problem<'_>) -> Min {
    let tails = problem.orders.iter().enumerate().flat_map(|(order, o)| {
        o.needs.iter().map(move |&(part, _)| problem.finish[part] + crate::demand::pack_tail(problem, order, part))
    });
    tails.min().unwrap_or(0)
}
