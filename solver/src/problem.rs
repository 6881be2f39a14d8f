//! The instance compiled for searching: whole minutes from the start, alike printers counted, kits expanded.
//!
//! Nothing is decided here. What can never be used is left out: plates that break the bag count, plates that no shipment
//! needs (unless a changeover might ride on them, or idle minutes count), stretches of staff beyond the horizon.

use crate::spares;
use platewright_model::instance::{CrewId, GroupId, Instance, PlateId, PlateOnGroup, PrinterId};
use platewright_model::{Instant, Minutes, kits, roster};
use std::collections::BTreeMap;

/// Minutes from the farm's start; the horizon is at most 730 days, so every sum of a few of them fits.
pub type Min = i32;

/// The release of a shipment that has none: even what was on a printer before the start may go into it.
pub const NO_RELEASE: Min = -2_000_000_000;

/// When the runs that are on printers at the start count as loaded: before any stated release.
pub const BEFORE_START: Min = -1_999_999_999;

/// A plate on one group, as a printer executes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mode {
    /// The plate.
    pub plate: PlateId,
    /// The group whose minutes these are.
    pub group: GroupId,
    /// Index of its material.
    pub material: usize,
    /// Operator minutes to load, without a changeover.
    pub load: Min,
    /// Printing minutes.
    pub print: Min,
    /// Cooling minutes.
    pub cool: Min,
    /// Operator minutes to harvest.
    pub harvest: Min,
    /// Copies of each part (index into the instance's parts).
    pub yields: Vec<(usize, i64)>,
}

impl Mode {
    /// From the end of the load to ready.
    pub fn to_ready(&self) -> Min {
        self.print + self.cool
    }
}

/// What stands on a printer at the start.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct OnPrinter {
    /// Index into [`Problem::modes`] (a mode that need not be in any class's list).
    pub mode: usize,
    /// When it may be harvested; negative where it waits since before the start.
    pub ready: Min,
}

/// Printers that are alike in everything a plan can see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// Their group.
    pub group: GroupId,
    /// The material they hold at the start; none: the first load needs no changeover.
    pub material: Option<usize>,
    /// Downtime within the horizon, merged, in order, half-open.
    pub downtime: Vec<(Min, Min)>,
    /// The run that is on them at the start.
    pub running: Option<OnPrinter>,
    /// Modes they may load.
    pub modes: Vec<usize>,
    /// Nothing is loaded from here on; no rule of a farm says so, but a day that is searched by itself ends there.
    pub loads_until: Option<Min>,
    /// Which printers they are.
    pub printers: Vec<PrinterId>,
}

/// Operators of one crew who share a stretch: any of them can take any task inside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pool {
    /// Their crew.
    pub crew: CrewId,
    /// Their numbers within the crew.
    pub operators: Vec<u32>,
    /// On shift from.
    pub from: Min,
    /// Off shift from; a task may end here.
    pub to: Min,
}

/// One line of a shipment that is packed into boxes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Boxes {
    /// Index of the line within the shipment.
    pub line: usize,
    /// Parts in one kit.
    pub kit: Vec<(usize, i64)>,
    /// Kits in the line.
    pub quantity: i64,
    /// Kits in a full box.
    pub per_box: i64,
}

impl Boxes {
    /// How many boxes the line fills.
    pub fn count(&self) -> i64 {
        (self.quantity + self.per_box - 1) / self.per_box
    }

    /// How many kits are in the first `k` boxes.
    pub fn kits_in_first(&self, k: i64) -> i64 {
        (k * self.per_box).min(self.quantity)
    }
}

/// A shipment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Needs by part index, each part once.
    pub needs: Vec<(usize, i64)>,
    /// The same with the spares to aim at; the needs where there is no confidence.
    pub aims: Vec<(usize, i64)>,
    /// The same with the fewest spares of any plan.
    pub least: Vec<(usize, i64)>,
    /// Loads before this minute give nothing to it; [`NO_RELEASE`] where it has none.
    pub release: Min,
    /// The shipment it comes after, with the minutes from when that one is ready; told by [`crate::after`] as releases.
    pub after: Option<(usize, Min)>,
    /// A search is to have it ready by here, because others come after it.
    pub ready_by: Min,
    /// Due minute, if any; may be negative.
    pub due: Option<Min>,
    /// Thousandths of a weighted minute per minute late.
    pub weight: i64,
    /// Lines to pack; empty where packing takes no operator.
    pub boxes: Vec<Boxes>,
}

impl Order {
    /// So many copies of some parts, without spares, at any time.
    pub fn of(needs: Vec<(usize, i64)>) -> Order {
        Order {
            aims: needs.clone(),
            least: needs.clone(),
            needs,
            release: NO_RELEASE,
            after: None,
            ready_by: Min::MAX,
            due: None,
            weight: 0,
            boxes: Vec::new(),
        }
    }
}

