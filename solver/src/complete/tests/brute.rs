//! All that can happen, moment by moment on a grid: any task that may start may also wait, any run may be of no use,
//! any part may go to anybody. Shares no rule with the search.

use crate::problem::{BEFORE_START, Problem};
use std::collections::BTreeSet;

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Printer {
    /// Since when, and what it holds.
    Empty(i32, Option<usize>),
    /// Mode, load and ready.
    Full(usize, i32, i32),
}

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Room {
    printers: Vec<Printer>,
    /// Pool, from and to of the tasks under way.
    tasks: Vec<(usize, i32, i32)>,
    /// Print intervals that may still matter.
    prints: Vec<(i32, i32)>,
    loads: usize,
    /// By order: part and what is open.
    open: Vec<Vec<(usize, i64)>>,
    /// By order: part, when usable, how many.
    given: Vec<Vec<(usize, i32, i64)>>,
    packed: Vec<Vec<i64>>,
    ready: Vec<i32>,
    /// By printer, where idle minutes count: the end of the last harvest and the minutes printed.
    past: Vec<(i32, i32)>,
}

struct Brute<'p> {
    problem: &'p Problem<'p>,
    most_loads: usize,
    least_idle: bool,
    best: Option<(i64, i64)>,
}

/// The least weighted lateness and makespan, or idle minutes; none inside where no plan exists, none outside where there is too much to
/// try.
pub(super) fn best(
    problem: &Problem<'_>,
    least_idle: bool,
    grid: i32,
    most_loads: usize,
    limit: usize,
) -> Option<Option<(i64, i64)>> {
    let mut brute = Brute { problem, most_loads, least_idle, best: None };
    let mut rooms = BTreeSet::new();
    let room = brute.start();
    brute.stock(room, 0, &mut rooms);
    let mut seen = 0;
    let mut now = 0;
    while now <= problem.horizon && !rooms.is_empty() {
        let mut open: Vec<Room> = rooms.iter().cloned().collect();
        while let Some(room) = open.pop() {
            seen += 1;
            if seen > limit {
                return None;
            }
            let mut more = BTreeSet::new();
            brute.tasks(&room, now, &mut more);
            for next in more {
                if !brute.done(&next) && !rooms.contains(&next) {
                    rooms.insert(next.clone());
                    open.push(next);
                }
            }
            brute.done(&room);
        }
        let later = std::mem::take(&mut rooms);
        now += grid;
        for mut room in later {
            if brute.done(&room) {
                continue;
            }
            room.tasks.retain(|t| t.2 > now);
            room.prints.retain(|p| p.1 > now);
            for printer in &mut room.printers {
                if let Printer::Empty(since, _) = printer {
                    *since = (*since).max(now);
                }
            }
            for given in room.given.iter_mut().flatten() {
                given.1 = given.1.max(now);
            }
            for given in &mut room.given {
                given.sort();
            }
            rooms.insert(room);
        }
    }
    Some(brute.best)
}

