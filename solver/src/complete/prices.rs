//! Bounds from prices.
//!
//! Give each part that is needed a price and each minute of an operator another. On each printer the best history from
//! a moment on, parts earned less operator minutes paid, is found by going back through the minutes; it asks nothing of
//! the other printers. If all printers together, with what their plates already hold and with all the operator time
//! there is sold at its price, earn less than what is needed is worth, no plan within the goal's limits follows from
//! that state. This holds for any prices that are not negative (Lagrangian relaxation of the needs and of the
//! operators); good ones are found once, at the start of a pass, by subgradient steps, and are whole numbers, so that
//! no rounding is in the way of the proof.

use super::facts::Facts;
use super::state::{Holds, State};
use super::timetable::{Offer, Timetable};
use crate::problem::Min;

/// What all needs together are worth; no single price is higher, so that sums over minutes stay in range.
const WORTH: f64 = 1e9;

/// More than anything costs; two hundred times this is still a number.
const DEAR: i64 = 1 << 48;

/// Less than anything that can be earned.
const NOTHING: i64 = i64::MIN / 64;

/// Prices, and the best earnings under them.
pub(super) struct Prices {
    /// By pair: of one part.
    part: Vec<i64>,
    /// By minute: of all minutes before it, for one operator.
    paid: Vec<i64>,
    /// By minute: of all operators on shift from then on.
    crew: Vec<i64>,
    /// By minute: the cheapest box from then on.
    boxes: Vec<i64>,
    /// By class, material held and minute.
    empty: Vec<Vec<Vec<i64>>>,
    /// By class, plate and ready minute, without what the plate itself gives.
    loaded: Vec<Vec<Vec<i64>>>,
    /// By class, plate, epoch of the load and ready minute, with what it gives.
    future: Vec<Vec<Vec<Vec<i64>>>>,
}

/// Prices in the making.
#[derive(Clone)]
pub(super) struct Guess {
    part: Vec<f64>,
    minute: Vec<f64>,
}

/// Where the best histories under some prices spend and earn.
struct Use {
    parts: Vec<f64>,
    minutes: Vec<f64>,
}

impl Prices {
    /// Works out the best earnings.
    fn new(facts: &Facts<'_>, table: &Timetable, guess: &Guess) -> Prices {
        let length = table.last as usize + 1;
        let part: Vec<i64> = guess.part.iter().map(|&p| p.clamp(0.0, WORTH) as i64).collect();
        let mut paid = vec![0i64; length + 1];
        for t in 0..length {
            paid[t + 1] = paid[t] + guess.minute.get(t).map_or(0, |&p| p.clamp(0.0, WORTH) as i64);
        }
        let mut crew = vec![0i64; length + 1];
        for t in (0..length).rev() {
            crew[t] = crew[t + 1] + (paid[t + 1] - paid[t]) * table.crew[t];
        }
        let pack = facts.problem.pack_box as usize;
        let mut boxes = vec![DEAR; length + 1];
        if !facts.lines.is_empty() {
            for t in (0..length).rev() {
                let can = t + pack <= table.until[t].min(table.last) as usize && table.until[t] >= 0;
                let here = if can { paid[t + pack] - paid[t] } else { DEAR };
                boxes[t] = boxes[t + 1].min(here);
            }
        }
        let mut prices = Prices { part, paid, crew, boxes, empty: Vec::new(), loaded: Vec::new(), future: Vec::new() };
        for class in 0..facts.problem.classes.len() {
            prices.earn(facts, table, class);
        }
        prices
    }

    fn offer(&self, offers: &[Offer], end: Min) -> i64 {
        let at = offers.partition_point(|o| o.until < end);
        offers.get(at).map_or(0, |o| {
            let best = |pairs: &[usize]| pairs.iter().map(|&p| self.part[p]).max().unwrap_or(0);
            o.parts.iter().map(|(pairs, count)| count * best(pairs)).sum()
        })
    }

    fn fee(&self, from: usize, minutes: Min) -> i64 {
        let to = (from + minutes as usize).min(self.paid.len() - 1);
        self.paid[to] - self.paid[from]
    }

