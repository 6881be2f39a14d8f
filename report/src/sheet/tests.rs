//! Sheets of plans reasoned by hand.

use super::shift::{self, Asked, CrewShift};
use super::*;
use crate::ledger::ledger;
use crate::sample::{self, at};
use chrono::NaiveTime;
use platewright_model::instance::ShiftRow;
use platewright_model::plan::Work;

fn day(number: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, number).unwrap()
}

fn hour(hour: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, 0, 0).unwrap()
}

fn found(instance: &Instance, plan: &Plan, words: &str) -> CrewShift {
    match shift::find(instance, plan, words) {
        Asked::Found(shift) => shift,
        other => panic!("{words}: {other:?}"),
    }
}

fn sheet_of(instance: &Instance, plan: &Plan, words: &str) -> Sheet {
    sheet(instance, plan, &ledger(instance, plan).unwrap(), &found(instance, plan, words))
}

#[test]
fn a_shift_is_asked_for_by_date_and_crew() {
    let mut instance = sample::instance();
    instance.crews[0] = "day/odd".into();
    let plan = sample::plan(&instance);
    assert_eq!(found(&instance, &plan, "2026-03-03/day/odd").spans, [Span { from: at(1, 7, 0), to: at(1, 17, 0) }]);
    assert_eq!(shift::find(&instance, &plan, "tuesday"), Asked::NotAShift);
    assert_eq!(shift::find(&instance, &plan, "2026-02-30/day"), Asked::NotAShift);
    assert_eq!(shift::find(&instance, &plan, "2026-03-03/day"), Asked::NoSuchCrew("day"));
    // The plan ends on Wednesday.
    assert_eq!(shift::find(&instance, &plan, "2026-03-05/day/odd"), Asked::NotOn(day(5), CrewId(0)));
}

#[test]
fn a_break_parts_no_shift_and_a_night_belongs_to_its_evening() {
    let mut instance = sample::instance();
    let row = instance.shifts[0].clone();
    let hours = [(7, 11), (12, 17)];
    instance.shifts = hours.map(|(from, to)| ShiftRow { from: hour(from), to: hour(to), ..row.clone() }).to_vec();
    let plan = sample::plan(&instance);
    let shift = found(&instance, &plan, "2026-03-02/day");
    let spans: Vec<_> = shift.spans.iter().map(|span| (span.from, span.to)).collect();
    assert_eq!(spans, [(at(0, 7, 0), at(0, 11, 0)), (at(0, 12, 0), at(0, 17, 0))]);
    instance.shifts = vec![ShiftRow { from: hour(22), to: hour(6), ..row }];
    let night = found(&instance, &plan, "2026-03-02/day");
    assert_eq!(night.spans, [Span { from: at(0, 22, 0), to: at(1, 6, 0) }]);
}

#[test]
fn who_is_on_all_the_time_has_a_sheet_a_day() {
    let mut instance = sample::instance();
    instance.shifts[0].from = hour(0);
    instance.shifts[0].to = hour(0);
    let plan = sample::plan(&instance);
    let days: Vec<_> = shift::shifts(&instance, &plan).iter().map(|s| (s.date, s.from(), s.to())).collect();
    assert_eq!(
        days,
        [(day(2), at(0, 7, 0), at(1, 0, 0)), (day(3), at(1, 0, 0), at(2, 0, 0)), (day(4), at(2, 0, 0), at(3, 0, 0))]
    );
}

#[test]
fn a_sheet_says_what_comes_off_what_goes_on_and_what_is_left() {
    let instance = sample::instance();
    let plan = sample::plan(&instance);
    let tuesday = sheet_of(&instance, &plan, "2026-03-03/day");
    let [round] = &tuesday.rounds[..] else { panic!("{tuesday:?}") };
    let [stop] = &round.stops[..] else { panic!("{round:?}") };
    assert_eq!((stop.printer.as_str(), stop.at), ("B1", at(1, 7, 0)));
    // Ready on Monday at 17:03, when nobody was there.
    assert_eq!(stop.earliest, at(0, 17, 3));
    let (off, on) = (stop.off.as_ref().unwrap(), stop.on.as_ref().unwrap());
    assert_eq!((off.run.as_str(), on.run.as_str(), on.changeover), ("R0002", "R0003", false));
    assert_eq!(off.parts[0].into.iter().map(|into| (into.begins, into.closes)).collect::<Vec<_>>(), [(true, true)]);
    // R0003 is ready at 17:07 and harvested on Wednesday at 07:00; the shift ends at 17:00.
    assert_eq!(tuesday.left.must_be_on.iter().map(|on| on.run.as_str()).collect::<Vec<_>>(), ["R0003"]);
    assert_eq!(tuesday.left.empty, ["A1", "A2"]);
    let handover = tuesday.handover.as_ref().unwrap();
    assert_eq!((handover.at, handover.ready.len(), handover.soon.len()), (at(2, 7, 0), 1, 0));
    assert!(sheet_of(&instance, &plan, "2026-03-04/day").handover.is_none());
    // On Monday noon A2 is down and empty, the cups are off, and the base is on.
    let monday = sheet_of(&instance, &plan, "2026-03-02/day");
    assert_eq!(monday.stops(), 2);
    assert_eq!((monday.left.down.len(), &monday.left.empty[..]), (0, &["A1".to_owned(), "A2".to_owned()][..]));
}

