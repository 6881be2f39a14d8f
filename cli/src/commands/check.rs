//! `check`: read the tables and a plan, judge the plan by every rule, and list what is broken.

use crate::args::CheckArgs;
use crate::exit::Exit;
use crate::objects::checked;
use crate::plan_of::{self, PlanOf};
use crate::refusal::Refusal;
use crate::voice::Voice;
use platewright_checker::{self as checker, Breach, Figures, Report};
use platewright_model::plan::Claims;
use platewright_model::plan_files::PlanFolder;
use platewright_model::{Instance, Plan, Rule};
use platewright_report::page::{Grid, Lean, Page};
use platewright_report::wall::{Wall, clock_hours};
use std::collections::BTreeSet;

/// Runs the command.
///
/// # Errors
/// Unusable tables, or a plan that cannot be read.
pub fn run(args: &CheckArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let PlanOf { instance, folder, .. } = match &args.scenario {
        Some(scenario) => plan_of::read_under(&args.folder, &args.plan, scenario)?,
        None => plan_of::read(&args.folder, &args.plan)?,
    };
    let verdict = judge(&instance, &folder);
    if args.json {
        let found = checked::findings(&instance, &verdict.breaches, &verdict.figures, folder.has_claims);
        voice.object(&found);
    } else {
        voice.result(&findings(&instance, &folder, &verdict.breaches, &verdict.figures));
    }
    Ok(if verdict.holds() { Exit::Done } else { Exit::No })
}

/// What the checker says of a plan folder, its files among themselves included.
pub fn judge(instance: &Instance, folder: &PlanFolder) -> Report {
    let mut verdict = checker::check(instance, &folder.plan);
    if !folder.has_claims {
        let figures = verdict.figures;
        verdict = checker::check(instance, &claiming_nothing_but_tables(&folder.plan, &figures));
    }
    verdict.breaches.extend(folder.disagreements.iter().map(|words| disagreement(words)));
    verdict
}

/// Without `plan.json` a plan states only what its tables state; it is not to be blamed for the rest.
pub fn claiming_nothing_but_tables(plan: &Plan, figures: &Figures) -> Plan {
    let claims = Claims {
        value: figures.value,
        idle: figures.idle,
        surplus_parts: figures.surplus_parts,
        ..plan.claims.clone()
    };
    Plan { claims, ..plan.clone() }
}

/// `plan.json` says something else than the tables beside it: a figure that the plan states of itself is not true.
fn disagreement(words: &str) -> Breach {
    Breach {
        rule: Rule::Claim,
        run: None,
        printer: None,
        operator: None,
        shipment: None,
        from: None,
        to: None,
        message: words.to_owned(),
    }
}

fn findings(instance: &Instance, folder: &PlanFolder, breaches: &[Breach], figures: &Figures) -> String {
    let mut page = Page::new(&format!("The check of a plan for {}", instance.farm.name));
    page.blank();
    let broken: BTreeSet<Rule> = breaches.iter().map(|b| b.rule).collect();
    page.say(&match (broken.len(), breaches.len()) {
        (0, _) => format!("The plan keeps all {} rules.", Rule::ALL.len()),
        (1, 1) => "The plan breaks 1 rule, in one place.".to_owned(),
        (1, places) => format!("The plan breaks 1 rule, in {places} places."),
        (rules, places) => format!("The plan breaks {rules} rules, in {places} places."),
    });
    page.say(if folder.has_claims {
        "The bound in plan.json is held against these figures; that no plan can beat it is not for a check to prove."
    } else {
        "There is no plan.json: what the plan says of its bound and its outcome is not known and was not checked."
    });
    for rule in broken {
        page.heading(rule.code());
        breaches.iter().filter(|b| b.rule == rule).for_each(|breach| tell(instance, breach, &mut page));
    }
    figures_section(instance, figures, &mut page);
    page.text()
}

/// When and who, where that is known, and under it why.
fn tell(instance: &Instance, breach: &Breach, page: &mut Page) {
    let wall = Wall::of(instance);
    let mut about = match (breach.from, breach.to) {
        (Some(from), Some(to)) => vec![wall.span(from, to)],
        (Some(at), None) | (None, Some(at)) => vec![wall.say(at)],
        (None, None) => Vec::new(),
    };
    let named = [
        ("run", &breach.run),
        ("printer", &breach.printer),
        ("operator", &breach.operator),
        ("shipment", &breach.shipment),
    ];
    about.extend(named.iter().filter_map(|(word, name)| name.as_ref().map(|name| format!("{word} {name}"))));
    if about.is_empty() {
        page.item(&breach.message);
    } else {
        page.item(&about.join(", "));
        page.under_item(&breach.message);
    }
}

fn figures_section(instance: &Instance, figures: &Figures, page: &mut Page) {
    let wall = Wall::of(instance);
    page.heading("Figures, recomputed");
    let mut shipments =
        Grid::new([("shipment", Lean::Left), ("ready", Lean::Left), ("due", Lean::Left), ("late", Lean::Right)]);
    for shipment in &figures.shipments {
        shipments.row([
            shipment.shipment.clone(),
            wall.column(shipment.ready),
            shipment.due.map_or_else(|| "any time".to_owned(), |due| wall.column(due)),
            if shipment.late.0 > 0 { shipment.late.to_string() } else { String::new() },
        ]);
    }
    page.table(&shipments.without_columns_of(""));
    page.blank();
    let mut grid = Grid::new([("figure", Lean::Left), ("value", Lean::Right)]);
    let rows = [
        ("makespan, from the start", figures.makespan.to_string()),
        ("weighted lateness, minutes", figures.late.in_minutes().to_string()),
        ("idle printer hours", clock_hours(figures.idle)),
        ("operator hours", clock_hours(figures.operator_minutes)),
        ("runs", figures.runs.to_string()),
        ("surplus parts", figures.surplus_parts.to_string()),
    ];
    for (figure, value) in rows {
        grid.row([figure.to_owned(), value]);
    }
    page.table(&grid);
}
