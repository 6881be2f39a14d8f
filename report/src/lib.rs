//! What a person sees of a plan: figures derived from the instance and the plan, and the page that shows them.
//!
//! Each module asks one question of a plan and answers it twice: with typed figures, for anything that wants to reckon
//! on, and with its section of the page. [`summary`] strings the sections together. Nothing here reads or writes a
//! file, plans, or judges a plan; on a plan that breaks rules the figures are still defined, and no name that the
//! instance does not know makes anything panic.

pub mod bound;
pub mod changes;
pub mod comparison;
pub mod costs;
pub mod crew;
pub mod gains;
pub mod hours;
pub mod html;
pub mod labels;
pub mod layouts;
pub mod ledger;
pub mod losses;
pub mod nights;
pub mod page;
pub mod paper;
pub mod phases;
pub mod quote;
pub mod regression;
pub mod rehearsal;
pub mod sheet;
pub mod shipments;
pub mod span;
pub mod spares;
pub mod surplus;
pub mod wall;
pub mod warnings;
pub mod watch;
pub mod why;
pub mod working_time;

#[cfg(test)]
mod sample;

use page::Page;
use platewright_model::{Instance, Plan};

/// The page shown after planning: what is promised, how good that is, where the hours go, and what to look out for.
pub fn summary(instance: &Instance, plan: &Plan) -> String {
    let mut page = Page::new(&format!("The plan for {}", instance.farm.name));
    bound::section(instance, plan, &mut page);
    shipments::section(instance, plan, &mut page);
    bound::prices_section(plan, &mut page);
    hours::section(instance, plan, &mut page);
    crew::section(instance, plan, &mut page);
    nights::section(instance, plan, &mut page);
    spares::section(instance, plan, &mut page);
    surplus::section(instance, plan, &mut page);
    warnings::section(instance, plan, &mut page);
    page.text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use unicode_width::UnicodeWidthStr;

    #[test]
    fn the_page_fits_eighty_columns_whatever_the_names() {
        let mut instance = sample::instance();
        let mut plan = sample::plan(&instance);
        instance.farm.name = "Ærøskøbing ".repeat(20);
        instance.groups[0] = "風".repeat(70);
        instance.crews[0] = "long-crew-name-".repeat(9);
        instance.parts[0].name = "cup\u{1b}[2J".to_owned();
        plan.shipments[0].shipment = "shipment ".repeat(15);
        plan.claims.notes.push("The time limit ended the search.".to_owned());
        plan.claims.prices.push("one more operator hour on Monday is worth 12 min".to_owned());
        let text = summary(&instance, &plan);
        assert!(text.lines().all(|l| l.width() <= page::WIDTH && l == l.trim_end()), "{text}");
        assert!(!text.contains('\u{1b}'));
        // Dates of another year take more room.
        instance.farm.start = sample::at(-300, 7, 0);
        let text = summary(&instance, &plan);
        assert!(text.contains("2026 07:04") && text.lines().all(|l| l.width() <= page::WIDTH), "{text}");
    }

    #[test]
    fn a_plan_with_nothing_to_do_has_a_page() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.runs.clear();
        plan.tasks.clear();
        plan.allocation.clear();
        plan.shipments[0].ready = instance.farm.start;
        plan.claims.value = platewright_model::Minutes(0);
        plan.claims.bound = platewright_model::Minutes(0);
        let text = summary(&instance, &plan);
        assert!(text.contains("proven best possible") && !text.contains("Printer hours"), "{text}");
    }
}