#[test]
fn a_load_may_be_late_by_what_its_plate_waits_and_not_into_the_night() {
    let mut instance = sample::instance();
    let plan = sample::plan(&instance);
    let latest = |instance: &Instance| {
        let sheet = sheet_of(instance, &plan, "2026-03-02/day");
        let stops = sheet.rounds.into_iter().flat_map(|round| round.stops);
        let loaded = stops.filter(|stop| stop.on.is_some()).collect::<Vec<_>>();
        loaded[0].latest
    };
    // R0002 is loaded at 7:00, ready at 17:03, harvested on Tuesday at 7:00.
    assert_eq!(latest(&instance), at(0, 7, 0) + (at(1, 7, 0) - at(0, 17, 3)));
    // With a limit on what prints with nobody there, not a minute more of it.
    instance.farm.unattended.max_printers = Some(Count(1));
    assert_eq!(latest(&instance), at(0, 7, 0));
}

#[test]
fn stops_that_follow_each_other_are_walked_in_the_order_of_the_bays() {
    let mut instance = sample::instance();
    let mut plan = sample::plan(&instance);
    // The cups on A1 wait since before the start, like a plate on B1; the plan takes B1 first.
    let waits = platewright_model::Minutes(60);
    for run in &mut plan.runs[..2] {
        run.load = None;
        run.ready = at(0, 7, 0) - waits;
    }
    plan.runs.truncate(2);
    for (run, from) in plan.runs.iter_mut().zip([at(0, 7, 4), at(0, 7, 0)]) {
        (run.harvest_from, run.harvest_to) = (from, from + platewright_model::Minutes(4));
    }
    plan.tasks.retain(|task| matches!(task.work, Work::Harvest { .. }));
    plan.tasks.truncate(2);
    for task in &mut plan.tasks {
        let Work::Harvest { run, .. } = &task.work else { continue };
        let run = plan.runs.iter().find(|r| r.run == *run).unwrap();
        (task.from, task.to) = (run.harvest_from, run.harvest_to);
    }
    let order = |instance: &Instance| {
        let sheet = sheet_of(instance, &plan, "2026-03-02/day");
        let [round] = &sheet.rounds[..] else { panic!("{sheet:?}") };
        assert!(round.in_walking_order);
        round.stops.iter().map(|stop| (stop.printer.clone(), stop.at)).collect::<Vec<_>>()
    };
    let expect = |first: &str, second: &str| [(first.to_owned(), at(0, 7, 0)), (second.to_owned(), at(0, 7, 4))];
    assert_eq!(order(&instance), expect("A1", "B1"));
    // A bay's place is that of its first row.
    instance.printers[0].bay = Some("back".into());
    instance.printers[2].bay = Some("front".into());
    instance.printers.swap(0, 1);
    instance.printers[0].bay = Some("front".into());
    instance.downtime.clear();
    assert_eq!(order(&instance), expect("B1", "A1"));
}

#[test]
fn nothing_in_a_name_gets_through() {
    let mut instance = sample::instance();
    instance.crews[0] = "<img src=x onerror=alert(1)>\u{202e}".into();
    instance.parts[0].name = "<script>1</script>".into();
    let mut plan = sample::plan(&instance);
    for name in plan.tasks.iter_mut().map(|task| &mut task.operator) {
        *name = name.replace("day", &instance.crews[0]);
    }
    let ledger = ledger(&instance, &plan).unwrap();
    let sheets: Vec<Sheet> =
        shift::shifts(&instance, &plan).iter().map(|shift| sheet(&instance, &plan, &ledger, shift)).collect();
    let page = html::page(&instance, &ledger, &sheets, None);
    assert!(page.contains("&#60;script&#62;") || page.contains("&#60;img"), "{page}");
    assert!(!page.contains("<script") && !page.contains("<img") && !page.contains('\u{202e}'));
    let text = text::text(&instance, &ledger, &sheets[0]);
    assert!(!text.contains('\u{202e}') && text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn leeway_is_told_as_a_crew_reads_it() {
    let instance = sample::instance();
    let begun = sample::at(0, 7, 0);
    let stop =
        |at, earliest, latest| Stop { printer: "A1".to_owned(), bay: None, at, earliest, latest, off: None, on: None };
    let at = sample::at(0, 7, 15);
    for (earliest, latest, said) in [
        (at, at, "07:15 sharp"),
        (sample::at(0, 7, 13), sample::at(0, 7, 20), "07:13 to 07:20"),
        (sample::at(0, 6, 10), sample::at(0, 7, 20), "by 07:20"),
        (begun, sample::at(0, 7, 20), "by 07:20"),
        (sample::at(0, 7, 13), sample::at(4, 7, 0), "from 07:13"),
        (begun, sample::at(4, 7, 0), "at any time"),
        (sample::at(0, 7, 13), sample::at(1, 6, 0), "07:13 to Tue 3 Mar 06:00"),
    ] {
        assert_eq!(super::text::leeway(&instance, &stop(at, earliest, latest), begun), said);
    }
}
