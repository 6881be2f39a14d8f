//! The rules of a valid plan, read straight off a schedule.

use crate::problem::{BEFORE_START, Problem};
use crate::schedule::{PlacedTask, Schedule};

/// Every rule that a schedule breaks.
pub(super) fn faults(p: &Problem<'_>, s: &Schedule) -> Vec<String> {
    let mut faults = Vec::new();
    let mut tasks: Vec<PlacedTask> = s.boxes.iter().map(|b| b.task).collect();
    let mut prints = Vec::new();
    for (r, run) in s.runs.iter().enumerate() {
        let m = &p.modes[run.mode];
        let class = &p.classes[run.class];
        let mut fault = |what: &str| faults.push(format!("run {r}: {what}"));
        let mut before: Vec<_> = s.runs.iter().filter(|o| (o.class, o.slot) == (run.class, run.slot)).collect();
        before.sort_by_key(|o| o.harvest.from);
        let at = before.iter().position(|o| *o == run).unwrap();
        match run.load {
            Some(load) => {
                let held = match at {
                    0 => class.material,
                    _ => Some(p.modes[before[at - 1].mode].material),
                };
                let changes = held.is_some_and(|h| h != m.material);
                if load.to - load.from != m.load + if changes { p.changeover } else { 0 } {
                    fault("load minutes");
                }
                if at > 0 && before[at - 1].harvest.to > load.from || load.from < 0 {
                    fault("printer not free");
                }
                if run.ready != load.to + m.print + m.cool || !class.modes.contains(&run.mode) {
                    fault("ready or mode");
                }
                if class.downtime.iter().any(|d| load.from < d.1 && d.0 < run.ready) {
                    fault("downtime");
                }
                for n in p.nights.iter().filter(|n| load.to < n.1 && n.0 < load.to + m.print) {
                    let alone = n.1.min(load.to + m.print) - n.0.max(load.to);
                    if p.night_minutes.is_some_and(|most| alone > most) {
                        fault("too long at night");
                    }
                }
                tasks.push(load);
            }
            None => {
                let on = class.running.as_ref();
                if at != 0 || on.is_none_or(|on| (on.mode, on.ready) != (run.mode, run.ready)) {
                    fault("not on the printer at the start");
                }
            }
        }
        prints.push((run.load.map_or(0, |l| l.to), run.ready - m.cool, run.load.is_some()));
        let h = run.harvest;
        if h.to - h.from != m.harvest || h.from < run.ready || h.to > p.horizon {
            fault("harvest");
        }
        if class.downtime.iter().any(|d| h.from < d.1 && d.0 < h.to) {
            fault("downtime at harvest");
        }
        tasks.push(h);
        for &(part, count) in &m.yields {
            let given: i64 = s.gives.iter().filter(|g| g.run == Some(r) && g.part == part).map(|g| g.count).sum();
            if given > count {
                fault("gives more than it yields");
            }
        }
    }
    if let Some(most) = p.night_printers {
        for n in &p.nights {
            for minute in n.0..n.1 {
                let now = || prints.iter().filter(|r| r.0 <= minute && minute < r.1);
                if now().count() as i64 > most && now().any(|r| r.2) {
                    faults.push(format!("too many print at {minute}"));
                    break;
                }
            }
        }
    }
    let running = p.classes.iter().filter(|c| c.running.is_some()).map(|c| c.printers.len()).sum::<usize>();
    if s.runs.iter().filter(|r| r.load.is_none()).count() != running {
        faults.push("runs on printers at the start".into());
    }
    for (i, pool) in p.pools.iter().enumerate() {
        let own: Vec<_> = tasks.iter().filter(|t| t.pool == i).collect();
        for t in &own {
            if t.from < pool.from || t.to > pool.to {
                faults.push(format!("off shift: {t:?}"));
            }
            // Half minutes between the moments: how many are at work there, and how many besides at a moment of none.
            let over = |from: i32, to: i32| own.iter().filter(|o| o.from < to && from < o.to && o.from < o.to).count();
            let most = if t.from == t.to {
                over(t.from, t.from) + 1
            } else {
                (t.from..t.to).map(|m| over(m, m + 1)).max().unwrap_or(0)
            };
            if most > pool.operators.len() {
                faults.push(format!("{most} at work in pool {i} during {t:?}"));
            }
        }
    }
    for g in &s.gives {
        let load = g.run.map(|r| s.runs[r].load.map_or(BEFORE_START, |l| l.from));
        if load.is_some_and(|l| l < p.orders[g.order].release) || g.count < 1 {
            faults.push(format!("release or count: {g:?}"));
        }
    }
    for part in 0..p.finish.len() {
        let taken: i64 = s.gives.iter().filter(|g| g.run.is_none() && g.part == part).map(|g| g.count).sum();
        if taken > p.stock[part] {
            faults.push(format!("stock of part {part}"));
        }
    }
    for (o, order) in p.orders.iter().enumerate() {
        for part in 0..p.finish.len() {
            let need = order.needs.iter().find(|n| n.0 == part).map_or(0, |n| n.1);
            let got: i64 = s.gives.iter().filter(|g| g.order == o && g.part == part).map(|g| g.count).sum();
            if need != got {
                faults.push(format!("order {o} needs {need} of part {part} and gets {got}"));
            }
        }
        boxes(p, s, o, &mut faults);
    }
    if s.ready_times(p).iter().any(|&at| at > p.horizon) {
        faults.push("beyond the horizon".into());
    }
    faults
}

fn boxes(p: &Problem<'_>, s: &Schedule, o: usize, faults: &mut Vec<String>) {
    let lines = &p.orders[o].boxes;
    for (b, line) in lines.iter().enumerate() {
        if s.boxes.iter().filter(|x| (x.order, x.boxes) == (o, b)).count() as i64 != line.count() {
            faults.push(format!("order {o}: boxes of line {b}"));
        }
    }
    for packed in s.boxes.iter().filter(|x| x.order == o) {
        if packed.task.to - packed.task.from != p.pack_box {
            faults.push(format!("order {o}: minutes of a box"));
        }
        for part in 0..p.finish.len() {
            let inside: i64 = lines
                .iter()
                .enumerate()
                .map(|(b, line)| {
                    let started =
                        s.boxes.iter().filter(|x| (x.order, x.boxes) == (o, b) && x.task.from <= packed.task.from);
                    let each = line.kit.iter().find(|k| k.0 == part).map_or(0, |k| k.1);
                    each * line.kits_in_first(started.count() as i64)
                })
                .sum();
            let usable = s.gives.iter().filter(|g| {
                let at = g.run.map_or(0, |r| s.runs[r].harvest.to + p.finish[part]);
                g.order == o && g.part == part && at <= packed.task.from
            });
            if usable.map(|g| g.count).sum::<i64>() < inside {
                faults.push(format!("order {o}: a box is packed before its parts are usable"));
            }
        }
    }
}
