//! The comparison as a page.

use super::{Comparison, Entry, Figures, trade};
use crate::costs::{CostSheet, money};
use crate::page::{Grid, Lean, Page};
use crate::spares;
use crate::wall::{Wall, clock_hours};
use crate::working_time;
use platewright_model::plan::Outcome;
use platewright_model::{Minutes, Plan, WeightedMinutes};

/// Rows of shipments that a page still shows.
const SHOWN: usize = 40;

/// The page: what each scenario is, when it ships, its hours, its money, and the trade.
pub fn page(comparison: &Comparison) -> String {
    let farm = comparison.entries.first().map_or("", |entry| entry.instance.farm.name.as_str());
    let mut page = Page::new(&format!("Scenarios for {farm}"));
    page.blank();
    promises(comparison, &mut page);
    abouts(comparison, &mut page);
    shipments(comparison, &mut page);
    let plans = comparison.planned().filter_map(|(entry, _)| Some((entry, entry.outcome.as_ref().ok()?)));
    spares::side_by_side(plans.map(|(entry, plan)| (entry.name.as_str(), &entry.instance, plan)), &mut page);
    printers(comparison, &mut page);
    crews(comparison, &mut page);
    costs(comparison, &mut page);
    trades(comparison, &mut page);
    let instances = comparison.entries.iter().map(|entry| (entry.name.as_str(), &entry.instance));
    working_time::section(instances, &mut page);
    page.text()
}

fn promises(comparison: &Comparison, page: &mut Page) {
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("all ready", Lean::Left),
        ("late", Lean::Right),
        ("gap", Lean::Right),
        ("cost", Lean::Right),
        ("per kit", Lean::Right),
    ]);
    for (entry, figures) in comparison.entries.iter().zip(&comparison.figures) {
        let Some((figures, plan)) = figures.as_ref().zip(entry.outcome.as_ref().ok()) else {
            grid.row([entry.name.clone(), "no plan".into(), "".into(), "".into(), "".into(), "".into()]);
            continue;
        };
        let costs = figures.costs.as_ref();
        grid.row([
            entry.name.clone(),
            Wall::of(&entry.instance).column(figures.ready),
            late(figures.late),
            gap(plan),
            costs.map(|sheet| money(sheet.total())).unwrap_or_default(),
            costs.and_then(CostSheet::per_kit).map(money).unwrap_or_default(),
        ]);
    }
    page.table(&grid.without_columns_of(""));
    page.say(
        "Late: weighted, over all shipments. Gap: how far at most from the best possible; - where nothing is proven.",
    );
}

pub(crate) fn late(late: WeightedMinutes) -> String {
    match late {
        WeightedMinutes::ZERO => "-".to_owned(),
        late => Minutes(late.in_minutes().round() as i64).to_string(),
    }
}

fn gap(plan: &Plan) -> String {
    match plan.claims.outcome {
        Outcome::Optimal => "best".to_owned(),
        Outcome::Feasible if plan.claims.bound <= Minutes::ZERO => "-".to_owned(),
        Outcome::Feasible => format!("{:.1} %", plan.claims.gap() * 100.0),
    }
}

fn abouts(comparison: &Comparison, page: &mut Page) {
    let without_plan = |entry: &Entry| entry.outcome.is_err();
    if !comparison.entries.iter().any(|entry| entry.about.is_some() || without_plan(entry)) {
        return;
    }
    page.heading("What they are");
    for entry in &comparison.entries {
        if let Some(about) = &entry.about {
            page.item(&format!("{}: {about}", entry.name));
        } else if without_plan(entry) {
            page.item(&entry.name);
        }
        if let Err(reasons) = &entry.outcome {
            reasons.iter().for_each(|reason| page.under_item(&format!("No plan: {reason}")));
        }
        for note in entry.outcome.iter().flat_map(|plan| &plan.claims.notes) {
            page.under_item(&format!("Note: {note}"));
        }
    }
}

fn shipments(comparison: &Comparison, page: &mut Page) {
    page.heading("Shipments");
    let mut grid = Grid::new([
        ("shipment", Lean::Left),
        ("scenario", Lean::Left),
        ("ready", Lean::Left),
        ("to spare", Lean::Right),
    ]);
    let mut names: Vec<&str> = Vec::new();
    for standing in comparison.planned().flat_map(|(_, figures)| &figures.standings) {
        if !names.contains(&standing.shipment.as_str()) {
            names.push(&standing.shipment);
        }
    }
    let mut rows = 0;
    for name in &names {
        for (entry, figures) in comparison.planned() {
            let Some(standing) = figures.standings.iter().find(|s| s.shipment == *name) else { continue };
            rows += 1;
            if rows > SHOWN {
                continue;
            }
            grid.row([
                standing.shipment.clone(),
                entry.name.clone(),
                Wall::of(&entry.instance).column(standing.ready),
                standing.spare.map(spare).unwrap_or_default(),
            ]);
        }
    }
    page.table(&grid.without_columns_of(""));
    if rows > SHOWN {
        page.say(&format!("and {} rows more, which --csv writes", rows - SHOWN));
    }
}

