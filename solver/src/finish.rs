//! From runs to a schedule: who gets which copies, and when the boxes are packed.
//!
//! Shipments are served one after another. Each takes, of every part, the earliest copies it may use; the latest of
//! those over its parts decides its moment, and of the copies usable by then it keeps those that the shipments after it
//! can use least. Which shipment goes first decides much, so with few shipments every order is tried. Boxes are then
//! packed in operator time that loads and harvests leave, each as soon as its parts are there.

use crate::after;
use crate::floor::{Floor, Machine};
use crate::problem::{BEFORE_START, Min, Problem};
use crate::room::Room;
use crate::schedule::{Give, Merit, PackedBox, PlacedRun, Schedule};
use crate::spares;

/// Up to this many shipments all orders of serving them are tried.
const ALL_ORDERS_UP_TO: usize = 4;

/// Copies of one part from one source.
#[derive(Debug, Clone, Copy)]
struct Lot {
    run: Option<usize>,
    loaded: Min,
    usable: Min,
    left: i64,
}

/// The best schedule that the floor's runs allow, with runs that nobody needs taken out; `None` where the runs do not
/// cover the needs, what was on a printer at the start stays there, or boxes cannot be packed within the horizon.
pub fn finish(floor: &Floor<'_>, least_idle: bool) -> Option<(Merit, Schedule)> {
    finish_in(floor, least_idle, &turns(floor.problem))
}

/// The same with shipments served in one of these orders.
pub fn finish_in(floor: &Floor<'_>, least_idle: bool, turns: &[Vec<usize>]) -> Option<(Merit, Schedule)> {
    let problem = floor.problem;
    let holds = |m: &Machine| problem.classes[m.class].running.is_none() || m.runs.iter().any(|r| r.load.is_none());
    if !floor.machines.iter().all(holds) {
        return None;
    }
    let runs = floor.runs();
    let mut best: Option<(Merit, Schedule)> = None;
    // Boxes are packed soonest from the earliest copies; but those may be the only ones that serve a later release.
    let released = problem.orders.iter().any(|o| o.release != problem.orders[0].release);
    let boxed = problem.orders.iter().any(|o| !o.boxes.is_empty());
    let manners: &[bool] = if boxed && released { &[false, true] } else { &[false] };
    for (turn, &thrifty) in turns.iter().flat_map(|t| manners.iter().map(move |m| (t, m))) {
        let Some(gives) = share(problem, &runs, turn, thrifty) else { continue };
        let (runs, gives, dropped) = without_useless(problem, &runs, gives, least_idle);
        let mut room = floor.room_to_pack();
        for run in dropped {
            if let Some(load) = run.load {
                room.unbook(load);
            }
            room.unbook(run.harvest);
        }
        let Some(boxes) = pack(problem, &mut room, &runs, &gives, turn) else { continue };
        let schedule = Schedule { runs, gives, boxes };
        if !after::holds(problem, &schedule) {
            continue;
        }
        let merit = schedule.merit(problem, least_idle);
        if best.as_ref().is_none_or(|b| merit < b.0) {
            best = Some((merit, schedule));
        }
    }
    best
}

/// The orders in which shipments are served: by due date first, then all others where they are few.
pub fn turns(problem: &Problem<'_>) -> Vec<Vec<usize>> {
    let mut by_due: Vec<usize> = (0..problem.orders.len()).collect();
    by_due.sort_by_key(|&o| (problem.orders[o].due.unwrap_or(Min::MAX), o));
    if by_due.len() > ALL_ORDERS_UP_TO {
        return vec![by_due];
    }
    let mut turns = Vec::new();
    permute(&by_due, &mut Vec::new(), &mut turns);
    turns
}

fn permute(left: &[usize], taken: &mut Vec<usize>, out: &mut Vec<Vec<usize>>) {
    if left.is_empty() {
        out.push(taken.clone());
    }
    for (at, &order) in left.iter().enumerate() {
        let rest: Vec<usize> = left[..at].iter().chain(&left[at + 1..]).copied().collect();
        taken.push(order);
        permute(&rest, taken, out);
        taken.pop();
    }
}