    fn earn(&mut self, facts: &Facts<'_>, table: &Timetable, class: usize) {
        let length = table.last as usize + 1;
        let plates = &table.plates[class];
        let epochs = facts.serves.len();
        let mut empty = vec![vec![0i64; length + 1]; facts.problem.materials + 1];
        let mut loaded = vec![vec![NOTHING; length + 1]; plates.len()];
        let mut future = vec![vec![vec![NOTHING; length + 1]; epochs]; plates.len()];
        // What a harvest earns depends on its end only through the offers; one lookup per offer, not per minute.
        let gives: Vec<Vec<Vec<(Min, i64)>>> = plates
            .iter()
            .map(|p| p.gives.iter().map(|g| g.iter().map(|o| (o.until, self.offer(g, o.until))).collect()).collect())
            .collect();
        let earned =
            |plate: usize, epoch: usize, end: Min| gives[plate][epoch].iter().find(|g| g.0 >= end).map_or(0, |g| g.1);
        let mut held: Vec<usize> = plates.iter().map(|p| facts.problem.modes[p.mode].material + 1).collect();
        held.push(facts.problem.classes[class].material.map_or(0, |m| m + 1));
        held.sort_unstable();
        held.dedup();
        for t in (0..length).rev() {
            let epoch = facts.epoch(t as Min);
            for &material in &held {
                let mut best = empty[material][t + 1];
                for (p, plate) in plates.iter().enumerate() {
                    let m = &facts.problem.modes[plate.mode];
                    let minutes = facts.load_minutes(plate.mode, material);
                    let loads = &plate.loads[usize::from(minutes > m.load)];
                    if loads.get(t).is_some_and(|&can| can) {
                        let ready = t + (minutes + m.to_ready()) as usize;
                        if let Some(&then) = future[p][epoch].get(ready) {
                            best = best.max(then - self.fee(t, minutes));
                        }
                    }
                }
                empty[material][t] = best;
            }
            for (p, plate) in plates.iter().enumerate() {
                let m = &facts.problem.modes[plate.mode];
                let end = t + m.harvest as usize;
                let can = plate.harvests[t] && end <= table.last as usize;
                let after = if can { empty[m.material + 1][end] - self.fee(t, m.harvest) } else { NOTHING };
                loaded[p][t] = loaded[p][t + 1].max(after);
                for (e, of_epoch) in future[p].iter_mut().enumerate().skip(1) {
                    let gain = if can { after + earned(p, e, end as Min) } else { NOTHING };
                    of_epoch[t] = of_epoch[t + 1].max(gain);
                }
            }
        }
        self.empty.push(empty);
        self.loaded.push(loaded);
        self.future.push(future);
    }

