//! The object of `plates`.

use platewright_model::{Instance, Plan};
use platewright_report::layouts::room::UsualDay;
use platewright_report::layouts::{Candidate, Layout, Study};
use serde::Serialize;

/// What `plates --json` prints.
#[derive(Debug, Serialize)]
pub struct Plates {
    outcome: &'static str,
    usual_shift_minutes: i64,
    usual_night_minutes: Option<i64>,
    parts: Vec<StudyObject>,
    chosen: Vec<String>,
    before: Option<Figures>,
    after: Option<Figures>,
}

#[derive(Debug, Serialize)]
struct StudyObject {
    part: String,
    group: String,
    fixed_minutes: Option<f64>,
    minutes_per_copy: Option<f64>,
    largest_residual_minutes: Option<f64>,
    standard_deviation_minutes: Option<f64>,
    layouts: Vec<LayoutObject>,
}

#[derive(Debug, Serialize)]
struct LayoutObject {
    copies: u64,
    plate: Option<String>,
    minutes: i64,
    outside_known_counts: bool,
    printer_minutes_per_part: f64,
    at_risk: u64,
    in_a_shift: i64,
    in_a_night_minutes: Option<i64>,
    harvests_per_thousand: u64,
}

#[derive(Debug, Serialize)]
struct Figures {
    makespan_minutes: i64,
    late_minutes: f64,
    bound_minutes: i64,
    runs: u64,
}

/// The two plans, and the layouts that the second runs.
pub struct Told<'t> {
    /// With the plates that are known.
    pub before: &'t Plan,
    /// With the chosen layouts.
    pub after: &'t Plan,
    /// Which.
    pub chosen: &'t [Candidate],
}

/// The studies, and what the planner made of them.
pub fn plates(instance: &Instance, studies: &[Study], told: Option<Told<'_>>) -> Plates {
    let day = UsualDay::of(instance);
    let figures = |plan: &Plan| Figures {
        makespan_minutes: plan.claims.makespan.0,
        late_minutes: plan.claims.late.in_minutes(),
        bound_minutes: plan.claims.bound.0,
        runs: plan.claims.runs.0,
    };
    Plates {
        outcome: "done",
        usual_shift_minutes: day.staffed.0,
        usual_night_minutes: day.night.map(|night| night.0),
        parts: studies.iter().map(|s| study(instance, s, day)).collect(),
        chosen: told.iter().flat_map(|t| t.chosen).map(|c| c.plate.clone()).collect(),
        before: told.as_ref().map(|t| figures(t.before)),
        after: told.as_ref().map(|t| figures(t.after)),
    }
}

fn study(instance: &Instance, study: &Study, day: UsualDay) -> StudyObject {
    let fit = study.fit.as_ref().ok();
    let layout = |layout: &Layout| LayoutObject {
        copies: layout.copies,
        plate: layout.plate.clone(),
        minutes: layout.minutes.0,
        outside_known_counts: layout.stretched,
        printer_minutes_per_part: layout.per_part(),
        at_risk: layout.copies,
        in_a_shift: layout.in_a_shift(day),
        in_a_night_minutes: layout.in_a_night(instance, day).map(|printed| printed.0),
        harvests_per_thousand: layout.harvests_per_thousand(),
    };
    StudyObject {
        part: instance.parts.get(study.part.index()).map(|p| p.name.clone()).unwrap_or_default(),
        group: instance.groups.get(study.group.index()).cloned().unwrap_or_default(),
        fixed_minutes: fit.map(|fit| fit.fixed),
        minutes_per_copy: fit.map(|fit| fit.per_copy),
        largest_residual_minutes: fit.map(|fit| fit.worst()),
        standard_deviation_minutes: fit.and_then(|fit| fit.deviation()),
        layouts: study.layouts.iter().map(layout).collect(),
    }
}