fn spare(spare: Minutes) -> String {
    if spare < Minutes::ZERO { format!("late {}", Minutes(-spare.0)) } else { spare.to_string() }
}

fn printers(comparison: &Comparison, page: &mut Page) {
    page.heading("Printer hours");
    page.say("Until the plan ends, in hours:minutes. The columns add up to the total.");
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("printing", Lean::Right),
        ("cooling", Lean::Right),
        ("blocked", Lean::Right),
        ("handled", Lean::Right),
        ("down", Lean::Right),
        ("empty", Lean::Right),
        ("total", Lean::Right),
    ]);
    for (entry, figures) in comparison.planned() {
        let split = figures.hours;
        let [printing, cooling, blocked, handled, down, empty, total] =
            [split.printing, split.cooling, split.blocked, split.handled, split.down, split.empty, split.total()]
                .map(clock_hours);
        grid.row([entry.name.clone(), printing, cooling, blocked, handled, down, empty, total]);
    }
    page.table(&grid.without_columns_of("0:00"));
}

fn crews(comparison: &Comparison, page: &mut Page) {
    page.heading("Crew hours");
    page.say("Paid: on shift until the plan ends. Night: 22:00 to 06:00. Weekend: Saturday and Sunday.");
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("paid", Lean::Right),
        ("busy", Lean::Right),
        ("night", Lean::Right),
        ("of it busy", Lean::Right),
        ("weekend", Lean::Right),
        ("of it busy", Lean::Right),
    ]);
    for (entry, figures) in comparison.planned() {
        let (paid, busy) = (figures.crew.paid, figures.crew.busy);
        let [all, busy_all, night, busy_night, weekend, busy_weekend] =
            [paid.all, busy.all, paid.night, busy.night, paid.weekend, busy.weekend].map(clock_hours);
        grid.row([entry.name.clone(), all, busy_all, night, busy_night, weekend, busy_weekend]);
    }
    page.table(&grid.without_columns_of("0:00"));
}

fn costs(comparison: &Comparison, page: &mut Page) {
    let sheets: Vec<(&Entry, &CostSheet)> =
        comparison.planned().filter_map(|(entry, figures)| Some((entry, figures.costs.as_ref()?))).collect();
    let Some((_, first)) = sheets.first() else { return };
    page.heading(&format!("Cost, {}", first.currency));
    page.say("Printers: by the hours they print; what it takes to buy more of them is not in it.");
    let mut grid = Grid::new([
        ("scenario", Lean::Left),
        ("printers", Lean::Right),
        ("crew", Lean::Right),
        ("night premium", Lean::Right),
        ("filament", Lean::Right),
        ("energy", Lean::Right),
        ("total", Lean::Right),
    ]);
    for (entry, sheet) in sheets {
        let [printers, crew, premium, filament, energy] = sheet.lines().map(|(_, amount)| money(amount));
        grid.row([entry.name.clone(), printers, crew, premium, filament, energy, money(sheet.total())]);
    }
    page.table(&grid.without_columns_of("0.00"));
}

fn trades(comparison: &Comparison, page: &mut Page) {
    let planned: Vec<(usize, &Entry, &Figures)> = (0..)
        .zip(comparison.entries.iter().zip(&comparison.figures))
        .filter_map(|(at, (entry, figures))| Some((at, entry, figures.as_ref()?)))
        .collect();
    let Some(&(first, base, is)) = planned.first() else { return };
    if planned.len() < 2 || first != 0 {
        return;
    }
    page.heading("The trade");
    for &(_, entry, figures) in planned.iter().skip(1) {
        page.item(&trade((base, is), (entry, figures)));
    }
    let mut beaten: Vec<(&str, Vec<&str>)> = Vec::new();
    for &(at, entry, _) in &planned {
        let Some(rival) = comparison.beaten_by(at) else { continue };
        match beaten.iter_mut().find(|(name, _)| *name == rival.name) {
            Some((_, names)) => names.push(&entry.name),
            None => beaten.push((&rival.name, vec![&entry.name])),
        }
    }
    for (rival, names) in beaten {
        page.item(&format!(
            "Beaten by {rival}: {}. It is no later past due, ready no later and no dearer, and better in one of these.",
            names.join(", ")
        ));
    }
}