    /// How much more can be earned from a state than is needed, at best; below zero there is no plan.
    pub(super) fn slack(&self, facts: &Facts<'_>, table: &Timetable, state: &State) -> i64 {
        let now = state.now.clamp(0, table.last + 1) as usize;
        let mut slack = self.crew[now];
        for &(_, until) in &state.busy {
            slack -= self.fee(now, (until - state.now).max(0));
        }
        let mut copies = Copies::default();
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let t = spot.time.clamp(0, table.last + 1) as usize;
            match Holds::of(spot.code) {
                Holds::Nothing { material, .. } => {
                    let closed = facts.fences.is_empty() && is_closed(facts, class, spot.skip);
                    slack += if closed { 0 } else { self.empty[class][material][t] };
                }
                Holds::Run { mode, epoch, carrier } => {
                    let Some(plate) = table.plate(class, mode) else { continue };
                    let earns = self.loaded[class][plate][t];
                    slack += if epoch == 0 { earns.max(0) } else { earns };
                    if !carrier {
                        copies.add(facts, mode, epoch);
                    }
                }
            }
            if slack < NOTHING / 2 {
                return NOTHING;
            }
        }
        slack += self.worth(facts, state, &copies);
        let needed: i64 = state.rest.iter().zip(&self.part).map(|(&r, p)| i64::from(r) * p).sum();
        let open: i64 = facts.lines.iter().zip(&state.packed).map(|(l, k)| i64::from(l.count - k)).sum();
        if open > 0 {
            slack -= open * self.boxes[now];
        }
        slack - needed
    }

    /// The most that what is on the plates can be worth.
    fn worth(&self, facts: &Facts<'_>, state: &State, copies: &Copies) -> i64 {
        let mut worth = 0;
        for &(part, count) in &copies.by_part {
            let pairs = &facts.pairs_of_part[part];
            if let [only] = pairs[..] {
                worth += count.min(i64::from(state.rest[only])) * self.part[only];
                continue;
            }
            let mut dear: Vec<(i64, i64)> = pairs.iter().map(|&p| (self.part[p], i64::from(state.rest[p]))).collect();
            dear.sort_unstable_by(|a, b| b.cmp(a));
            let mut left = count;
            for (price, rest) in dear {
                worth += price * rest.min(left);
                left -= rest.min(left);
            }
        }
        worth
    }

    /// Follows the best histories.
    fn follow(&self, facts: &Facts<'_>, table: &Timetable, state: &State) -> Use {
        let mut used = Use { parts: vec![0.0; facts.pairs.len()], minutes: vec![0.0; table.last as usize + 1] };
        let spend = |used: &mut Use, from: usize, minutes: Min| {
            for t in from..(from + minutes as usize).min(table.last as usize + 1) {
                used.minutes[t] += 1.0;
            }
        };
        let mut copies = Copies::default();
        for (spot, &(class, _)) in state.spots.iter().zip(&facts.printers) {
            let plates = &table.plates[class];
            let mut t = spot.time.clamp(0, table.last + 1) as usize;
            // On the printer: the plate and the epoch of its load, and whether what it gives is still to be counted.
            let mut on = None;
            let mut material = 0;
            match Holds::of(spot.code) {
                Holds::Nothing { material: held, .. } => material = held,
                Holds::Run { mode, epoch, carrier } => {
                    if !carrier {
                        copies.add(facts, mode, epoch);
                    }
                    let Some(plate) = table.plate(class, mode) else { continue };
                    if self.loaded[class][plate][t] <= 0 && epoch == 0 {
                        continue;
                    }
                    on = Some((plate, None));
                }
            }
            while t <= table.last as usize {
                match on {
                    None => {
                        let here = self.empty[class][material][t];
                        if here == 0 || here == self.empty[class][material][t + 1] {
                            if here == 0 {
                                break;
                            }
                            t += 1;
                            continue;
                        }
                        let epoch = facts.epoch(t as Min);
                        let found = plates.iter().enumerate().find_map(|(p, plate)| {
                            let m = &facts.problem.modes[plate.mode];
                            let minutes = facts.load_minutes(plate.mode, material);
                            let can = plate.loads[usize::from(minutes > m.load)].get(t).is_some_and(|&can| can);
                            let ready = t + (minutes + m.to_ready()) as usize;
                            let then = *self.future[class][p][epoch].get(ready)?;
                            (can && then - self.fee(t, minutes) == here).then_some((p, minutes, ready))
                        });
                        let Some((p, minutes, ready)) = found else { break };
                        spend(&mut used, t, minutes);
                        on = Some((p, Some(epoch)));
                        t = ready;
                    }
                    Some((p, epoch)) => {
                        let at = |t: usize| match epoch {
                            Some(e) => self.future[class][p][e][t],
                            None => self.loaded[class][p][t],
                        };
                        if at(t) == at(t + 1) {
                            if at(t) <= NOTHING {
                                break;
                            }
                            t += 1;
                            continue;
                        }
                        let m = &facts.problem.modes[plates[p].mode];
                        spend(&mut used, t, m.harvest);
                        t += m.harvest as usize;
                        if let Some(e) = epoch {
                            let offers = &plates[p].gives[e];
                            let which = offers.partition_point(|o| o.until < t as Min);
                            for (pairs, count) in offers.get(which).map_or(&[][..], |o| &o.parts) {
                                if let Some(&best) = pairs.iter().max_by_key(|&&q| self.part[q]) {
                                    used.parts[best] += *count as f64;
                                }
                            }
                        }
                        material = m.material + 1;
                        on = None;
                    }
                }
            }
        }
        for &(part, count) in &copies.by_part {
            let mut left = count;
            let mut pairs = facts.pairs_of_part[part].clone();
            pairs.sort_by_key(|&p| -self.part[p]);
            for p in pairs {
                let given = left.min(i64::from(state.rest[p]));
                used.parts[p] += given as f64;
                left -= given;
            }
        }
        used
    }
}

/// Copies on plates, by part.
#[derive(Default)]
struct Copies {
    by_part: Vec<(usize, i64)>,
}

impl Copies {
    fn add(&mut self, facts: &Facts<'_>, mode: usize, epoch: usize) {
        for &(part, count) in &facts.problem.modes[mode].yields {
            if !facts.pairs_of_part[part].iter().any(|&p| facts.serves[epoch][facts.pairs[p].order]) {
                continue;
            }
            match self.by_part.iter_mut().find(|c| c.0 == part) {
                Some(same) => same.1 += count,
                None => self.by_part.push((part, count)),
            }
        }
    }
}

