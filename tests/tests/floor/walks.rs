//! The rounds of the shift sheets, walked as they are listed, leave a plan that breaks no rule and ships no later.
//!
//! All stops of all sheets are put at the minutes that the sheets give them, runs get ready by as much earlier or later as
//! their loads are, and the checker, which knows nothing of sheets, judges the outcome.

use crate::plans;
use platewright_checker::check;
use platewright_model::plan::Work;
use platewright_model::{Instance, Instant, Plan, Rule};
use platewright_report::ledger::ledger;
use platewright_report::sheet::{self, Sheet, shift};
use platewright_tests::weeks::Size;
use std::collections::HashMap;

fn sheets(instance: &Instance, plan: &Plan) -> Vec<Sheet> {
    let ledger = ledger(instance, plan).unwrap();
    shift::shifts(instance, plan).iter().map(|shift| sheet::sheet(instance, plan, &ledger, shift)).collect()
}

/// The plan with every stop at the minute that its sheet says.
fn walked(plan: &Plan, sheets: &[Sheet]) -> Plan {
    let mut by_run: HashMap<&str, (Option<Instant>, Option<Instant>)> = HashMap::new();
    let planned: HashMap<&str, &platewright_model::plan::Run> =
        plan.runs.iter().map(|run| (run.run.as_str(), run)).collect();
    for stop in sheets.iter().flat_map(|sheet| &sheet.rounds).flat_map(|round| &round.stops) {
        let harvest = stop.off.as_ref().map(|off| planned[off.run.as_str()].harvest_from);
        if let Some(off) = &stop.off {
            let harvested = &mut by_run.entry(&off.run).or_default().1;
            assert_eq!(harvested.replace(stop.at), None, "{} is harvested twice", off.run);
        }
        if let Some(on) = &stop.on {
            let load = planned[on.run.as_str()].load.as_ref().unwrap().from;
            let at = stop.at + (load - harvest.unwrap_or(load));
            let loaded = &mut by_run.entry(&on.run).or_default().0;
            assert_eq!(loaded.replace(at), None, "{} is loaded twice", on.run);
        }
    }
    let mut moved = plan.clone();
    for run in &mut moved.runs {
        let (loaded, harvested) = by_run[run.run.as_str()];
        let minutes = run.harvest_to - run.harvest_from;
        run.harvest_from = harvested.unwrap_or_else(|| panic!("{} is harvested on no sheet", run.run));
        run.harvest_to = run.harvest_from + minutes;
        if let Some(load) = &mut run.load {
            let by = loaded.expect("every load is on a sheet") - load.from;
            load.from = load.from + by;
            load.print_from = load.print_from + by;
            run.ready = run.ready + by;
        }
    }
    let at: HashMap<String, (Option<Instant>, Instant)> =
        moved.runs.iter().map(|r| (r.run.clone(), (r.load.as_ref().map(|l| l.from), r.harvest_from))).collect();
    for task in &mut moved.tasks {
        let minutes = task.to - task.from;
        task.from = match &task.work {
            Work::Load { run, .. } => at[run].0.unwrap(),
            Work::Harvest { run, .. } => at[run].1,
            Work::Pack { .. } => task.from,
        };
        task.to = task.from + minutes;
    }
    moved
}

fn stops_and_boxes(plan: &Plan, sheets: &[Sheet]) {
    let packed = plan.tasks.iter().filter(|task| matches!(task.work, Work::Pack { .. })).count();
    assert_eq!(sheets.iter().map(|sheet| sheet.boxes.len()).sum::<usize>(), packed, "boxes on sheets");
    for round in sheets.iter().flat_map(|sheet| &sheet.rounds) {
        for stop in &round.stops {
            assert!(stop.earliest <= stop.at && stop.at <= stop.latest, "{stop:?} is out of its window");
        }
        assert!(round.stops.is_sorted_by_key(|stop| stop.at), "{round:?} goes back in time");
    }
}

/// Walking every sheet of random weeks keeps the plan.
#[test]
fn keep_the_plan() {
    let (mut moved, mut stops, mut in_order, mut rounds) = (0, 0, 0, 0);
    for (trial, plan) in plans(500..530, Size::Middling).into_iter().chain(plans(600..610, Size::Large)) {
        println!("{}", trial.name);
        let sheets = sheets(&trial.instance, &plan);
        stops_and_boxes(&plan, &sheets);
        let walked = walked(&plan, &sheets);
        moved += plan.tasks.iter().zip(&walked.tasks).filter(|(before, after)| before.from != after.from).count();
        stops += sheets.iter().map(Sheet::stops).sum::<usize>();
        let all = sheets.iter().flat_map(|sheet| &sheet.rounds);
        in_order += all.clone().filter(|round| round.in_walking_order).count();
        rounds += all.count();
        let report = check(&trial.instance, &walked);
        // A shipment may be ready earlier than it states, and then its figures are not what it states.
        let breaches: Vec<String> = report
            .breaches
            .iter()
            .filter(|breach| ![Rule::Readiness, Rule::Claim].contains(&breach.rule))
            .map(ToString::to_string)
            .collect();
        assert!(breaches.is_empty(), "walked as listed: {breaches:#?}");
        for (promised, reached) in plan.shipments.iter().zip(&report.figures.shipments) {
            assert!(reached.ready <= promised.ready, "{} is later", promised.shipment);
        }
    }
    println!("{stops} stops in {rounds} rounds, {in_order} in the order of the bays; {moved} tasks at another minute");
    assert!(moved > 50, "only {moved} tasks moved: does this try anything?");
}