fn share(problem: &Problem<'_>, runs: &[PlacedRun], turn: &[usize], thrifty: bool) -> Option<Vec<Give>> {
    let mut lots: Vec<Vec<Lot>> = vec![Vec::new(); problem.finish.len()];
    for (part, &stock) in problem.stock.iter().enumerate() {
        if stock > 0 {
            lots[part].push(Lot { run: None, loaded: Min::MAX, usable: 0, left: stock });
        }
    }
    for (at, run) in runs.iter().enumerate() {
        let loaded = run.load.map_or(BEFORE_START, |l| l.from);
        for &(part, copies) in &problem.modes[run.mode].yields {
            let usable = run.harvest.to + problem.finish[part];
            lots[part].push(Lot { run: Some(at), loaded, usable, left: copies });
        }
    }
    for of_part in &mut lots {
        of_part.sort_by_key(|l| (l.usable, l.run));
    }
    let mut gives = Vec::new();
    for &order in turn {
        let o = &problem.orders[order];
        if let Some(confidence) = problem.confidence {
            gives.extend(with_spares(problem, runs, &mut lots, order, confidence)?);
            continue;
        }
        let mut moment = 0;
        for &(part, need) in &o.needs {
            let mut have = 0;
            let usable = lots[part].iter().filter(|l| l.left > 0 && l.loaded >= o.release).find_map(|l| {
                have += l.left;
                (have >= need).then_some(l.usable)
            });
            moment = moment.max(if need == 0 { 0 } else { usable? });
        }
        for &(part, mut need) in &o.needs {
            let of_part = &mut lots[part];
            let mut eligible: Vec<usize> = (0..of_part.len())
                .filter(|&l| of_part[l].left > 0 && of_part[l].loaded >= o.release && of_part[l].usable <= moment)
                .collect();
            if o.boxes.is_empty() || thrifty {
                let epoch = |l: &Lot| problem.orders.iter().filter(|o| o.release <= l.loaded).count();
                eligible.sort_by_key(|&l| (epoch(&of_part[l]), std::cmp::Reverse(of_part[l].usable), l));
            }
            for lot in eligible {
                let take = need.min(of_part[lot].left);
                if take > 0 {
                    of_part[lot].left -= take;
                    need -= take;
                    gives.push(Give { run: of_part[lot].run, part, order, count: take, spare: 0 });
                }
            }
        }
    }
    Some(gives)
}

/// What one shipment is given where its parts must suffice with a confidence: the earliest lots that do, and once it is
/// known by when, those up to then that the shipments after it can use least. Takes them out of the lots.
fn with_spares(
    problem: &Problem<'_>,
    runs: &[PlacedRun],
    lots: &mut [Vec<Lot>],
    order: usize,
    confidence: f64,
) -> Option<Vec<Give>> {
    let o = &problem.orders[order];
    let epoch = |l: &Lot| problem.orders.iter().filter(|o| o.release <= l.loaded).count();
    let chosen = |lots: &[Vec<Lot>], until: Min, by_epoch: bool| -> Option<Vec<Vec<(usize, i64)>>> {
        let mut places: Vec<Vec<usize>> = Vec::new();
        let mut choices = Vec::new();
        for &(part, need) in &o.needs {
            let of_part = &lots[part];
            let certain: i64 = of_part.iter().filter(|l| l.run.is_none()).map(|l| l.left.min(need)).sum();
            let open = |l: &Lot| l.run.is_some() && l.left > 0 && l.loaded >= o.release && l.usable <= until;
            let mut eligible: Vec<usize> = (0..of_part.len()).filter(|&l| open(&of_part[l])).collect();
            if by_epoch {
                eligible.sort_by_key(|&l| (epoch(&of_part[l]), of_part[l].usable, l));
            }
            let lot = |&l: &usize| spares::Lot {
                copies: of_part[l].left,
                failure_rate: of_part[l].run.map_or(0.0, |r| problem.failure_rate[runs[r].mode]),
                weight: i64::from(of_part[l].usable),
            };
            let reject_rate = problem.reject_rate[part];
            choices.push(spares::Choice { need, certain, reject_rate, lots: eligible.iter().map(lot).collect() });
            places.push(eligible);
        }
        let taken = spares::choose(&choices, confidence)?;
        Some(places.into_iter().zip(taken).map(|(places, taken)| places.into_iter().zip(taken).collect()).collect())
    };
    let mut best = chosen(lots, Min::MAX, false)?;
    if o.boxes.is_empty() {
        let usable =
            |(p, of_part): (usize, &Vec<(usize, i64)>)| of_part.iter().map(|t| lots[o.needs[p].0][t.0].usable).max();
        let moment = best.iter().enumerate().filter_map(usable).max().unwrap_or(0);
        best = chosen(lots, moment, true).unwrap_or(best);
    }
    let mut gives = Vec::new();
    for (&(part, need), mut taken) in o.needs.iter().zip(best) {
        let of_part = &mut lots[part];
        let from_stock: i64 = of_part.iter().filter(|l| l.run.is_none()).map(|l| l.left.min(need)).sum();
        if let Some(stock) = (0..of_part.len()).find(|&l| of_part[l].run.is_none()) {
            taken.push((stock, from_stock));
        }
        taken.sort_by_key(|t| (of_part[t.0].usable, t.0));
        let copies: Vec<i64> = taken.iter().map(|t| t.1).collect();
        for ((lot, copies), (count, spare)) in taken.iter().zip(spares::shares(&copies, need)) {
            of_part[*lot].left -= copies;
            if *copies > 0 {
                gives.push(Give { run: of_part[*lot].run, part, order, count, spare });
            }
        }
    }
    Some(gives)
}