fn is_closed(facts: &Facts<'_>, class: usize, skip: u32) -> bool {
    skip.count_ones() as usize == facts.problem.classes[class].modes.len()
}

impl Guess {
    /// Parts at the printer minutes that they take at best; operators for nothing.
    pub(super) fn by_printer_minutes(facts: &Facts<'_>) -> Guess {
        let part: Vec<f64> = facts
            .pairs
            .iter()
            .map(|pair| {
                let loadable = facts.problem.classes.iter().flat_map(|c| &c.modes).map(|&m| &facts.problem.modes[m]);
                let each = loadable.filter_map(|m| {
                    let makes = |y: &&(usize, i64)| y.0 == pair.part;
                    m.yields.iter().find(makes)?;
                    let copies: i64 = m.yields.iter().map(|y| y.1).sum();
                    Some(f64::from(m.load + m.to_ready() + m.harvest) / copies.max(1) as f64)
                });
                each.fold(f64::INFINITY, f64::min)
            })
            .map(|minutes| if minutes.is_finite() { minutes } else { 1.0 })
            .collect();
        Guess { part, minute: Vec::new() }
    }

    /// Makes all that a state needs worth [`WORTH`]; false where it needs nothing.
    fn scale(&mut self, state: &State) -> bool {
        let worth: f64 = self.part.iter().zip(&state.rest).map(|(p, &r)| p * f64::from(r)).sum();
        if worth <= 0.0 {
            return false;
        }
        let by = WORTH / worth;
        self.part.iter_mut().chain(&mut self.minute).for_each(|p| *p = (*p * by).min(WORTH));
        true
    }
}

/// Looks for prices under which a state falls short the most. Returns those and the guess to go on from.
pub(super) fn search(
    facts: &Facts<'_>,
    table: &Timetable,
    state: &State,
    mut guess: Guess,
    rounds: usize,
) -> (Option<Prices>, Guess) {
    guess.minute.resize(table.last as usize + 1, 0.0);
    let mut best: Option<(i64, Prices, Guess)> = None;
    let mut stale = 0;
    let mut reach = 1.0;
    let printers = facts.printers.len().max(1) as f64;
    for _ in 0..rounds.max(1) {
        if !guess.scale(state) {
            break;
        }
        let prices = Prices::new(facts, table, &guess);
        let slack = prices.slack(facts, table, state);
        let used = prices.follow(facts, table, state);
        if best.as_ref().is_none_or(|b| slack < b.0) {
            best = Some((slack, prices, guess.clone()));
            stale = 0;
        } else {
            stale += 1;
        }
        if slack < 0 {
            break;
        }
        if stale >= 4 {
            stale = 0;
            reach /= 2.0;
            if let Some(b) = &best {
                guess = b.2.clone();
                guess.scale(state);
            }
        }
        // Steps in units of what things are worth: a part its price, a minute a printer's share of the whole.
        let minute_unit = WORTH / (printers * f64::from(table.last.max(1)));
        let step_part: Vec<f64> = (0..facts.pairs.len()).map(|p| f64::from(state.rest[p]) - used.parts[p]).collect();
        let step_minute: Vec<f64> = (0..guess.minute.len())
            .map(|t| {
                let over = used.minutes[t] - table.crew[t] as f64;
                if over > 0.0 || guess.minute[t] > 0.0 { over } else { 0.0 }
            })
            .collect();
        let unit_part: Vec<f64> = guess.part.iter().map(|p| p.max(WORTH * 1e-3)).collect();
        let norm: f64 = step_part.iter().zip(&unit_part).map(|(s, u)| (s * u).powi(2)).sum::<f64>()
            + step_minute.iter().map(|s| (s * minute_unit).powi(2)).sum::<f64>();
        if norm <= 0.0 {
            break;
        }
        let length = reach * (slack as f64 + WORTH * 1e-3) / norm;
        for p in 0..guess.part.len() {
            guess.part[p] = (guess.part[p] + length * step_part[p] * unit_part[p].powi(2)).max(0.0);
        }
        for t in 0..guess.minute.len() {
            guess.minute[t] = (guess.minute[t] + length * step_minute[t] * minute_unit.powi(2)).max(0.0);
        }
    }
    match best {
        Some((_, prices, guess)) => (Some(prices), guess),
        None => (None, guess),
    }
}
