//! The owner's answer in one screen: will it ship, when, how sure is that, what does it cost, how near the best is it.

use super::{Extras, Place};
use crate::bound;
use crate::html::shown;
use crate::shipments::{Standing, standings};
use crate::wall::Wall;
use crate::warnings::{Warning, warnings};
use platewright_model::{Instance, Minutes, Plan};

/// The answer, and the questions that follow it.
pub(super) struct Answer {
    /// One or two sentences.
    pub(super) ships: String,
    /// Something is late.
    pub(super) late: bool,
    /// Questions with their answers.
    pub(super) facts: Vec<(&'static str, String)>,
}

/// The answer of a plan that was checked.
pub(super) fn answer(instance: &Instance, plan: &Plan, extras: &Extras) -> Answer {
    let standings = standings(plan);
    let late = standings.iter().any(|standing| standing.spare.is_some_and(|spare| spare < Minutes::ZERO));
    let first_words =
        |place| extras.additions.iter().find(|addition| addition.place == place).and_then(|a| a.words.first().cloned());
    let sure = first_words(Place::Rehearsal).unwrap_or_else(|| how_sure(instance, plan, &standings));
    let costs = first_words(Place::Costs).unwrap_or_else(|| {
        "Not known: farm.toml has no section [costs] that says what hours and filament cost.".into()
    });
    let facts = vec![
        ("How sure is that?", sure),
        ("What does it cost?", costs),
        ("How near the best possible?", bound::on_value(instance, plan)),
    ];
    Answer { ships: ships(instance, &standings), late, facts }
}

fn ships(instance: &Instance, standings: &[Standing]) -> String {
    let wall = Wall::of(instance);
    let Some(last) = standings.iter().max_by_key(|standing| standing.ready) else {
        return "There is nothing to ship.".to_owned();
    };
    let (name, ready) = (shown(&last.shipment), wall.say(last.ready));
    let late: Vec<&Standing> =
        standings.iter().filter(|s| s.spare.is_some_and(|spare| spare < Minutes::ZERO)).collect();
    let due = standings.iter().filter(|standing| standing.due.is_some()).count();
    if let Some(worst) = late.iter().min_by_key(|standing| standing.spare) {
        let by = Minutes(-worst.spare.map_or(0, |spare| spare.0));
        let worst = shown(&worst.shipment);
        return match (late.len(), standings.len()) {
            (1, 1) => format!("Not in time: {name} is ready {ready}, {by} after it is due."),
            (1, all) => format!("Not all in time: of {all} shipments {worst} is late, by {by}. All are ready {ready}."),
            (some, all) => format!(
                "Not in time: {some} of {all} shipments are late, {worst} the most, by {by}. All are ready {ready}."
            ),
        };
    }
    match (due, standings.len()) {
        (0, 1) => format!("It ships whenever you like from {ready} on, when {name} is ready; it has no due date."),
        (0, all) => format!("All {all} shipments are ready {ready}; none has a due date."),
        (_, 1) => format!("Yes: {name} is ready {ready}, in time."),
        (due, all) if due == all => format!("Yes: all {all} shipments are ready in time, the last, {name}, {ready}."),
        (_, all) => {
            format!("Yes: of {all} shipments none is late; the last, {name}, is ready {ready}. Some have no due date.")
        }
    }
}

/// Where nobody has rehearsed the plan: the least time to spare, and what the rates in the tables do to it.
fn how_sure(instance: &Instance, plan: &Plan, standings: &[Standing]) -> String {
    let tight = standings.iter().filter(|standing| standing.spare.is_some()).min_by_key(|standing| standing.spare);
    let margin = match tight {
        Some(Standing { shipment, spare: Some(spare), .. }) if *spare >= Minutes::ZERO => {
            format!("The tightest is {}, with {spare} to spare. ", shown(shipment))
        }
        _ => String::new(),
    };
    let rates = warnings(instance, plan).into_iter().find(|warning| matches!(warning, Warning::Rates { .. }));
    let rates = rates.map_or_else(
        || "The tables state no failures or rejects, so the dates count on every plate.".to_owned(),
        |warning| shown(&warning.words(instance)),
    );
    format!("{margin}{rates}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::html::plan::Addition;
    use crate::sample;

    #[test]
    fn the_owner_is_told_what_is_late_and_what_is_not() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        let said = |plan: &Plan| answer(&instance, plan, &Extras::default());
        let ready = plan.shipments[0].ready;
        plan.shipments[0].due = Some(ready);
        assert!(said(&plan).ships.starts_with("Yes: shop is ready ") && !said(&plan).late, "{}", said(&plan).ships);
        plan.shipments[0].due = Some(ready - Minutes(90));
        assert!(said(&plan).ships.starts_with("Not in time: shop is ready ") && said(&plan).late);
        assert!(said(&plan).ships.ends_with(", 1 h 30 min after it is due."), "{}", said(&plan).ships);
        let mut other = plan.shipments[0].clone();
        other.shipment = "other".to_owned();
        other.ready = ready - Minutes(600);
        plan.shipments.push(other);
        assert!(said(&plan).ships.starts_with("Not all in time: of 2 shipments shop is late, by 1 h 30 min. All are"));
        plan.shipments[1].due = Some(ready - Minutes(700));
        assert!(
            said(&plan).ships.starts_with("Not in time: 2 of 2 shipments are late, other the most, by 1 h 40 min.")
        );
        plan.shipments.iter_mut().for_each(|shipment| shipment.due = Some(ready));
        assert!(said(&plan).ships.starts_with("Yes: all 2 shipments are ready in time, the last, shop, "));
        plan.shipments[1].due = None;
        assert!(said(&plan).ships.starts_with("Yes: of 2 shipments none is late"));
        plan.shipments[0].due = None;
        assert!(said(&plan).ships.ends_with("none has a due date."), "{}", said(&plan).ships);
    }

    #[test]
    fn costs_and_rehearsals_answer_where_there_are_some() {
        let instance = sample::instance();
        let plan = sample::plan(&instance);
        let mut extras = Extras::default();
        let facts = |extras: &Extras| answer(&instance, &plan, extras).facts.into_iter().map(|(_, said)| said);
        assert!(facts(&extras).any(|said| said.starts_with("Not known: farm.toml")));
        for (place, words) in [(Place::Costs, "EUR 12."), (Place::Rehearsal, "Of 9 none was late.")] {
            let (heading, words) = (String::new(), vec![words.to_owned()]);
            extras.additions.push(Addition { place, heading, words, tables: Vec::new() });
        }
        let said: Vec<String> = facts(&extras).collect();
        assert_eq!(said[..2], ["Of 9 none was late.", "EUR 12."]);
    }
}