/// Runs that give nothing to anybody are taken out, except those that were on printers at the start.
///
/// A run that follows one of them keeps its load, so only the last runs of a printer, and those whose successor holds
/// the same material as they do, can go.
fn without_useless(
    problem: &Problem<'_>,
    runs: &[PlacedRun],
    gives: Vec<Give>,
    least_idle: bool,
) -> (Vec<PlacedRun>, Vec<Give>, Vec<PlacedRun>) {
    let mut useful = vec![false; runs.len()];
    for give in &gives {
        if let Some(run) = give.run {
            useful[run] = true;
        }
    }
    // The list is printer by printer, each in time order.
    let same = |a: usize, b: usize| runs[a].class == runs[b].class && runs[a].slot == runs[b].slot;
    let mut keep = vec![true; runs.len()];
    let mut next_kept: Option<usize> = None;
    for at in (0..runs.len()).rev() {
        let follower = next_kept.filter(|&n| same(n, at));
        let free_to_go = problem.changeover == 0
            || problem.materials <= 1
            || follower.is_none_or(|n| {
                let before = at.checked_sub(1).filter(|&b| same(b, at)).map(|b| problem.modes[runs[b].mode].material);
                let here = problem.modes[runs[at].mode].material;
                before == Some(here)
                    || (before.is_none()
                        && problem.classes[runs[at].class].material == Some(here)
                        && runs[n].load.is_some())
            });
        let fills = least_idle && follower.is_some();
        keep[at] = useful[at] || runs[at].load.is_none() || !free_to_go || fills;
        if keep[at] {
            next_kept = Some(at);
        }
    }
    let mut new_index = vec![0; runs.len()];
    let (mut kept, mut dropped) = (Vec::new(), Vec::new());
    for (at, run) in runs.iter().enumerate() {
        if keep[at] {
            new_index[at] = kept.len();
            kept.push(*run);
        } else {
            dropped.push(*run);
        }
    }
    let gives = gives.into_iter().map(|g| Give { run: g.run.map(|r| new_index[r]), ..g }).collect();
    (kept, gives, dropped)
}

/// Packs every box as early as its parts and the crew allow, shipment by shipment; `None` where one cannot be packed.
pub fn pack(
    problem: &Problem<'_>,
    room: &mut Room<'_>,
    runs: &[PlacedRun],
    gives: &[Give],
    turn: &[usize],
) -> Option<Vec<PackedBox>> {
    let mut packed = Vec::new();
    for &order in turn {
        let o = &problem.orders[order];
        if o.boxes.is_empty() {
            continue;
        }
        // When the n-th copy of each part is usable: (usable, copies up to then), by part.
        let mut arrivals: Vec<Vec<(Min, i64)>> = vec![Vec::new(); problem.finish.len()];
        for give in gives.iter().filter(|g| g.order == order) {
            let usable = give.run.map_or(0, |r| runs[r].harvest.to + problem.finish[give.part]);
            arrivals[give.part].push((usable, give.count));
        }
        for of_part in &mut arrivals {
            of_part.sort_unstable();
            let mut sum = 0;
            for arrival in of_part.iter_mut() {
                sum += arrival.1;
                arrival.1 = sum;
            }
        }
        let moment = |part: usize, copies: i64| {
            let of_part = &arrivals[part];
            of_part.get(of_part.partition_point(|a| a.1 < copies)).map(|a| a.0)
        };
        let mut used = vec![0i64; problem.finish.len()];
        let mut next_box = vec![0i64; o.boxes.len()];
        let mut earliest = 0;
        loop {
            // Of the lines with boxes left, the one whose next box has its parts first.
            let mut choice: Option<(Min, usize)> = None;
            for (line, boxes) in o.boxes.iter().enumerate() {
                if next_box[line] < boxes.count() {
                    let kits = boxes.kits_in_first(next_box[line] + 1) - boxes.kits_in_first(next_box[line]);
                    let mut there = 0;
                    for &(part, per_kit) in &boxes.kit {
                        there = there.max(moment(part, used[part] + kits * per_kit)?);
                    }
                    if choice.is_none_or(|c| there < c.0) {
                        choice = Some((there, line));
                    }
                }
            }
            let Some((there, line)) = choice else { break };
            let boxes = &o.boxes[line];
            let kits = boxes.kits_in_first(next_box[line] + 1) - boxes.kits_in_first(next_box[line]);
            for &(part, per_kit) in &boxes.kit {
                used[part] += kits * per_kit;
            }
            next_box[line] += 1;
            // Starts never go back in time, so that the boxes begun by any moment are the ones counted here.
            let from = there.max(earliest);
            let at = (from..=problem.horizon - problem.pack_box).find(|&t| room.can_start(room.of_box, t))?;
            let task = room.book(room.of_box, at)?;
            earliest = at;
            packed.push(PackedBox { order, boxes: line, task });
        }
    }
    Some(packed)
}
