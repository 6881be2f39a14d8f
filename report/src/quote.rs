//! An answer to "when could this order be ready?", as figures and as a page.

use crate::costs::{Decimal, cost_sheet, money};
use crate::page::{Grid, Lean, Page};
use crate::wall::{Wall, clock_hours};
use platewright_model::instance::{MaterialId, ShipmentId};
use platewright_model::plan::ShipmentPlan;
use platewright_model::{Count, Instance, Instant, Minutes, Plan, kits};

/// What a wish would need: so many more of something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// In words: `2 more printers of group small`.
    pub words: String,
    /// When the order is ready then.
    pub ready: Instant,
    /// The folder of the plan that shows it, within the out folder.
    pub folder: String,
}

/// How a wished date stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// A plan keeps it.
    Holds,
    /// No plan can.
    Never,
    /// No plan was found that does, and none is excluded.
    NotFound,
}

/// A wished date and its answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wished {
    /// The date.
    pub due: Instant,
    /// How it stands.
    pub verdict: Verdict,
    /// What would make it hold, each the least of its kind that was found; empty where it holds.
    pub needs: Vec<Need>,
}

/// The date to say, with room for what fails.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Promise {
    /// The date.
    pub by: Instant,
    /// Parts made on top, to cover what may be lost.
    pub spares: u64,
}

/// Everything that a quote answers.
pub struct Quote<'q> {
    /// The farm as it stands, and its plan.
    pub before: (&'q Instance, &'q Plan),
    /// The farm with the order due at the date that was found, and its plan.
    pub with: (&'q Instance, &'q Plan),
    /// The order.
    pub order: ShipmentId,
    /// No plan has it ready before.
    pub not_before: Instant,
    /// A plan has it ready by then.
    pub by: Instant,
    /// Whether the ordinary planner finds such a plan when asked for that due date.
    pub confirmed: bool,
    /// The wished date.
    pub wished: Option<Wished>,
    /// The date with a margin; none where the tables state no rates, or where no plan with spares was found.
    pub promise: Option<Promise>,
    /// Grams on a spool.
    pub spool: u32,
}

/// Another shipment, before and with the order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Effect {
    /// Its name.
    pub shipment: String,
    /// When it is ready without the order.
    pub before: Instant,
    /// When it is ready with it.
    pub with: Instant,
    /// When it is due.
    pub due: Option<Instant>,
}

/// Filament that goes into the order.
#[derive(Debug, Clone, PartialEq)]
pub struct Filament {
    /// Of which material.
    pub material: MaterialId,
    /// How much; parts without stated grams weigh nothing.
    pub grams: f64,
    /// Full spools that hold it.
    pub spools: u64,
}

