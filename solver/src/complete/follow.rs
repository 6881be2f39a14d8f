//! The best history of a printer under prices, as the master counts it.

use super::facts::Facts;
use super::prices::{NOTHING, Prices};
use super::state::{Holds, Spot};
use super::timetable::Timetable;
use crate::problem::Min;

/// What a history covers and takes.
#[derive(Debug, Default, Clone, PartialEq)]
pub(super) struct Column {
    /// Row and count.
    pub rows: Vec<(usize, i64)>,
    /// Slot and operator minutes.
    pub slots: Vec<(usize, i64)>,
    /// Idle minutes, where they have a price.
    pub idle: i64,
}

impl Column {
    fn cover(&mut self, row: usize, count: i64) {
        match self.rows.iter_mut().find(|r| r.0 == row) {
            Some(same) => same.1 += count,
            None => self.rows.push((row, count)),
        }
    }

    fn work(&mut self, table: &Timetable, from: usize, minutes: Min) {
        for t in (from..from + minutes as usize).take_while(|&t| t <= table.last as usize) {
            let slot = table.slot[t];
            match self.slots.last_mut() {
                Some(same) if same.0 == slot => same.1 += 1,
                _ => self.slots.push((slot, 1)),
            }
        }
    }
}

/// The best history from what a printer is doing.
pub(super) fn best(facts: &Facts<'_>, table: &Timetable, prices: &Prices, class: usize, spot: &Spot) -> Column {
    let mut column = Column { idle: i64::from(spot.idle), ..Column::default() };
    let mut printed = spot.printed;
    let mut stay = prices.stay(spot);
    let plates = &table.plates[class];
    let mut t = spot.time.clamp(0, table.last + 1) as usize;
    // The plate on the printer, and the epoch of its load where the history loads it.
    let mut on = None;
    let mut material = 0;
    match Holds::of(spot.code) {
        Holds::Nothing { material: held, .. } => material = held,
        Holds::Run { mode, epoch, .. } => {
            let Some(plate) = table.plate(class, mode) else { return column };
            if prices.loaded[class][plate][t] <= 0 && epoch == 0 && prices.idle == 0 {
                return column;
            }
            on = Some((plate, None));
        }
    }
    while t <= table.last as usize {
        match on {
            None => {
                let here = prices.empty[class][material][t];
                if here + prices.idle * i64::from(printed) <= stay {
                    break;
                }
                if here == prices.empty[class][material][t + 1] {
                    t += 1;
                    continue;
                }
                let epoch = facts.epoch(t as Min);
                let found = plates.iter().enumerate().find_map(|(p, plate)| {
                    let m = &facts.problem.modes[plate.mode];
                    let minutes = facts.load_minutes(plate.mode, material);
                    let can = plate.loads[usize::from(minutes > m.load)].get(t).is_some_and(|&can| can);
                    let ready = t + (minutes + m.to_ready()) as usize;
                    let then = *prices.future[class][p][epoch].get(ready)?;
                    let gain = then - prices.fee(t, minutes) + prices.idle * i64::from(m.print);
                    (can && gain == here).then_some((p, minutes, ready))
                });
                let Some((p, minutes, ready)) = found else { break };
                printed += facts.problem.modes[plates[p].mode].print;
                column.work(table, t, minutes);
                on = Some((p, Some(epoch)));
                t = ready;
            }
            Some((p, epoch)) => {
                let at = |t: usize| match epoch {
                    Some(e) => prices.future[class][p][e][t],
                    None => prices.loaded[class][p][t],
                };
                if at(t) <= NOTHING {
                    break;
                }
                if at(t) == at(t + 1) {
                    t += 1;
                    continue;
                }
                let m = &facts.problem.modes[plates[p].mode];
                column.work(table, t, m.harvest);
                t += m.harvest as usize;
                if let Some(e) = epoch {
                    for &(until, row, count) in &plates[p].counts[e] {
                        if until >= t as Min {
                            column.cover(row, count);
                        }
                    }
                }
                material = m.material + 1;
                column.idle = i64::from(facts.up(class, t as Min) - printed);
                stay = -prices.idle * column.idle;
                on = None;
            }
        }
    }
    column
}
