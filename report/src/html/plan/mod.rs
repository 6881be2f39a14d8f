//! The plan's page: one file for three readers, in their order.
//!
//! *The owner* asks whether it will ship, when, how sure that is and what it costs; *the planner* what binds, where the
//! hours go and what to change; *the crew lead* what the coming shift holds. Every chart has its table. Small charts are
//! plain markup and need no script; printers over time are drawn by the script in `templates/plan` from the data in [`floor`].
//! What other commands found (costs, a comparison, a rehearsal) comes as an [`Addition`] and takes its reader's place.

mod addition;
mod answer;
mod coming;
mod compared;
mod costs;
mod crew;
mod days;
mod floor;
mod rehearsed;
mod shipments;
mod supply;
mod waits;

pub use addition::{Addition, Place, bar};
pub use compared::compared;
pub use rehearsed::rehearsed;

use crate::bound;
use crate::html::axis::Axis;
use crate::html::frame::Frame;
use crate::html::moment::{Figure, Moment};
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::nights::nights;
use crate::span::Span;
use crate::wall::{Wall, clock_hours, percent};
use crate::warnings::{Warning, warnings};
use askama::Template;
use platewright_model::{Instance, Instant, Plan, WeightedMinutes};

const STYLE: &str = include_str!("../../../templates/plan.css");
/// One block, so that its names are nobody else's.
const SCRIPT: &str = concat!(
    "\"use strict\";\n{\n",
    include_str!("../../../templates/plan/data.js"),
    include_str!("../../../templates/plan/view.js"),
    include_str!("../../../templates/plan/paint.js"),
    include_str!("../../../templates/plan/read.js"),
    include_str!("../../../templates/plan/hand.js"),
    include_str!("../../../templates/plan/runs.js"),
    include_str!("../../../templates/plan/print.js"),
    "}\n"
);

/// What a page may hold beside the plan itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Extras {
    /// The minute that the floor's log has come to: drawn as a line, and the coming shift is looked for from there.
    pub now: Option<Instant>,
    /// What other commands found.
    pub additions: Vec<Addition>,
}

impl Extras {
    /// What tables and plan bring: costs where the farm states them, and the moment of a plan made in mid-week.
    pub fn of(instance: &Instance, plan: &Plan) -> Extras {
        Extras { now: plan.since, additions: costs::costs(instance, plan).into_iter().collect() }
    }
}

#[derive(Template)]
#[template(path = "plan.html")]
struct PlanPage {
    frame: Frame,
    farm: String,
    from: Moment,
    to: Moment,
    zone: String,
    digest: String,
    answer: answer::Answer,
    lateness: Option<String>,
    notes: Vec<String>,
    shipments: Table,
    looks: Vec<String>,
    figures: Table,
    prices: Vec<String>,
    extras: Extras,
    floor: String,
    inks: Vec<(String, String)>,
    printers: Table,
    axis: Axis,
    charts: Vec<supply::PartChart>,
    parts: Table,
    waits: Table,
    days: days::Days,
    nights: Table,
    grid: crew::Grid,
    shifts: Table,
    coming: Option<coming::Coming>,
}

impl PlanPage {
    fn additions(&self, place: Place) -> impl Iterator<Item = &Addition> {
        self.extras.additions.iter().filter(move |addition| addition.place == place)
    }

    fn has(&self, place: Place) -> bool {
        self.additions(place).next().is_some()
    }
}

/// The page of a plan that was checked.
pub fn page(instance: &Instance, plan: &Plan, extras: &Extras) -> String {
    let span = Span::of_plan(instance, plan);
    let farm = shown(&instance.farm.name);
    let mut days = days::Days::of(instance, plan);
    let splits = std::mem::take(&mut days.printers);
    let page = PlanPage {
        frame: Frame { title: format!("The plan for {farm}"), kind: Some("plan"), style: STYLE, script: Some(SCRIPT) },
        farm,
        from: Moment::of(instance, span.from),
        to: Moment::of(instance, span.to),
        zone: instance.farm.clock.zone().name().to_owned(),
        digest: plan.instance_digest.chars().take(12).collect(),
        answer: answer::answer(instance, plan, extras),
        lateness: bound::on_lateness(&plan.claims),
        notes: plan.claims.notes.iter().map(|note| shown(note)).collect(),
        shipments: shipments::table(instance, plan),
        looks: looks(instance, plan),
        figures: figures(plan),
        prices: plan.claims.prices.iter().map(|price| shown(price)).collect(),
        extras: extras.clone(),
        floor: floor::Floor::of(instance, plan, extras.now).json(),
        inks: supply::inks(instance, plan),
        printers: floor::table(instance, plan, &splits),
        axis: Axis::of(instance, span, supply::DAYS_NAMED),
        charts: supply::charts(instance, plan),
        parts: supply::table(instance, plan),
        waits: waits::table(instance, plan),
        days,
        nights: night_table(instance, plan),
        grid: crew::grid(instance, plan),
        shifts: crew::shifts(instance, plan),
        coming: coming::coming(instance, plan, extras.now.unwrap_or(span.from)),
    };
    // Rendering into memory fails only where a template asks for what is not there, and ours are compiled.
    page.render().unwrap_or_default()
}

