//! What one more of something gains: plans for changed farms beside the plan of the farm as it is.

use crate::page::{Grid, Lean, Page};
use crate::wall::Wall;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};

/// One change and the plan with it.
pub struct Gain<'g> {
    /// In words.
    pub words: String,
    /// The folder of the plan within the out folder.
    pub folder: String,
    /// The plan.
    pub plan: &'g Plan,
}

impl Gain<'_> {
    /// Weighted lateness less, and makespan less, than the base; never below zero, because a farm that has more can do
    /// what it did before.
    pub fn over(&self, base: &Plan) -> (WeightedMinutes, Minutes) {
        let late = WeightedMinutes((base.claims.late.0 - self.plan.claims.late.0).max(0));
        let sooner = Minutes((base.claims.makespan - self.plan.claims.makespan).0.max(0));
        // Being less late may take longer.
        (late, sooner)
    }

    /// Whether the gain is all that there is: both plans are proven best possible.
    pub fn is_proven(&self, base: &Plan) -> bool {
        use platewright_model::plan::Outcome::Optimal;
        base.claims.outcome == Optimal && self.plan.claims.outcome == Optimal
    }
}

/// Gains, the greatest first.
pub fn sorted<'g>(mut gains: Vec<Gain<'g>>, base: &Plan) -> Vec<Gain<'g>> {
    gains.sort_by_key(|gain| std::cmp::Reverse(gain.over(base)));
    gains
}

/// The gains as a section of a page, over a plan of the farm as it is, which may be better than the one that is
/// explained.
pub fn section(instance: &Instance, (explained, base): (&Plan, &Plan), gains: &[Gain<'_>], page: &mut Page) {
    let wall = Wall::of(instance);
    page.heading("What one more of something would gain");
    page.say(
        "Each found by going on from this plan in the changed farm; a dash where no plan that ships sooner was found.",
    );
    if base.claims.makespan != explained.claims.makespan || base.claims.late != explained.claims.late {
        page.say(&format!(
            "In the same way a plan is found for the farm as it is that ships {}; the gains are those over it.",
            wall.say(instance.farm.start + base.claims.makespan)
        ));
    }
    let mut grid = Grid::new([
        ("change", Lean::Left),
        ("ships", Lean::Left),
        ("sooner", Lean::Right),
        ("less late", Lean::Right),
        ("", Lean::Left),
    ]);
    for gain in gains {
        let (late, sooner) = gain.over(base);
        let none = "-".to_owned();
        grid.row([
            gain.words.clone(),
            wall.column(instance.farm.start + gain.plan.claims.makespan),
            if sooner > Minutes::ZERO { sooner.to_string() } else { none },
            match late {
                WeightedMinutes::ZERO => String::new(),
                late => Minutes(late.in_minutes().round() as i64).to_string(),
            },
            if gain.is_proven(base) { "proven".to_owned() } else { String::new() },
        ]);
    }
    page.table(&grid.without_columns_of(""));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn gains_are_sorted_and_never_below_zero() {
        let instance = sample::instance();
        let base = sample::plan(&instance);
        let with = |minutes: i64, late: i64| {
            let mut plan = base.clone();
            plan.claims.makespan = base.claims.makespan - Minutes(minutes);
            plan.claims.late = WeightedMinutes(base.claims.late.0 - late);
            plan
        };
        let (worse, some, more) = (with(-5, -7), with(30, 0), with(60, 0));
        let gain = |words: &str, plan| Gain { words: words.to_owned(), folder: String::new(), plan };
        let gains = sorted(vec![gain("worse", &worse), gain("some", &some), gain("more", &more)], &base);
        let told: Vec<(&str, i64)> = gains.iter().map(|g| (g.words.as_str(), g.over(&base).1.0)).collect();
        assert_eq!(told, [("more", 60), ("some", 30), ("worse", 0)]);
        assert_eq!(gains[2].over(&base), (WeightedMinutes(0), Minutes(0)));
        let mut page = Page::new("t");
        section(&instance, (&base, &base), &gains, &mut page);
        let text = page.text();
        assert!(text.contains("more") && text.contains("1 h") && !text.contains("less late"), "{text}");
    }
}
