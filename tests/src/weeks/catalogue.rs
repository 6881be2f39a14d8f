//! Parts, their plates, and plates with two parts.

use super::{Part, Plate, Size, Week};

impl Week {
    /// Each part has one plate on every group, perhaps others on some, and perhaps shares one.
    pub(super) fn catalogue(&mut self) {
        let (least, most) = match self.size {
            Size::Tiny => (1, 3),
            Size::Middling => (2, 5),
            Size::Large => (3, 8),
        };
        let own_handling = self.chance.percent(40);
        for number in 1..=self.chance.between(least, most) {
            self.part(format!("part{number}"), own_handling);
        }
        if self.chance.percent(60) {
            self.mixed_plate(own_handling);
        }
    }

    fn part(&mut self, name: String, own_handling: bool) {
        let chance = &mut self.chance;
        let bag = (self.bags && chance.percent(60)).then(|| chance.of(&[4, 6, 12]));
        let material = chance.of(&self.materials);
        let per_bag = bag.map_or(String::new(), |bag| bag.to_string());
        let finish = chance.of(&[0, 0, 10, 45]);
        self.tables.row(
            "parts",
            &[("part", &name), ("material", &material), ("finish_minutes", &finish), ("per_bag", &per_bag)],
        );
        let closing: Vec<i64> = [1, 2, 3, 4, 6, 8].into_iter().filter(|n| bag.is_none_or(|b| b % n == 0)).collect();
        let main = chance.of(&closing);
        let mut most = main;
        for group in self.groups.clone() {
            self.plate(&format!("{name}-a"), group, &[(&name, main)], own_handling);
        }
        for letter in ["b", "c"] {
            if self.chance.percent(45) {
                let copies = self.chance.of(&[1, 2, 3, 4, 5, 6, 8]);
                let group = self.chance.of(&self.groups);
                self.plate(&format!("{name}-{letter}"), group, &[(&name, copies)], own_handling);
                if closing.contains(&copies) || bag.is_none() {
                    most = most.max(copies);
                }
            }
        }
        self.parts.push(Part { name, material, most });
    }

    fn mixed_plate(&mut self, own_handling: bool) {
        let material = self.chance.of(&self.materials);
        let alike: Vec<String> = self.parts.iter().filter(|p| p.material == material).map(|p| p.name.clone()).collect();
        if let [one, other] = &self.chance.sample(&alike, 2)[..] {
            let copies = [(one.as_str(), self.chance.of(&[1, 2])), (other.as_str(), self.chance.of(&[1, 2, 4]))];
            let group = self.chance.of(&self.groups);
            self.plate("mixed", group, &copies, own_handling);
        }
    }

    fn plate(&mut self, name: &str, group: &'static str, copies: &[(&str, i64)], own_handling: bool) {
        let chance = &mut self.chance;
        let (low, high) = chance.of(&[(40, 160), (120, 420), (400, 900)]);
        let minutes = chance.between(low, high).min(self.longest);
        let cool = chance.of(&[0, 0, 10, 40]);
        let own = |minutes: i64| if own_handling { minutes.to_string() } else { String::new() };
        let (load, harvest) = (own(chance.between(0, 9)), own(chance.between(0, 14)));
        for (part, copies) in copies {
            self.tables.row(
                "plates",
                &[
                    ("plate", &name),
                    ("group", &group),
                    ("part", part),
                    ("copies", copies),
                    ("minutes", &minutes),
                    ("cool_minutes", &cool),
                    ("load_minutes", &load),
                    ("harvest_minutes", &harvest),
                ],
            );
        }
        self.plates.push(Plate { name: name.to_owned(), group, cool });
    }
}