/// The compiled instance.
#[derive(Debug, Clone)]
pub struct Problem<'a> {
    /// Where it came from.
    pub instance: &'a Instance,
    /// Nothing reaches beyond this minute.
    pub horizon: Min,
    /// How many materials there are.
    pub materials: usize,
    /// All modes: those any class may load, then those that are only on printers at the start.
    pub modes: Vec<Mode>,
    /// Classes of alike printers.
    pub classes: Vec<Class>,
    /// Pools of operators in order of start.
    pub pools: Vec<Pool>,
    /// Unattended stretches within the horizon, in order. No load can begin or end inside one, so the printers that
    /// print in it are most numerous in its first minute: the limit is one count per stretch.
    pub nights: Vec<(Min, Min)>,
    /// Most printers printing at once in a night; 0 where unattended printing is not allowed.
    pub night_printers: Option<i64>,
    /// Longest printing of one run in one night.
    pub night_minutes: Option<Min>,
    /// Swap of material, before the load.
    pub changeover: Min,
    /// Operator minutes per box; 0: none.
    pub pack_box: Min,
    /// Shipments in the instance's order.
    pub orders: Vec<Order>,
    /// Stock by part index.
    pub stock: Vec<i64>,
    /// Minutes from harvest end to usable, by part index.
    pub finish: Vec<Min>,
    /// With what chance a shipment's parts must suffice, if they must.
    pub confidence: Option<f64>,
    /// Share of copies rejected, by part index.
    pub reject_rate: Vec<f64>,
    /// Share of runs that fail whole, by mode.
    pub failure_rate: Vec<f64>,
}

impl<'a> Problem<'a> {
    /// Compiles the instance.
    pub fn new(instance: &'a Instance) -> Problem<'a> {
        // Even a plate that nobody needs can carry a changeover to a time when there is staff for it.
        let carries = instance.farm.handling.changeover.0 > 0 && instance.materials.len() > 1;
        Problem::compile(instance, carries)
    }

    /// How many printers each class has.
    pub fn printers_by_class(&self) -> Vec<i64> {
        self.classes.iter().map(|c| c.printers.len() as i64).collect()
    }

    /// Compiles the instance for the fewest idle minutes, where a plate that nobody needs can print through a wait.
    pub fn for_least_idle(instance: &'a Instance) -> Problem<'a> {
        Problem::compile(instance, true)
    }

    fn compile(instance: &'a Instance, with_unneeded: bool) -> Problem<'a> {
        let farm = &instance.farm;
        let horizon = farm.horizon_days as Min * 1440;
        let orders = orders(instance);
        let wanted = wanted(instance, &orders);
        let mut modes = Vec::new();
        for plate_id in 0..instance.plates.len() {
            for on in &instance.plates[plate_id].on_groups {
                let useful = with_unneeded || on.copies.iter().any(|(part, _)| wanted[part.index()]);
                if useful && keeps_bags(instance, on) {
                    modes.push(mode(instance, plate_id, on));
                }
            }
        }
        let loadable = modes.len();
        let mut on_printer = BTreeMap::new();
        for running in &instance.running {
            let group = instance.printers[running.printer.index()].group;
            if let Some(on) = instance.plates[running.plate.index()].on(group) {
                let mode = mode(instance, running.plate.index(), on);
                let at = modes.iter().position(|m| *m == mode).unwrap_or_else(|| {
                    modes.push(mode);
                    modes.len() - 1
                });
                let ready = from_start(instance, running.ready);
                on_printer.insert(running.printer, OnPrinter { mode: at, ready });
            }
        }
        let classes = classes(instance, horizon, &modes[..loadable], &modes, &on_printer);
        let night_printers = match (farm.unattended.allowed, farm.unattended.max_printers) {
            (false, _) => Some(0),
            (true, limit) => limit.map(|c| c.0 as i64),
        };
        let mut stock = vec![0; instance.parts.len()];
        for s in &instance.stock {
            stock[s.part.index()] += s.quantity.0 as i64;
        }
        let rate = |m: &Mode| instance.plates[m.plate.index()].on(m.group).map_or(0.0, |on| on.failure_rate);
        let mut problem = Problem {
            instance,
            horizon,
            materials: instance.materials.len(),
            failure_rate: modes.iter().map(rate).collect(),
            modes,
            classes,
            pools: pools(instance),
            nights: roster::unattended(instance)
                .into_iter()
                .map(|(from, to)| (from_start(instance, from), from_start(instance, to)))
                .collect(),
            night_printers,
            night_minutes: farm.unattended.max_minutes.map(clamp),
            changeover: clamp(farm.handling.changeover),
            pack_box: clamp(farm.handling.pack_box),
            orders,
            stock,
            finish: instance.parts.iter().map(|p| clamp(p.finish)).collect(),
            confidence: farm.spares.map(|s| s.confidence),
            reject_rate: instance.parts.iter().map(|p| p.reject_rate).collect(),
        };
        for (order, least) in spares::least(&problem).into_iter().enumerate() {
            problem.orders[order].least = least;
        }
        problem.aimed(0)
    }

    /// The same with the copies to aim at for the confidence, at a level of caution.
    pub fn aimed(mut self, level: u32) -> Problem<'a> {
        for (order, aims) in spares::aim(&self, level).into_iter().enumerate() {
            self.orders[order].aims = aims;
        }
        self
    }

    /// The same with nothing in the other shipments.
    pub fn only(&self, orders: &[usize]) -> Problem<'a> {
        let mut problem = self.clone();
        for (_, o) in problem.orders.iter_mut().enumerate().filter(|o| !orders.contains(&o.0)) {
            *o = Order::of(Vec::new());
        }
        problem
    }

    /// The same with nothing after a minute. Pools and nights up to it keep their places.
    pub fn until(&self, minute: Min) -> Problem<'a> {
        let mut problem = self.clone();
        problem.horizon = minute.min(self.horizon);
        problem.pools.retain(|p| p.from < minute);
        problem.pools.iter_mut().for_each(|p| p.to = p.to.min(minute));
        problem.nights.retain(|n| n.0 < minute);
        problem.nights.iter_mut().for_each(|n| n.1 = n.1.min(minute));
        for class in &mut problem.classes {
            class.downtime.retain(|d| d.0 < minute);
            class.downtime.iter_mut().for_each(|d| d.1 = d.1.min(minute));
        }
        problem
    }

