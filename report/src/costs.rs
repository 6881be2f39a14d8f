//! What a plan costs, by the figures of `[costs]`: the one place where money is reckoned.
//!
//! | line | is |
//! | --- | --- |
//! | printers | printing hours times `printer_hour` |
//! | crew | operator hours on shift, from the start to the end of the plan, times `operator_hour` |
//! | night premium | those between 22:00 and 06:00 times `operator_hour` times `night_premium` |
//! | filament | kilograms printed times `filament_kg`, for the runs that the plan loads |
//! | energy | printing hours times `printer_watts` in kilowatts times `energy_kwh` |
//!
//! A run that is on its printer at the start has its filament behind it, and costs what it still prints. Parts without
//! `grams` weigh nothing. Each line is exact until it is rounded to the cent, half a cent up; the total is the sum of the
//! lines as shown, so that a column adds up by hand.

use crate::phases::{Names, phases};
use crate::span::Span;
use crate::watch::{CrewTime, crew_time};
use platewright_model::instance::{Costs, MaterialId};
use platewright_model::{Count, Instance, Minutes, Plan};
pub use rust_decimal::Decimal;
use rust_decimal::RoundingStrategy;
use std::collections::BTreeMap;

/// What a plan costs, each line rounded to the cent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostSheet {
    /// `currency`.
    pub currency: String,
    /// For the hours that printers print.
    pub printers: Decimal,
    /// For the hours that operators are on shift.
    pub crew: Decimal,
    /// What is added for those between 22:00 and 06:00.
    pub night_premium: Decimal,
    /// For what is printed.
    pub filament: Decimal,
    /// For the hours that printers print.
    pub energy: Decimal,
    /// Kits that are shipped, those within kits not counted again.
    pub kits: Count,
}

impl CostSheet {
    /// The sum of the lines.
    pub fn total(&self) -> Decimal {
        self.printers + self.crew + self.night_premium + self.filament + self.energy
    }

    /// The total over the kits, rounded to the cent; none where nothing is shipped.
    pub fn per_kit(&self) -> Option<Decimal> {
        self.total().checked_div(Decimal::from(self.kits.0)).map(to_the_cent)
    }

    /// The lines with their names, in the order in which they are told.
    pub fn lines(&self) -> [(&'static str, Decimal); 5] {
        [
            ("printers", self.printers),
            ("crew", self.crew),
            ("night premium", self.night_premium),
            ("filament", self.filament),
            ("energy", self.energy),
        ]
    }
}

/// Reckons what a plan costs; nothing where the farm states no costs.
pub fn cost_sheet(instance: &Instance, plan: &Plan) -> Option<CostSheet> {
    let costs = instance.farm.costs.as_ref()?;
    let grams: Decimal = filament(instance, plan).values().sum();
    Some(sheet(costs, printing(instance, plan), crew_time(instance, plan), grams, kits_shipped(instance)))
}

fn sheet(costs: &Costs, printing: Minutes, crew: CrewTime, grams: Decimal, kits: Count) -> CostSheet {
    // Multiplied before it is divided: a third of an hour has no last decimal.
    let by_hour = |minutes: Minutes, rate: Decimal| to_the_cent(Decimal::from(minutes.0) * rate / Decimal::from(60));
    let thousand = Decimal::from(1000);
    let kilowatts = exact(costs.printer_watts) / thousand;
    CostSheet {
        currency: costs.currency.clone(),
        printers: by_hour(printing, exact(costs.printer_hour)),
        crew: by_hour(crew.paid.all, exact(costs.operator_hour)),
        night_premium: by_hour(crew.paid.night, exact(costs.operator_hour) * exact(costs.night_premium)),
        filament: to_the_cent(grams * exact(costs.filament_kg) / thousand),
        energy: by_hour(printing, kilowatts * exact(costs.energy_kwh)),
        kits,
    }
}

/// Printing minutes from the start on, over all printers.
fn printing(instance: &Instance, plan: &Plan) -> Minutes {
    let span = Span::of_plan(instance, plan);
    phases(instance, plan).iter().map(|run| run.printing.within(span).length()).sum()
}

/// Grams of each material in the runs that the plan loads, in the instance's order of materials.
pub fn filament(instance: &Instance, plan: &Plan) -> BTreeMap<MaterialId, Decimal> {
    let names = Names::of(instance);
    let mut grams: BTreeMap<MaterialId, Decimal> = BTreeMap::new();
    let loaded = plan.runs.iter().filter(|run| run.load.is_some());
    for (_, _, plate) in loaded.filter_map(|run| names.plate_of(run)) {
        for (part, copies) in &plate.copies {
            let Some(part) = instance.parts.get(part.index()) else { continue };
            *grams.entry(part.material).or_default() += exact(part.grams.unwrap_or(0.0)) * Decimal::from(copies.0);
        }
    }
    grams
}

/// Kits in all shipments; a kit within a kit belongs to the one that is shipped.
fn kits_shipped(instance: &Instance) -> Count {
    Count(instance.shipments.iter().flat_map(|shipment| &shipment.lines).map(|line| line.quantity.0).sum())
}

/// The decimal that was written in the table.
fn exact(figure: f64) -> Decimal {
    // What tables admit is finite and far below the largest decimal.
    Decimal::try_from(figure).unwrap_or_default()
}

fn to_the_cent(amount: Decimal) -> Decimal {
    let mut rounded = amount.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero);
    rounded.rescale(2);
    rounded
}