/// What `plan.json` states of the plan, each figure beside its words.
fn figures(plan: &Plan) -> Table {
    let claims = &plan.claims;
    let weighted =
        |key, late: WeightedMinutes| Figure::new(key, late.in_minutes(), format!("{} weighted min", late.in_minutes()));
    let proven = claims.bound.0 > 0 || claims.value.0 <= 0;
    let said = |figure: Figure| Figure { said: if proven { figure.said } else { "none".to_owned() }, ..figure };
    let gap = if proven { format!("{:.2} %", claims.gap() * 100.0) } else { "not known".to_owned() };
    let mut table = Table::new("The plan in figures, as plan.json states them", &["what", "#figure"]);
    table.id = Some("figures");
    let rows = [
        ("Aim, after lateness", Figure::new("objective", plan.objective.word(), plan.objective.word())),
        ("What is known of it", Figure::new("outcome", claims.outcome.word(), claims.outcome.word())),
        ("Value of the aim", Figure::length("value_minutes", claims.value)),
        ("Proven lower bound on it", said(Figure::length("bound_minutes", claims.bound))),
        ("Gap, value less bound over value", Figure::new("gap", claims.gap(), gap)),
        ("From the start to the last shipment", Figure::length("makespan_minutes", claims.makespan)),
        ("Lateness past due dates", weighted("late_minutes", claims.late)),
        ("Proven lower bound on it", weighted("late_bound_minutes", claims.late_bound)),
        (
            "Idle printer hours, start to each printer's last harvest",
            Figure::new("idle_printer_minutes", claims.idle.0, clock_hours(claims.idle)),
        ),
        ("Runs", Figure::new("run_count", claims.runs, claims.runs)),
        (
            "Operator hours at work",
            Figure::new("operator_minutes", claims.operator_minutes.0, clock_hours(claims.operator_minutes)),
        ),
        (
            "Parts made or in stock that nothing takes",
            Figure::new("surplus_parts", claims.surplus_parts, claims.surplus_parts),
        ),
    ];
    for (what, figure) in rows {
        table.row([Cell::Head(what.to_owned()), Cell::Stated(figure)]);
    }
    let found_by = |engine: &str| format!("Found by the {} engine, seed {}.", shown(engine), claims.seed);
    table.note = Some(claims.engine.as_str()).filter(|engine| !engine.is_empty()).map(found_by);
    table
}

fn looks(instance: &Instance, plan: &Plan) -> Vec<String> {
    warnings(instance, plan).iter().map(|warning: &Warning| shown(&warning.words(instance))).collect()
}

/// Every stretch with nobody on shift.
fn night_table(instance: &Instance, plan: &Plan) -> Table {
    let heads = ["from", "to", "#for", "#most printers at once", "#printing", "#of all printers' time"];
    let mut table = Table::new("Stretches with nobody on shift, printing in hours:minutes", &heads);
    let wall = Wall::of(instance);
    for night in nights(instance, plan) {
        let all = platewright_model::Minutes(night.span.length().0 * instance.printers.len() as i64);
        table.row([
            Cell::Head(wall.say(night.span.from)),
            Cell::moment(instance, night.span.to),
            Cell::hours(night.span.length()),
            Cell::figure(night.most_at_once),
            Cell::hours(night.printing),
            Cell::Figure(percent(night.printing, all)),
        ]);
    }
    if let Some(limit) = instance.farm.unattended.max_printers {
        table.note = Some(format!("At most {limit} printers may print at once with nobody there."));
    }
    table
}

#[cfg(test)]
mod tests;
