use super::*;
use crate::sample::{self, at};

fn sample_page(extras: &Extras) -> String {
    let instance = sample::instance();
    page(&instance, &sample::plan(&instance), extras)
}

#[test]
fn the_page_has_its_readers_in_order() {
    let page = sample_page(&Extras::default());
    let places: Vec<usize> = ["Will it ship?", "What binds", "The coming shift", "Cautions"]
        .iter()
        .map(|head| page.find(&format!(">{head}</h2>")).unwrap_or_else(|| panic!("{head} in {page}")))
        .collect();
    assert!(places.is_sorted());
    assert!(page.starts_with("<!doctype html>") && page.trim_end().ends_with("</html>"));
}

#[test]
fn additions_stand_where_their_reader_looks() {
    let addition = |place, heading: &str| Addition {
        place,
        heading: heading.to_owned(),
        words: vec!["Words & figures <here>.".to_owned()],
        tables: Vec::new(),
    };
    let extras = Extras {
        now: Some(at(0, 9, 0)),
        additions: vec![addition(Place::Planner, "Minutes gained"), addition(Place::Costs, "What it costs")],
    };
    let page = sample_page(&extras);
    let place = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(place(">What it costs</h3>") < place(">What binds</h2>"));
    assert!(place(">What binds</h2>") < place(">Minutes gained</h3>"));
    assert!(page.contains("Words &#38; figures &#60;here&#62;."));
    assert!(page.contains("the log's last word"));
}

#[test]
fn hostile_names_stay_text() {
    let mut instance = sample::instance();
    let hostile = "\"><script>alert('1')</script>&amp;\u{202e}evil\u{0}";
    let mut plan = sample::plan(&instance);
    instance.farm.name = hostile.to_owned();
    instance.groups[0] = hostile.to_owned();
    instance.parts[0].name = hostile.to_owned();
    instance.kits[0].name = hostile.to_owned();
    instance.crews[0] = hostile.to_owned();
    instance.printers[2].name = hostile.to_owned();
    instance.printers[2].bay = Some(hostile.to_owned());
    plan.runs.iter_mut().filter(|run| run.printer == "B1").for_each(|run| run.printer = hostile.to_owned());
    plan.allocation.iter_mut().filter(|row| row.part == "cup").for_each(|row| row.part = hostile.to_owned());
    plan.shipments[0].shipment = hostile.to_owned();
    plan.claims.notes.push(hostile.to_owned());
    plan.claims.prices.push(hostile.to_owned());
    let page = page(&instance, &plan, &Extras::default());
    assert_eq!(page.matches("<script").count(), 2, "the data and the script");
    assert_eq!(page.matches("</script").count(), 2);
    assert!(!page.contains('\u{202e}') && !page.contains('\u{0}'));
    assert!(page.contains("alert"), "the name is shown");
}

#[test]
fn a_plan_without_runs_has_a_page() {
    let instance = sample::instance();
    let mut plan = sample::plan(&instance);
    plan.runs.clear();
    plan.tasks.clear();
    plan.allocation.clear();
    plan.shipments[0].ready = instance.farm.start;
    assert!(page(&instance, &plan, &Extras::default()).contains(">Will it ship?</h2>"));
}