    /// Classes that differ only in how they stand at the start, together.
    pub fn terrains(&self) -> Vec<Vec<usize>> {
        let mut terrains: Vec<Vec<usize>> = Vec::new();
        for (c, class) in self.classes.iter().enumerate() {
            let same = |t: &&mut Vec<usize>| {
                let other = &self.classes[t[0]];
                other.group == class.group && other.downtime == class.downtime
            };
            match terrains.iter_mut().find(same) {
                Some(terrain) => terrain.push(c),
                None => terrains.push(vec![c]),
            }
        }
        terrains
    }

    /// The modes that printers of these classes hold at the start.
    pub fn held_on(&self, classes: &[usize]) -> Vec<usize> {
        let mut held: Vec<usize> =
            classes.iter().filter_map(|&c| self.classes[c].running.as_ref()).map(|r| r.mode).collect();
        held.sort_unstable();
        held.dedup();
        held
    }

    /// The instant of a minute.
    pub fn instant(&self, minute: Min) -> Instant {
        self.instance.farm.start + Minutes(i64::from(minute))
    }

    /// The printing minutes of a run that count against idleness. What was on a printer at the start prints from the
    /// start until it begins to cool, through whatever downtime there is, and minutes that are down count once.
    pub fn printed(&self, class: usize, mode: usize, loaded: bool, ready: Min) -> Min {
        if loaded {
            return self.modes[mode].print;
        }
        let until = (ready - self.modes[mode].cool).max(0);
        let down: Min = self.classes[class].downtime.iter().map(|d| (d.1.min(until) - d.0).max(0)).sum();
        until - down
    }

    /// May a run of this many printing minutes, printing from `from`, respect the longest unattended printing?
    pub fn night_length_allows(&self, from: Min, print: Min) -> bool {
        let Some(most) = self.night_minutes else { return true };
        self.nights_touched(from, from + print).all(|(a, b)| b.min(from + print) - a.max(from) <= most)
    }

    /// The latest each shipment may be in a plan whose weighted lateness is at most `late`.
    pub fn no_later(&self, late: i64) -> Vec<Min> {
        let of_order = |o: &Order| match o.due {
            Some(due) if o.weight > 0 => {
                i64::from(due).saturating_add(late / o.weight).clamp(0, i64::from(self.horizon)) as Min
            }
            _ => self.horizon,
        };
        self.orders.iter().map(of_order).collect()
    }

    /// The nights that a printing interval overlaps.
    pub fn nights_touched(&self, from: Min, to: Min) -> impl Iterator<Item = (Min, Min)> + '_ {
        let first = self.nights.partition_point(|n| n.1 <= from);
        self.nights[first..].iter().copied().take_while(move |n| n.0 < to)
    }
}

/// Minutes from the start, held within what a [`Min`] can carry; only due dates and releases far outside the horizon
/// are ever clipped, and those decide nothing there.
fn from_start(instance: &Instance, instant: Instant) -> Min {
    clamp(instant - instance.farm.start)
}

fn clamp(minutes: Minutes) -> Min {
    minutes.0.clamp(-1_000_000_000, 1_000_000_000) as Min
}