impl Quote<'_> {
    /// The order's name.
    pub fn name(&self) -> &str {
        self.with.0.shipments.get(self.order.index()).map_or("", |s| s.name.as_str())
    }

    /// What the order does to the other shipments.
    pub fn effects(&self) -> Vec<Effect> {
        let others = self.with.1.shipments.iter().filter(|s| s.shipment != self.name());
        let effect = |with: &ShipmentPlan| {
            let before = self.before.1.shipments.iter().find(|before| before.shipment == with.shipment)?;
            Some(Effect { shipment: with.shipment.clone(), before: before.ready, with: with.ready, due: with.due })
        };
        others.filter_map(effect).collect()
    }

    /// Filament by material, in the instance's order.
    pub fn filament(&self) -> Vec<Filament> {
        let instance = self.with.0;
        let mut grams = vec![0.0; instance.materials.len()];
        for (part, count) in kits::needs(instance, self.order) {
            if let Some(part) = instance.parts.get(part.index())
                && let Some(sum) = grams.get_mut(part.material.index())
            {
                *sum += part.grams.unwrap_or(0.0) * count.0 as f64;
            }
        }
        let spools = |grams: f64| (grams / f64::from(self.spool) - 1e-9).ceil() as u64;
        (0..)
            .map(MaterialId)
            .zip(grams)
            .filter(|(_, grams)| *grams > 0.0)
            .map(|(material, grams)| Filament { material, grams, spools: spools(grams) })
            .collect()
    }

    /// Operator minutes at work, and money, more than without the order; money where the farm states costs.
    pub fn more_work_and_money(&self) -> (Minutes, Option<(String, Decimal)>) {
        let work = self.with.1.claims.operator_minutes - self.before.1.claims.operator_minutes;
        let costs = cost_sheet(self.with.0, self.with.1).zip(cost_sheet(self.before.0, self.before.1));
        (work, costs.map(|(with, before)| (with.currency.clone(), with.total() - before.total())))
    }

    /// Parts of the order that have no stated weight.
    fn without_grams(&self) -> Vec<&str> {
        let needs = kits::needs(self.with.0, self.order);
        let parts = needs.iter().filter_map(|(part, _)| self.with.0.parts.get(part.index()));
        parts.filter(|part| part.grams.is_none()).map(|part| part.name.as_str()).collect()
    }

    /// The page.
    pub fn page(&self) -> String {
        let wall = Wall::of(self.with.0);
        let mut page = Page::new(&format!("A quote by {}", self.with.0.farm.name));
        page.blank();
        page.say(&format!("{}: {}.", self.name(), self.asked_for()));
        page.say(&self.dates(wall));
        if let Some(wished) = &self.wished {
            self.wished_section(wished, wall, &mut page);
        }
        self.promise_section(wall, &mut page);
        self.effects_section(wall, &mut page);
        self.means_section(&mut page);
        page.text()
    }

    fn asked_for(&self) -> String {
        let instance = self.with.0;
        let lines = instance.shipments.get(self.order.index()).map_or(&[][..], |s| &s.lines);
        let kit = |line: &platewright_model::instance::ShipmentLine| {
            format!("{} x {}", line.quantity, instance.kits.get(line.kit.index()).map_or("", |k| k.name.as_str()))
        };
        lines.iter().map(kit).collect::<Vec<_>>().join(", ")
    }

    fn dates(&self, wall: Wall<'_>) -> String {
        let by = wall.say(self.by);
        if self.not_before >= self.by {
            return format!(
                "With the other shipments' dates kept, it can be ready by {by}, and no plan has it sooner: that is proven."
            );
        }
        let luck = if self.confirmed { "" } else { ", by a search of its own that `plan` may not repeat" };
        if self.not_before <= self.with.0.farm.start {
            return format!(
                "With the other shipments' dates kept, it can be ready by {by}{luck}. How much sooner a plan could have it is not known."
            );
        }
        format!(
            "With the other shipments' dates kept, it can be ready by {by}{luck}; no plan has it before {}, that is proven.",
            wall.say(self.not_before)
        )
    }

    fn wished_section(&self, wished: &Wished, wall: Wall<'_>, page: &mut Page) {
        let due = wall.say(wished.due);
        page.heading("The wished date");
        page.say(&match wished.verdict {
            Verdict::Holds => format!("Yes: {due} holds."),
            Verdict::Never => {
                format!("No: no plan of this farm has it ready by {due} beside the others. That is proven.")
            }
            Verdict::NotFound => format!(
                "No plan was found that has it ready by {due} beside the others. That none exists is not proven."
            ),
        });
        if wished.verdict == Verdict::Holds {
            return;
        }
        if wished.needs.is_empty() {
            page.say("No single change that was tried makes it hold.");
            return;
        }
        page.say("It would hold with any one of these, the least of each kind that was found by planning:");
        for need in &wished.needs {
            page.item(&format!("{}: ready {}", need.words, wall.say(need.ready)));
        }
    }

    fn promise_section(&self, wall: Wall<'_>, page: &mut Page) {
        page.heading("What to promise");
        page.say(&match &self.promise {
            Some(promise) => format!(
                "{}. That leaves room for {} parts on top, which by the failure and reject rates of the tables cover the \
                 losses of each part in about nineteen cases of twenty; it was found by planning with them.",
                wall.say(promise.by),
                promise.spares
            ),
            None => "The date above has no margin: the tables state no failure or reject rates for these parts, or no \
                     plan with spare parts was found. Leave room for what fails."
                .to_owned(),
        });
    }

    fn effects_section(&self, wall: Wall<'_>, page: &mut Page) {
        let effects = self.effects();
        if effects.is_empty() {
            return;
        }
        page.heading("The other shipments");
        let mut grid = Grid::new([
            ("shipment", Lean::Left),
            ("ready without", Lean::Left),
            ("ready with it", Lean::Left),
            ("due", Lean::Left),
        ]);
        for effect in effects {
            grid.row([
                effect.shipment,
                wall.column(effect.before),
                wall.column(effect.with),
                effect.due.map_or_else(|| "any time".to_owned(), |due| wall.column(due)),
            ]);
        }
        page.table(&grid);
    }

    fn means_section(&self, page: &mut Page) {
        page.heading("What it takes");
        for filament in self.filament() {
            let material = self.with.0.materials.get(filament.material.index()).map_or("", String::as_str);
            let spools = if filament.spools == 1 { "spool" } else { "spools" };
            page.item(&format!(
                "{material}: {:.0} g, {} {spools} of {} g",
                filament.grams,
                Count(filament.spools),
                self.spool
            ));
        }
        let without = self.without_grams();
        if !without.is_empty() {
            page.item(&format!("Filament of {} is not counted: parts.csv states no grams.", without.join(", ")));
        }
        let (work, cost) = self.more_work_and_money();
        page.item(&format!("Crew: {} hours at work more than without it.", clock_hours(work)));
        if let Some((currency, cost)) = cost {
            page.item(&format!(
                "Cost: {} {currency} more than without it (printers, crew on shift until the plan ends, filament, energy).",
                money(cost)
            ));
        }
    }
}