impl Brute<'_> {
    fn start(&self) -> Room {
        let p = self.problem;
        let mut printers = Vec::new();
        let mut prints = Vec::new();
        for class in &p.classes {
            for _ in &class.printers {
                printers.push(match &class.running {
                    Some(on) => {
                        let end = on.ready - p.modes[on.mode].cool;
                        // Whatever its minutes, it is at it from the start.
                        prints.push((0, end));
                        Printer::Full(on.mode, BEFORE_START, on.ready)
                    }
                    None => Printer::Empty(0, class.material),
                });
            }
        }
        Room {
            printers,
            tasks: Vec::new(),
            prints,
            loads: 0,
            open: p.orders.iter().map(|o| o.needs.clone()).collect(),
            given: vec![Vec::new(); p.orders.len()],
            packed: p.orders.iter().map(|o| vec![0; o.boxes.len()]).collect(),
            ready: vec![0; p.orders.len()],
            past: self.past(),
        }
    }

    fn past(&self) -> Vec<(i32, i32)> {
        let p = self.problem;
        let mut past = Vec::new();
        for (c, class) in p.classes.iter().enumerate() {
            let printed = class.running.as_ref().map_or(0, |on| p.printed(c, on.mode, false, on.ready));
            past.extend(class.printers.iter().map(|_| (0, if self.least_idle { printed } else { 0 })));
        }
        past
    }

    fn idle(&self, room: &Room) -> i64 {
        let idle = |(printer, &(end, printed)): (usize, &(i32, i32))| {
            let down = &self.problem.classes[self.class(printer)].downtime;
            let up = end - down.iter().map(|d| (d.1.min(end) - d.0).max(0)).sum::<i32>();
            i64::from(up - printed)
        };
        room.past.iter().enumerate().map(idle).sum()
    }

    fn class(&self, printer: usize) -> usize {
        let sizes = self.problem.classes.iter().enumerate().flat_map(|(c, k)| k.printers.iter().map(move |_| c));
        sizes.collect::<Vec<_>>()[printer]
    }

    fn stock(&self, room: Room, part: usize, rooms: &mut BTreeSet<Room>) {
        if part == self.problem.stock.len() {
            rooms.insert(room);
            return;
        }
        for way in self.ways(&room, part, self.problem.stock[part], BEFORE_START, 0, true) {
            self.stock(way, part + 1, rooms);
        }
    }

    /// All ways to give up to `count` of a part to anyone.
    fn ways(&self, room: &Room, part: usize, count: i64, load: i32, usable: i32, stock: bool) -> Vec<Room> {
        let mut ways = vec![(room.clone(), count)];
        for order in 0..room.open.len() {
            if !stock && load < self.problem.orders[order].release {
                continue;
            }
            let mut more = Vec::new();
            for (way, left) in &ways {
                let open = way.open[order].iter().find(|n| n.0 == part).map_or(0, |n| n.1);
                for give in 1..=open.min(*left) {
                    let mut next = way.clone();
                    next.open[order].iter_mut().filter(|n| n.0 == part).for_each(|n| n.1 -= give);
                    next.given[order].push((part, usable, give));
                    next.given[order].sort();
                    next.ready[order] = next.ready[order].max(usable);
                    more.push((next, left - give));
                }
            }
            ways.extend(more);
        }
        ways.into_iter().map(|w| w.0).collect()
    }

    fn late(&self, room: &Room) -> i64 {
        let late =
            |(o, &at): (&crate::problem::Order, &i32)| o.due.map_or(0, |due| i64::from((at - due).max(0)) * o.weight);
        self.problem.orders.iter().zip(&room.ready).map(late).sum()
    }

    /// Takes note of a plan; also true where the room can come to nothing better.
    fn done(&mut self, room: &Room) -> bool {
        let makespan = i64::from(room.ready.iter().copied().max().unwrap_or(0));
        let merit = (self.late(room), if self.least_idle { self.idle(room) } else { makespan });
        // A later run may print for more than it adds, so idle minutes say nothing before the end.
        let hopeless = |b: (i64, i64)| if self.least_idle { merit.0 > b.0 } else { merit >= b };
        if makespan > i64::from(self.problem.horizon) || self.best.is_some_and(hopeless) {
            return true;
        }
        let served = room.open.iter().flatten().all(|n| n.1 == 0)
            && room
                .packed
                .iter()
                .zip(&self.problem.orders)
                .all(|(k, o)| k.iter().zip(&o.boxes).all(|(k, b)| *k == b.count()))
            && room.printers.iter().all(|p| matches!(p, Printer::Empty(..)));
        if served {
            self.best = Some(self.best.map_or(merit, |b| b.min(merit)));
        }
        served && !self.least_idle
    }

    /// Pools whose operators can take a task.
    fn pools(&self, room: &Room, now: i32, minutes: i32) -> Vec<usize> {
        let end = now + minutes;
        let meets = |t: &(usize, i32, i32)| t.1 < end.max(now) && now < t.2 || (minutes == 0 && t.1 < now && now < t.2);
        (0..self.problem.pools.len())
            .filter(|&p| {
                let pool = &self.problem.pools[p];
                let at_work = room.tasks.iter().filter(|t| t.0 == p && meets(t)).count();
                pool.from <= now && end <= pool.to && at_work < pool.operators.len()
            })
            .collect()
    }

    fn down(&self, class: usize, from: i32, to: i32) -> bool {
        self.problem.classes[class].downtime.iter().any(|d| from < d.1 && d.0 < to)
    }

    fn nights_allow(&self, room: &Room, from: i32, to: i32) -> bool {
        let p = self.problem;
        p.nights.iter().filter(|n| from < n.1 && n.0 < to).all(|n| {
            let alone = n.1.min(to) - n.0.max(from);
            // The most in any minute of the night that this run prints in.
            let at = |minute: i32| room.prints.iter().filter(|r| r.0 <= minute && minute < r.1).count() as i64;
            let most = (n.0.max(from)..n.1.min(to)).map(at).max().unwrap_or(0);
            p.night_minutes.is_none_or(|longest| alone <= longest)
                && p.night_printers.is_none_or(|printers| most < printers)
        })
    }

    fn tasks(&self, room: &Room, now: i32, more: &mut BTreeSet<Room>) {
        let p = self.problem;
        for printer in 0..room.printers.len() {
            let class = self.class(printer);
            match room.printers[printer] {
                Printer::Empty(since, held) if since <= now && room.loads < self.most_loads => {
                    for &mode in &p.classes[class].modes {
                        let m = &p.modes[mode];
                        let minutes = m.load + if held.is_some_and(|h| h != m.material) { p.changeover } else { 0 };
                        let print = now + minutes;
                        let ready = print + m.print + m.cool;
                        if self.down(class, now, ready)
                            || ready > p.horizon
                            || !self.nights_allow(room, print, print + m.print)
                        {
                            continue;
                        }
                        for pool in self.pools(room, now, minutes) {
                            let mut next = room.clone();
                            next.printers[printer] = Printer::Full(mode, now, ready);
                            next.prints.push((print, print + m.print));
                            next.prints.sort();
                            next.loads += 1;
                            next.past[printer].1 += if self.least_idle { m.print } else { 0 };
                            self.work(&mut next, pool, now, minutes);
                            more.insert(next);
                        }
                    }
                }
                Printer::Full(mode, load, ready) if ready <= now => {
                    let m = &p.modes[mode];
                    let end = now + m.harvest;
                    if self.down(class, now, end) || end > p.horizon {
                        continue;
                    }
                    for pool in self.pools(room, now, m.harvest) {
                        let mut next = room.clone();
                        next.printers[printer] = Printer::Empty(end, Some(m.material));
                        next.past[printer].0 = if self.least_idle { end } else { 0 };
                        self.work(&mut next, pool, now, m.harvest);
                        let mut ways = vec![next];
                        for &(part, count) in &m.yields {
                            ways = ways
                                .iter()
                                .flat_map(|w| self.ways(w, part, count, load, end + p.finish[part], false))
                                .collect();
                        }
                        more.extend(ways);
                    }
                }
                _ => {}
            }
        }
        for order in 0..p.orders.len() {
            for b in 0..p.orders[order].boxes.len() {
                self.pack(room, now, order, b, more);
            }
        }
    }

    fn pack(&self, room: &Room, now: i32, order: usize, which: usize, more: &mut BTreeSet<Room>) {
        let boxes = &self.problem.orders[order].boxes;
        if room.packed[order][which] == boxes[which].count() {
            return;
        }
        let mut packed = room.packed[order].clone();
        packed[which] += 1;
        let enough = (0..self.problem.finish.len()).all(|part| {
            let each = |b: usize| boxes[b].kit.iter().find(|k| k.0 == part).map_or(0, |k| k.1);
            let inside: i64 = (0..boxes.len()).map(|b| each(b) * boxes[b].kits_in_first(packed[b])).sum();
            let there: i64 = room.given[order].iter().filter(|g| g.0 == part && g.1 <= now).map(|g| g.2).sum();
            there >= inside
        });
        if enough {
            for pool in self.pools(room, now, self.problem.pack_box) {
                let mut next = room.clone();
                next.packed[order] = packed.clone();
                next.ready[order] = next.ready[order].max(now + self.problem.pack_box);
                self.work(&mut next, pool, now, self.problem.pack_box);
                more.insert(next);
            }
        }
    }

    fn work(&self, room: &mut Room, pool: usize, now: i32, minutes: i32) {
        if minutes > 0 {
            room.tasks.push((pool, now, now + minutes));
            room.tasks.sort();
        }
    }
}
