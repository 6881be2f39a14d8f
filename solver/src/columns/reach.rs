//! Forward longest paths: the best value of a history that ends by each minute, for all minutes in one pass.
//!
//! States on the track of a chain ([`crate::history::chains`]) stand beside the others: a kind of being empty for each
//! number of prints done, and a lane of ready plates for each number and mode. They hold for one shift at a time.

use crate::history::Tariff;
use crate::history::chains::Chain;
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

/// Ready plates of one mode and release epoch, on track after so many prints (0: on none), and those on none.
#[derive(Clone, Copy)]
struct Lane {
    gear: usize,
    epoch: usize,
    prints: usize,
    plain: usize,
}

/// By minute, the greatest value of a history of the class whose last run is over so many minutes before, by its mode; at
/// least 0 (a printer may be left alone: a relaxation for one that holds a plate at the start).
pub fn best_by_minute(
    room: &Room<'_>,
    class: &Class,
    down: &[Min],
    tariff: &Tariff,
    tails: &[Min],
    until: Min,
) -> Vec<i64> {
    let problem = room.problem;
    let kinds = if problem.materials <= 1 || problem.changeover == 0 { 1 } else { problem.materials + 1 };
    let kind_of = |material: Option<usize>| if kinds == 1 { 0 } else { material.unwrap_or(problem.materials) };
    let held = class.running.as_ref().map(|r| r.mode);
    let mut lanes: Vec<Lane> = Vec::new();
    let mut gears: Vec<Gear<'_>> = Vec::new();
    for mode in class.modes.iter().copied().chain(held.filter(|m| !class.modes.contains(m))) {
        let mut of_epoch = Vec::new();
        for (epoch, steps) in tariff.value[mode].iter().enumerate() {
            let carries = tariff.carriers && kinds > 1;
            of_epoch.push((carries || !steps.is_empty() || (epoch == 0 && held == Some(mode))).then(|| {
                lanes.push(Lane { gear: gears.len(), epoch, prints: 0, plain: lanes.len() });
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
    let plain = lanes.len();
    let prints = tariff.chains.iter().map(|c| c.0.prints).max().unwrap_or(0);
    for prints in 1..=prints {
        lanes.extend_from_within(..plain);
        lanes[prints * plain..].iter_mut().for_each(|lane| lane.prints = prints);
    }
    // Every load and harvest begins and ends in a minute of a row, so rows lose nothing.
    let rows = room.row_after(until) + 1;
    let states = kinds + prints;
    let mut empty = vec![NEVER; rows * states];
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
    for row in 0..rows {
        let at = room.minute_of_row(row);
        if at > until {
            break;
        }
        let chain = tariff.chains.iter().rfind(|c| c.0.from <= at);
        if row > 0 {
            // Who is no longer on track is like any other.
            for (lane, of) in lanes.iter().enumerate().skip(plain) {
                let waited = ready[(row - 1) * lanes.len() + lane];
                let on = chain.is_some_and(|c| c.0.from < at && of.prints <= c.0.prints && at <= c.0.latest(of.prints));
                let here = &mut ready[row * lanes.len() + if on { lane } else { of.plain }];
                *here = (*here).max(waited);
            }
            for done in 0..prints {
                let waited = empty[(row - 1) * states + kinds + done];
                let is_on = |c: &Chain| c.from < at && done < c.prints && at <= c.latest(done) + c.harvest;
                let on = chain.is_some_and(|c| is_on(&c.0));
                let here = &mut empty[row * states + if on { kinds + done } else { 0 }];
                *here = (*here).max(waited);
            }
        }
        let mut harvest = |zero_minutes: bool, ready: &mut [i64], empty: &mut [i64]| {
            for (lane, &Lane { gear, epoch, prints, .. }) in lanes.iter().enumerate() {
                let gear = &gears[gear];
                let m = &problem.modes[gear.mode];
                if (m.harvest == 0) != zero_minutes {
                    continue;
                }
                if row > 0 && prints == 0 {
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
                    let (state, chained) = match chain {
                        Some(&(ref c, price)) if prints > 0 && prints == c.prints => (gear.kind, price),
                        Some((c, _)) if prints > 0 || c.begins(at) => (kinds + prints, 0),
                        _ => (gear.kind, 0),
                    };
                    let gain = value + tariff.value_of(gear.mode, epoch, at) - tariff.operators(at, end) - chained;
                    let after = &mut empty[room.row_after(end) * states + state];
                    *after = (*after).max(gain);
                    if let Some(best) = best.get_mut((end + tails[gear.mode]) as usize) {
                        *best = (*best).max(gain);
                    }
                }
            }
        };
        harvest(true, &mut ready, &mut empty);
        harvest(false, &mut ready, &mut empty);
        let epoch = tariff.epoch(at);
        for state in 0..states {
            let kind = if state < kinds { state } else { 0 };
            if row > 0 && state < kinds {
                // Waiting across a morning gives something back, and counts for nothing until the next harvest.
                let waited = empty[(row - 1) * states + kind];
                let back = if waited > NEVER { tariff.spared_at(at).unwrap_or(0) } else { 0 };
                let here = &mut empty[row * states + kind];
                *here = (*here).max(waited + back);
            }
            let value = empty[row * states + state];
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
                let next = (state + 1).saturating_sub(kinds);
                let is_on = |c: &Chain| c.modes.contains(&gear.mode) && end <= c.latest(next);
                let on = next > 0 && chain.is_some_and(|c| is_on(&c.0));
                let lane = if on { next * plain + lane } else { lane };
                let after = &mut ready[room.row_after(end) * lanes.len() + lane];
                *after = (*after).max(gain);
            }
        }
    }
    for at in 1..best.len() {
        best[at] = best[at].max(best[at - 1]);
    }
    best
}

/// By mode, the least minutes between the end of a run and a shipment being ready with a part of it; 0 where nobody needs
/// one.
///
/// A plan that is ready by `T` has every run over by `T` less its own minutes. A path is judged by its last run alone, which
/// only makes it worth something sooner.
pub fn tails(problem: &Problem<'_>) -> Vec<Min> {
    let of_part = |part: usize| {
        let needing = problem.orders.iter().enumerate().filter(move |(_, o)| o.needs.iter().any(|n| n.0 == part));
        needing.map(move |(order, _)| problem.finish[part] + crate::demand::pack_tail(problem, order, part))
    };
    problem.modes.iter().map(|m| m.yields.iter().flat_map(|y| of_part(y.0)).min().unwrap_or(0)).collect()
}

/// The least minutes between the end of a history and a shipment being ready with a part of it.
pub fn least_tail(problem: &Problem<'_>) -> Min {
    let tails = problem.orders.iter().enumerate().flat_map(|(order, o)| {
        o.needs.iter().map(move |&(part, _)| problem.finish[part] + crate::demand::pack_tail(problem, order, part))
    });
    tails.min().unwrap_or(0)
}
