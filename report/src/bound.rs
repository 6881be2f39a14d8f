//! How good the plan is, in words: what it promises, and how much better any plan could be.

use crate::page::Page;
use crate::wall::Wall;
use platewright_model::plan::{Claims, Objective};
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};

/// The sentences on the objective's own figure.
pub fn on_value(instance: &Instance, plan: &Plan) -> String {
    let claims = &plan.claims;
    let proven = claims.bound >= claims.value;
    let start = instance.farm.start;
    let wall = Wall::of(instance);
    let rivals = rivals(instance, claims);
    match plan.objective {
        Objective::Soonest => {
            let ships = wall.say(start + claims.value);
            if proven {
                format!(
                    "Everything ships by {ships}, {} after the start. {rivals} ships sooner: this is proven best possible.",
                    claims.value
                )
            } else if claims.bound <= Minutes::ZERO {
                format!(
                    "Everything ships by {ships}, {} after the start. How much sooner a plan could ship is not known.",
                    claims.value
                )
            } else {
                let earliest = wall.say(start + claims.bound);
                format!("{rivals} can ship before {earliest}; this one ships {ships}, {}.", distance(claims.gap()))
            }
        }
        Objective::LeastIdle => {
            if proven {
                format!(
                    "The printers idle for {} in all. {rivals} has less: this is proven best possible.",
                    claims.value
                )
            } else if claims.bound <= Minutes::ZERO {
                format!("The printers idle for {} in all. How much less a plan could have is not known.", claims.value)
            } else {
                format!(
                    "{rivals} can have less than {} of idle printer time; this one has {}, {}.",
                    claims.bound,
                    claims.value,
                    distance(claims.gap())
                )
            }
        }
    }
}

/// The sentences on lateness; none where nothing is late.
pub fn on_lateness(claims: &Claims) -> Option<String> {
    if claims.late <= WeightedMinutes::ZERO {
        return None;
    }
    let late = weighted(claims.late);
    Some(if claims.late_bound >= claims.late {
        format!("Weighted lateness is {late}: no plan can be less late, this is proven best possible.")
    } else if claims.late_bound <= WeightedMinutes::ZERO {
        format!("Weighted lateness is {late}; whether it could be avoided is not known.")
    } else {
        format!("Weighted lateness is {late}; no plan can have less than {}.", weighted(claims.late_bound))
    })
}

/// The bound on the value holds against plans no later past due, and says so where that narrows it.
fn rivals(instance: &Instance, claims: &Claims) -> &'static str {
    if claims.late > WeightedMinutes::ZERO {
        "No plan that is as little late"
    } else if instance.shipments.iter().any(|s| s.due.is_some()) {
        "No plan that keeps the due dates"
    } else {
        "No plan"
    }
}

fn distance(gap: f64) -> String {
    let percent = gap * 100.0;
    match percent {
        p if p < 0.01 => "less than 0.01 % from the best possible".to_owned(),
        p if p < 0.1 => format!("at most {p:.2} % from the best possible"),
        p => format!("at most {p:.1} % from the best possible"),
    }
}

fn weighted(late: WeightedMinutes) -> String {
    Minutes((late.in_minutes()).round() as i64).to_string()
}

pub(crate) fn section(instance: &Instance, plan: &Plan, page: &mut Page) {
    page.blank();
    page.say(&on_value(instance, plan));
    if let Some(words) = on_lateness(&plan.claims) {
        page.say(&words);
    }
    let claims = &plan.claims;
    page.say(&format!("Runs: {}. Found by the {} engine, seed {}.", claims.runs, claims.engine, claims.seed));
    for note in &claims.notes {
        page.say(&format!("Note: {note}"));
    }
}

/// What the prices behind the bound say: what is scarce, and what more of it would be worth.
pub fn prices_section(plan: &Plan, page: &mut Page) {
    if !plan.claims.prices.is_empty() {
        page.heading("What sets the pace");
        plan.claims.prices.iter().for_each(|price| page.item(price));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn the_bound_is_told_as_dates() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.claims.value = Minutes(3000);
        plan.claims.bound = Minutes(2988);
        assert_eq!(
            on_value(&instance, &plan),
            "No plan that keeps the due dates can ship before Wed 4 Mar 08:48; this one ships Wed 4 Mar 09:00, at most \
             0.4 % from the best possible."
        );
        plan.claims.bound = Minutes(3000);
        assert!(on_value(&instance, &plan).ends_with("proven best possible."));
        plan.claims.bound = Minutes(0);
        assert!(on_value(&instance, &plan).ends_with("not known."));
    }

    #[test]
    fn idle_time_is_told_as_a_length() {
        let instance = sample::instance();
        let mut plan = sample::plan(&instance);
        plan.objective = Objective::LeastIdle;
        plan.claims.late = WeightedMinutes(60_000);
        plan.claims.value = Minutes(1500);
        plan.claims.bound = Minutes(1440);
        assert_eq!(
            on_value(&instance, &plan),
            "No plan that is as little late can have less than 1 d of idle printer time; this one has 1 d 1 h, at most \
             4.0 % from the best possible."
        );
    }

    #[test]
    fn lateness_has_a_sentence_of_its_own() {
        let mut claims = sample::plan(&sample::instance()).claims;
        assert_eq!(on_lateness(&claims), None);
        claims.late = WeightedMinutes(90_000);
        assert_eq!(
            on_lateness(&claims).unwrap(),
            "Weighted lateness is 1 h 30 min; whether it could be avoided is not known."
        );
        claims.late_bound = WeightedMinutes(60_000);
        assert_eq!(on_lateness(&claims).unwrap(), "Weighted lateness is 1 h 30 min; no plan can have less than 1 h.");
        claims.late_bound = claims.late;
        assert!(on_lateness(&claims).unwrap().ends_with("proven best possible."));
    }

    #[test]
    fn a_small_gap_is_not_told_as_none() {
        assert_eq!(distance(0.00001), "less than 0.01 % from the best possible");
        assert_eq!(distance(0.0004), "at most 0.04 % from the best possible");
    }
}