fn orders(instance: &Instance) -> Vec<Order> {
    let packs = instance.farm.handling.pack_box.0 > 0;
    (0..instance.shipments.len())
        .map(|s| {
            let shipment = &instance.shipments[s];
            let needs = kits::needs(instance, platewright_model::instance::ShipmentId(s as u32));
            let boxes = shipment.lines.iter().enumerate().filter(|_| packs).filter_map(|(line, l)| {
                l.per_box.map(|per_box| Boxes {
                    line,
                    kit: counted(kits::parts_of_kit(instance, l.kit)),
                    quantity: l.quantity.0 as i64,
                    per_box: per_box.0 as i64,
                })
            });
            let needs = counted(needs);
            Order {
                aims: needs.clone(),
                least: needs.clone(),
                needs,
                after: shipment.after.map(|a| (a.shipment.index(), clamp(a.hold))),
                ready_by: Min::MAX,
                release: shipment.release.map_or(NO_RELEASE, |r| from_start(instance, r)),
                due: shipment.due.map(|d| from_start(instance, d)),
                weight: shipment.weight.0 as i64,
                boxes: boxes.collect(),
            }
        })
        .collect()
}

fn counted(parts: Vec<(platewright_model::instance::PartId, platewright_model::Count)>) -> Vec<(usize, i64)> {
    parts.into_iter().map(|(p, n)| (p.index(), n.0 as i64)).collect()
}

fn wanted(instance: &Instance, orders: &[Order]) -> Vec<bool> {
    let mut wanted = vec![false; instance.parts.len()];
    for &(part, count) in orders.iter().flat_map(|o| &o.needs) {
        wanted[part] |= count > 0;
    }
    wanted
}

fn keeps_bags(instance: &Instance, on: &PlateOnGroup) -> bool {
    !instance.farm.whole_plates_per_bag
        || on.copies.iter().all(|(part, copies)| {
            instance.parts[part.index()].per_bag.is_none_or(|bag| copies.0 > 0 && bag.0 % copies.0 == 0)
        })
}

fn mode(instance: &Instance, plate: usize, on: &PlateOnGroup) -> Mode {
    Mode {
        plate: PlateId(plate as u32),
        group: on.group,
        material: instance.plates[plate].material.index(),
        load: clamp(on.load),
        print: clamp(on.minutes),
        cool: clamp(on.cool),
        harvest: clamp(on.harvest),
        yields: counted(on.copies.clone()),
    }
}

fn classes(
    instance: &Instance,
    horizon: Min,
    loadable: &[Mode],
    modes: &[Mode],
    on_printer: &BTreeMap<PrinterId, OnPrinter>,
) -> Vec<Class> {
    let mut down: Vec<Vec<(Min, Min)>> = vec![Vec::new(); instance.printers.len()];
    for d in &instance.downtime {
        let (from, to) = (from_start(instance, d.from).max(0), from_start(instance, d.to).min(horizon));
        if from < to {
            down[d.printer.index()].push((from, to));
        }
    }
    type Key = (GroupId, Option<usize>, Vec<(Min, Min)>, Option<OnPrinter>);
    let mut by_key: BTreeMap<Key, Vec<PrinterId>> = BTreeMap::new();
    for (p, printer) in instance.printers.iter().enumerate() {
        let id = PrinterId(p as u32);
        let running = on_printer.get(&id).cloned();
        // What is on the printer has been loaded, whatever the table says was there before it.
        let material = running.as_ref().map(|r| modes[r.mode].material).or(printer.material.map(|m| m.index()));
        by_key.entry((printer.group, material, merged(&mut down[p]), running)).or_default().push(id);
    }
    let mut classes: Vec<Class> = by_key
        .into_iter()
        .map(|((group, material, downtime, running), printers)| {
            let of_group = (0..loadable.len()).filter(|&m| loadable[m].group == group).collect();
            Class { group, material, downtime, running, modes: of_group, loads_until: None, printers }
        })
        .collect();
    classes.sort_by_key(|c| c.printers[0]);
    classes
}

fn merged(stretches: &mut [(Min, Min)]) -> Vec<(Min, Min)> {
    stretches.sort_unstable();
    let mut out: Vec<(Min, Min)> = Vec::new();
    for &(from, to) in stretches.iter() {
        match out.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => out.push((from, to)),
        }
    }
    out
}

fn pools(instance: &Instance) -> Vec<Pool> {
    let mut by_stretch: BTreeMap<(Min, Min, CrewId), Vec<u32>> = BTreeMap::new();
    for s in roster::stretches(instance) {
        let key = (from_start(instance, s.from), from_start(instance, s.to), s.crew);
        by_stretch.entry(key).or_default().push(s.operator);
    }
    by_stretch.into_iter().map(|((from, to, crew), operators)| Pool { crew, operators, from, to }).collect()
}
