//! Kits, shipments, and what the week begins with.

use super::{Size, Week};
use std::collections::BTreeMap;

/// Parts in one kit, kits inside counted in full.
type Bill = BTreeMap<String, i64>;

impl Week {
    /// Kits, one of them perhaps inside another, and shipments of them up to the week's size.
    pub(super) fn orders(&mut self) {
        let bills = self.kits();
        let mut runs = match self.size {
            Size::Tiny => self.chance.between(4, 8),
            Size::Middling => self.chance.between(12, 40),
            Size::Large => self.chance.between(60, 150),
        };
        let shipments = if self.size == Size::Tiny { self.chance.between(1, 2) } else { self.chance.between(2, 4) };
        for number in 1..=shipments {
            let share = runs / (shipments - number + 1);
            runs -= self.shipment(number, share, &bills, number == 1);
        }
    }

    fn kits(&mut self) -> Vec<(String, Bill)> {
        let names: Vec<String> = self.parts.iter().map(|p| p.name.clone()).collect();
        let mut bills: Vec<(String, Bill)> = Vec::new();
        for number in 1..=self.chance.between(1, 3) {
            let kit = format!("kit{number}");
            let items = self.chance.between(1, names.len().min(5) as i64);
            let mut bill = Bill::new();
            for part in self.chance.sample(&names, items as usize) {
                let quantity = self.chance.of(&[1, 1, 1, 2, 3]);
                self.tables.row("kits", &[("kit", &kit), ("item", &part), ("quantity", &quantity)]);
                bill.insert(part, quantity);
            }
            if let Some((inner, parts)) = bills.last().filter(|_| self.chance.percent(35)) {
                self.tables.row("kits", &[("kit", &kit), ("item", inner), ("quantity", &1)]);
                for (part, count) in parts {
                    *bill.entry(part.clone()).or_default() += count;
                }
            }
            bills.push((kit, bill));
        }
        bills
    }

    /// One shipment of one or two kits in at most so many runs (the first has at least one kit all the same); gives the
    /// runs it needs.
    fn shipment(&mut self, number: i64, runs: i64, bills: &[(String, Bill)], at_least_one: bool) -> i64 {
        let chance = &mut self.chance;
        let reach = 700 + 8 * runs.max(10) * chance.between(4, 14);
        let release = if chance.percent(25) { self.calendar.wall(chance.between(30, 1500)) } else { String::new() };
        let due = if chance.percent(70) { self.calendar.wall(chance.between(300, reach)) } else { String::new() };
        let weight = chance.of(&["1", "1", "2", "3", "0.5", "0.125"]);
        let kits = chance.between(1, 2) as usize;
        let chosen = chance.sample(bills, kits);
        let mut left = runs;
        for (kit, bill) in &chosen {
            let share = left / chosen.len() as i64;
            let mut quantity = (1..=200).take_while(|&kits| self.runs_for(bill, kits) <= share).count() as i64;
            if quantity == 0 && at_least_one && left == runs {
                quantity = 1;
            }
            if quantity == 0 {
                continue;
            }
            left -= self.runs_for(bill, quantity);
            let boxed = self.packs && self.chance.percent(70);
            let per_box = if boxed { self.chance.between(1, 8).max(quantity / 12) } else { 0 };
            let per_box = if boxed { per_box.to_string() } else { String::new() };
            self.tables.row(
                "shipments",
                &[
                    ("shipment", &format!("lot{number}")),
                    ("kit", kit),
                    ("quantity", &quantity),
                    ("release", &release),
                    ("due", &due),
                    ("weight", &weight),
                    ("per_box", &per_box),
                ],
            );
        }
        runs - left
    }

    /// Runs of the largest plates for so many kits.
    fn runs_for(&self, bill: &Bill, kits: i64) -> i64 {
        let of = |name: &String| self.parts.iter().find(|p| p.name == *name).map_or(1, |p| p.most);
        bill.iter().map(|(part, count)| (count * kits + of(part) - 1) / of(part)).sum()
    }

    /// Stock, and plates still on printers: printing at the start, or ready since before it.
    pub(super) fn opening(&mut self) {
        for part in self.parts.clone() {
            if self.chance.percent(20) {
                let quantity = self.chance.between(1, 5);
                self.tables.row("stock", &[("part", &part.name), ("quantity", &quantity)]);
            }
        }
        let down: Vec<String> = self.tables.rows("downtime").iter().map(|row| row["printer"].clone()).collect();
        for (printer, group) in self.printers.clone() {
            let is_up = !down.iter().any(|name| *name == printer || name == group);
            if is_up && self.chance.percent(20) {
                let plates: Vec<_> = self.plates.iter().filter(|p| p.group == group).cloned().collect();
                let plate = self.chance.of(&plates);
                let ready = if self.chance.percent(70) {
                    plate.cool + self.chance.between(1, 400)
                } else {
                    -self.chance.between(0, 90)
                };
                let ready = self.calendar.wall(ready);
                self.tables.row("running", &[("printer", &printer), ("plate", &plate.name), ("ready", &ready)]);
            }
        }
    }
}
