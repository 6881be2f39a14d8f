//! Saved instances planned again and held against what was reached before.
//!
//! What was reached stands in `expected.toml` beside the tables:
//!
//! ```toml
//! value_minutes = 10315     # makespan
//! bound_minutes = 7311      # proven: no plan ships sooner
//! late_minutes = 0          # weighted
//! ```
//!
//! or, where no plan exists, `infeasible = true`. Lateness counts before the value, as in planning. A lower bound that
//! has become weaker is told and is no failure: the plan is as good as it was.

use crate::page::{Grid, Lean, Page};
use platewright_model::{Minutes, Plan, WeightedMinutes};
use serde::{Deserialize, Serialize};

/// The file's name.
pub const FILE: &str = "expected.toml";

/// What planning an instance came to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reached {
    /// Makespan in minutes; none without a plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value_minutes: Option<i64>,
    /// Proven lower bound on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bound_minutes: Option<i64>,
    /// Weighted lateness in minutes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub late_minutes: Option<f64>,
    /// Whether it is proven that no plan exists.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub infeasible: bool,
}

impl Reached {
    /// What a plan comes to.
    pub fn plan(plan: &Plan) -> Reached {
        let claims = &plan.claims;
        Reached {
            value_minutes: Some(claims.value.0),
            bound_minutes: Some(claims.bound.0),
            late_minutes: Some(claims.late.in_minutes()),
            infeasible: false,
        }
    }

    /// No plan.
    pub fn none(proven: bool) -> Reached {
        Reached { value_minutes: None, bound_minutes: None, late_minutes: None, infeasible: proven }
    }

    /// Reads `expected.toml`.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn read(text: &str) -> Result<Reached, String> {
        let reached: Reached = toml::from_str(text).map_err(|error| error.message().to_owned())?;
        match (reached.value_minutes, reached.late_minutes, reached.infeasible) {
            (Some(_), Some(late), false) if late >= 0.0 => Ok(reached),
            (None, None, true) => Ok(reached),
            _ => Err("it needs value_minutes, bound_minutes and late_minutes, or infeasible = true".to_owned()),
        }
    }

    /// The text of `expected.toml`.
    pub fn text(&self) -> String {
        // Three numbers and a flag always have a TOML form.
        let keys = toml::to_string(self).unwrap_or_default();
        format!("# What the planner reached on these tables. `platewright regress --record` renews it.\n{keys}")
    }

    /// What plans are compared by: those that are there first, then lateness, then value.
    fn merit(&self) -> Option<(WeightedMinutes, i64)> {
        Some((WeightedMinutes::from_minutes(self.late_minutes?)?, self.value_minutes?))
    }
}

/// How what is reached now stands to what was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// A better plan, or a plan where none was.
    Better,
    /// As good a plan, and a stronger bound.
    BoundBetter,
    /// Nothing changed.
    Same,
    /// As good a plan, and a weaker bound.
    BoundWorse,
    /// A worse plan, or none where one was.
    Worse,
    /// Nothing was recorded.
    New,
    /// The planner's plan breaks a rule.
    Invalid,
}

impl Verdict {
    /// Holds what is reached now against what was.
    pub fn of(now: &Reached, was: Option<&Reached>) -> Verdict {
        let Some(was) = was else { return Verdict::New };
        match (now.merit(), was.merit()) {
            (Some(now), Some(was)) if now < was => Verdict::Better,
            (Some(now), Some(was)) if now > was => Verdict::Worse,
            (Some(_), None) => Verdict::Better,
            (None, Some(_)) => Verdict::Worse,
            (None, None) => match (now.infeasible, was.infeasible) {
                (false, true) => Verdict::BoundWorse,
                (true, false) => Verdict::BoundBetter,
                _ => Verdict::Same,
            },
            (Some(_), Some(_)) => match now.bound_minutes.cmp(&was.bound_minutes) {
                std::cmp::Ordering::Greater => Verdict::BoundBetter,
                std::cmp::Ordering::Equal => Verdict::Same,
                std::cmp::Ordering::Less => Verdict::BoundWorse,
            },
        }
    }

    /// Whether it is what should not happen.
    pub fn fails(self) -> bool {
        matches!(self, Verdict::Worse | Verdict::Invalid)
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Better => "better",
            Verdict::BoundBetter => "bound better",
            Verdict::Same => "same",
            Verdict::BoundWorse => "bound worse",
            Verdict::Worse => "worse",
            Verdict::New => "not recorded",
            Verdict::Invalid => "invalid plan",
        }
    }
}