/// Money as it is shown: `1,234.50`, with a minus where it is below zero.
pub fn money(amount: Decimal) -> String {
    let text = to_the_cent(amount).abs().to_string();
    let (whole, cents) = text.split_once('.').unwrap_or((&text, "00"));
    let mut grouped = String::new();
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    let sign = if amount.is_sign_negative() && !to_the_cent(amount).is_zero() { "-" } else { "" };
    format!("{sign}{grouped}.{cents}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use crate::watch::Watch;

    fn costs() -> Costs {
        Costs {
            currency: "EUR".into(),
            printer_hour: 0.35,
            operator_hour: 18.0,
            night_premium: 0.25,
            filament_kg: 17.0,
            energy_kwh: 0.24,
            printer_watts: 120.0,
        }
    }

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn the_sample_adds_up_by_hand() {
        let mut instance = sample::instance();
        instance.farm.costs = Some(costs());
        instance.parts[1].grams = Some(142.5);
        instance.parts[0].grams = Some(9.0);
        let sheet = cost_sheet(&instance, &sample::plan(&instance)).unwrap();
        // 50 + 2 x 600 minutes of printing at 0.35 an hour: 7.291666...
        assert_eq!(sheet.printers, decimal("7.29"));
        // 1,204 minutes on shift at 18 an hour.
        assert_eq!(sheet.crew, decimal("361.20"));
        assert_eq!(sheet.night_premium, decimal("0.00"));
        // Two bases are loaded, the cups were on the printer: 285 g at 17 a kilogram is 4.845, half a cent up.
        assert_eq!(sheet.filament, decimal("4.85"));
        // 1,250 minutes of 120 W are 2.5 kWh.
        assert_eq!(sheet.energy, decimal("0.60"));
        assert_eq!(sheet.total(), decimal("373.94"));
        assert_eq!((sheet.kits, sheet.per_kit()), (Count(2), Some(decimal("186.97"))));
        assert_eq!(sheet.lines().map(|(_, amount)| amount).iter().sum::<Decimal>(), sheet.total());
    }

    #[test]
    fn nights_cost_their_premium_on_top() {
        let time = CrewTime {
            paid: Watch { all: Minutes(600), night: Minutes(480), weekend: Minutes(0) },
            ..CrewTime::default()
        };
        let sheet = sheet(&costs(), Minutes(0), time, Decimal::ZERO, Count(0));
        // Ten hours at 18, eight of them a quarter dearer.
        assert_eq!((sheet.crew, sheet.night_premium), (decimal("180.00"), decimal("36.00")));
        assert_eq!(sheet.per_kit(), None);
    }

    #[test]
    fn a_farm_without_costs_has_no_sheet() {
        let instance = sample::instance();
        assert_eq!(cost_sheet(&instance, &sample::plan(&instance)), None);
    }

    #[test]
    fn money_is_shown_in_thousands_and_cents() {
        let shown = |text: &str| money(decimal(text));
        assert_eq!(shown("1234567.5"), "1,234,567.50");
        assert_eq!(shown("-1912"), "-1,912.00");
        assert_eq!(shown("0.005"), "0.01");
        assert_eq!(shown("-0.004"), "0.00");
        assert_eq!(shown("999"), "999.00");
    }
}
