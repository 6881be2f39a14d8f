//! Printers, their downtime, and the crews.

use super::{Size, Week};

impl Week {
    /// Printers of one or two groups, with what is loaded on them, and when they are down.
    pub(super) fn room(&mut self) {
        let chance = &mut self.chance;
        self.materials = ["PLA", "PETG", "ASA"][..chance.of(&[1, 2, 2, 3])].to_vec();
        self.groups = if chance.percent(60) { vec!["small", "large"] } else { vec!["small"] };
        let (least, most) = match self.size {
            Size::Tiny => (2, 3),
            Size::Middling => (3, 7),
            Size::Large => (6, 14),
        };
        for number in 1..=chance.between(least, most) {
            let group = self.groups[number as usize % self.groups.len()];
            let printer = format!("P{number:02}");
            let mut loaded = self.materials.clone();
            loaded.push("");
            self.tables.row(
                "printers",
                &[("printer", &printer), ("group", &group), ("bay", &"B1"), ("material", &chance.of(&loaded))],
            );
            self.printers.push((printer, group));
        }
        for _ in 0..chance.of(&[0, 0, 1, 2, 3]) {
            let whole_group = chance.percent(20);
            let whose = if whole_group { chance.of(&self.groups).to_owned() } else { chance.of(&self.printers).0 };
            let from = chance.between(0, 4000);
            let to = from + chance.between(60, 1000);
            let (from, to) = (self.calendar.wall(from), self.calendar.wall(to));
            self.tables.row("downtime", &[("printer", &whose), ("from", &from), ("to", &to), ("reason", &"service")]);
        }
    }

    /// The crews' shifts, in one of several shapes, and perhaps a closure.
    pub(super) fn crews(&mut self) {
        let most = if self.size == Size::Large { 3 } else { 2 };
        let several = self.chance.between(1, most);
        let rows: Vec<(&str, &str, &str, &str, i64)> = match self.chance.between(0, 7) {
            0 => vec![("day", "daily", "07:00", "19:30", several)],
            1 => vec![("day", "daily", "07:00", "12:00", several), ("day", "daily", "14:00", "20:00", several)],
            2 => vec![("early", "daily", "06:00", "14:30", several), ("late", "daily", "14:00", "22:00", 1)],
            3 => vec![("early", "Mon-Fri", "06:00", "15:00", 1), ("late", "daily", "12:00", "21:00", several)],
            4 => vec![("day", "daily", "08:00", "17:00", several), ("owl", "daily", "22:00", "02:30", 1)],
            5 => vec![("day", "daily", "06:00", "18:00", several), ("day", "daily", "18:00", "24:00", 1)],
            6 => vec![
                ("round", "daily", "00:00", "12:00", 1),
                ("round", "daily", "10:00", "24:00", several),
                ("round", "Mon-Fri", "06:00", "14:00", 1),
            ],
            _ => vec![
                ("week", "Mon-Fri", "07:00", "20:00", several),
                ("weekend", "Sat,Sun", "09:00", "13:00", 1),
                ("weekend", "Sat,Sun", "13:00", "16:00", 1),
            ],
        };
        for (crew, days, from, to, operators) in rows {
            self.shift(crew, days, from, to, operators);
        }
        if self.chance.percent(20) {
            let date = self.calendar.date(self.chance.between(0, 4) as u64);
            self.shift("helper", &date, "09:00", "16:00", 1);
        }
        if self.chance.percent(25) {
            let date = self.calendar.date(self.chance.between(1, 4) as u64);
            self.tables.row("closures", &[("date", &date), ("note", &"holiday")]);
        }
    }

    fn shift(&mut self, crew: &str, days: &str, from: &str, to: &str, operators: i64) {
        let cells: [(_, &dyn ToString); 5] =
            [("crew", &crew), ("days", &days), ("from", &from), ("to", &to), ("operators", &operators)];
        self.tables.row("shifts", &cells);
    }
}