/// One instance planned again.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Its folder, as found.
    pub name: String,
    /// What is reached now.
    pub now: Reached,
    /// What was recorded.
    pub was: Option<Reached>,
    /// How the two compare.
    pub verdict: Verdict,
}

/// The page: a row for each instance, and what it comes to.
pub fn page(cases: &[Case]) -> String {
    let mut page = Page::new("Saved instances, planned again");
    page.blank();
    let mut grid = Grid::new([
        ("instance", Lean::Left),
        ("value", Lean::Right),
        ("was", Lean::Right),
        ("bound", Lean::Right),
        ("was", Lean::Right),
        ("late", Lean::Right),
        ("was", Lean::Right),
        ("", Lean::Left),
    ]);
    for case in cases {
        let was = case.was.unwrap_or(Reached::none(false));
        let figure = |minutes: Option<i64>| minutes.map(|minutes| minutes.to_string()).unwrap_or_default();
        let late = |minutes: Option<f64>| minutes.map(|minutes| minutes.to_string()).unwrap_or_default();
        grid.row([
            case.name.clone(),
            figure(case.now.value_minutes),
            figure(was.value_minutes),
            figure(case.now.bound_minutes),
            figure(was.bound_minutes),
            late(case.now.late_minutes),
            late(was.late_minutes),
            case.verdict.word().to_owned(),
        ]);
    }
    page.table(&grid);
    page.say("In minutes. Value: the makespan; bound: proven lower bound on it; late: weighted.");
    let count = |wanted: &dyn Fn(Verdict) -> bool| cases.iter().filter(|case| wanted(case.verdict)).count();
    let (failed, better) = (count(&Verdict::fails), count(&|verdict| verdict == Verdict::Better));
    let gained: i64 = cases.iter().filter_map(|case| Some(case.was?.value_minutes? - case.now.value_minutes?)).sum();
    page.say(&format!(
        "{} instances: {better} better, {failed} failed; the makespans together are {}.",
        cases.len(),
        match gained {
            0 => "as they were".to_owned(),
            gained if gained > 0 => format!("{} shorter", Minutes(gained)),
            gained => format!("{} longer", Minutes(-gained)),
        }
    ));
    page.text()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reached(value: i64, bound: i64, late: f64) -> Reached {
        Reached { value_minutes: Some(value), bound_minutes: Some(bound), late_minutes: Some(late), infeasible: false }
    }

    #[test]
    fn lateness_counts_before_the_value_and_the_bound_fails_nothing() {
        let was = reached(100, 80, 5.0);
        let verdict = |now: Reached| Verdict::of(&now, Some(&was));
        assert_eq!(verdict(was), Verdict::Same);
        assert_eq!(verdict(reached(120, 80, 4.0)), Verdict::Better);
        assert_eq!(verdict(reached(90, 80, 6.0)), Verdict::Worse);
        assert_eq!(verdict(reached(101, 90, 5.0)), Verdict::Worse);
        assert_eq!(verdict(reached(100, 81, 5.0)), Verdict::BoundBetter);
        assert_eq!(verdict(reached(100, 79, 5.0)), Verdict::BoundWorse);
        assert_eq!(verdict(Reached::none(true)), Verdict::Worse);
        assert_eq!(Verdict::of(&was, None), Verdict::New);
        assert_eq!(Verdict::of(&was, Some(&Reached::none(true))), Verdict::Better);
        assert_eq!(Verdict::of(&Reached::none(true), Some(&Reached::none(true))), Verdict::Same);
        let failing: Vec<bool> =
            [Verdict::Worse, Verdict::Invalid, Verdict::BoundWorse, Verdict::New].map(Verdict::fails).to_vec();
        assert_eq!(failing, [true, true, false, false]);
    }

    #[test]
    fn the_file_reads_back_and_nonsense_is_refused() {
        for reached in [reached(100, 80, 5.5), Reached::none(true)] {
            assert_eq!(Reached::read(&reached.text()), Ok(reached));
        }
        for text in
            ["", "value_minutes = 3", "value = 3", "infeasible = false", "value_minutes = \"x\"", "late_minutes = "]
        {
            assert!(Reached::read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_page_counts() {
        let case = |now: Reached, was: Reached| Case {
            name: "a".into(),
            now,
            was: Some(was),
            verdict: Verdict::of(&now, Some(&was)),
        };
        let text =
            page(&[case(reached(90, 80, 0.0), reached(100, 80, 0.0)), case(reached(5, 5, 0.0), reached(4, 4, 0.0))]);
        assert!(text.contains("2 instances: 1 better, 1 failed; the makespans together are 9 min shorter."), "{text}");
    }
}
