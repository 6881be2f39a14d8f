//! `compare`: scenarios side by side, each plan kept and confirmed by `check`; what is wrong with a scenario is told.

use crate::farm::{Farm, PLAN_FILES};
use std::fs;

const MORE: &str = "about = \"One more printer\"\n[printers]\nmore.small = 1\n";
const LATER: &str = "[shifts]\nchange = [{ where = { crew = \"day\" }, set = { from = \"09:00\" } }]\n";

fn farm() -> Farm {
    let farm = Farm::small();
    fs::create_dir(farm.at("scenarios")).unwrap();
    farm.write("scenarios/more.toml", MORE);
    farm.write("scenarios/later.toml", LATER);
    let costs = "\n[costs]\ncurrency = \"EUR\"\nprinter_hour = 0.5\noperator_hour = 20\n";
    farm.replace("farm.toml", "harvest = 4\n", &format!("harvest = 4\n{costs}"));
    farm
}

#[test]
fn every_scenario_is_planned_kept_and_confirmed() {
    let farm = farm();
    let ran = farm.run(&["compare"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert_eq!(farm.names("compare"), ["as-it-stands", "later", "more"]);
    assert_eq!(farm.names("compare/as-it-stands"), PLAN_FILES);
    for (name, makespan) in [("as-it-stands", 254), ("later", 374), ("more", 131)] {
        let folder = farm.at("compare").join(name);
        let plan = folder.to_str().unwrap();
        // By name, and by what is kept beside the plan.
        for words in [vec!["check", plan, "--scenario", name, "--json"], vec!["check", plan, "--json"]] {
            let checked = farm.run(&words);
            assert_eq!(checked.code, 0, "{name}: {checked:#?}");
            assert_eq!(checked.object()["makespan_minutes"], makespan, "{name}");
        }
    }
    let other = farm.at("compare/more");
    let checked = farm.run(&["check", other.to_str().unwrap(), "--scenario", "later"]);
    assert_eq!(checked.code, 1, "{checked:#?}");
    // Two plates on two printers, harvested one after the other: 254 less 131 minutes, and as much less to pay the crew.
    let told = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for sentence in [
        "more ships 2 h 03 min sooner than as-it-stands and costs 41.00 EUR less.",
        "later ships 2 h later than as-it-stands",
        "Beaten by more: as-it-stands, later.",
        "ask the rules where you work",
    ] {
        assert!(told.contains(sentence), "{sentence}: {}", ran.out);
    }
}

#[test]
fn the_same_question_gives_the_same_bytes() {
    let farm = farm();
    let one = farm.run(&["compare", "--engine", "quick", "--out", farm.at("one").to_str().unwrap()]);
    let two = farm.run(&["compare", "--engine", "quick", "--out", farm.at("two").to_str().unwrap()]);
    assert_eq!((one.code, &one.out), (0, &two.out), "{one:#?}");
    for name in ["as-it-stands", "later", "more"] {
        for file in PLAN_FILES {
            let [one, two] = ["one", "two"].map(|out| fs::read(farm.at(out).join(name).join(file)).unwrap());
            assert!(one == two, "{name}/{file} differs");
        }
    }
}

#[test]
fn the_object_and_the_table_say_the_same() {
    let farm = farm();
    let file = farm.at("table.csv");
    let ran = farm.run(&["compare", "--scenario", "more", "--json", "--csv", file.to_str().unwrap()]);
    let object = ran.object();
    let names: Vec<&str> =
        object["scenarios"].as_array().unwrap().iter().map(|s| s["scenario"].as_str().unwrap()).collect();
    assert_eq!(names, ["as-it-stands", "more"]);
    let table = fs::read_to_string(&file).unwrap();
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows.len(), 3, "{table}");
    for (row, scenario) in rows[1..].iter().zip(object["scenarios"].as_array().unwrap()) {
        let figures = &scenario["figures"];
        let split = &figures["printer_minutes"];
        let states = ["printing", "cooling", "blocked", "handled", "down", "empty"];
        let all: i64 = states.iter().map(|state| split[state].as_i64().unwrap()).sum();
        assert_eq!(Some(all), split["total"].as_i64());
        let cost = &figures["cost"];
        let lines = ["printers", "crew", "night_premium", "filament", "energy"];
        let sum: f64 = lines.iter().map(|line| cost[line].as_f64().unwrap()).sum();
        assert!((sum - cost["total"].as_f64().unwrap()).abs() < 0.001, "{cost}");
        assert!(row.contains(&format!(",{},", figures["makespan_minutes"])), "{row}");
    }
}

#[test]
fn a_scenario_under_which_nothing_can_be_planned_has_its_reasons() {
    let farm = farm();
    // Nobody is there for long enough to load.
    farm.write("scenarios/later.toml", &LATER.replace("from = \"09:00\"", "to = \"07:02\""));
    let ran = farm.run(&["compare", "--scenario", "later"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert!(ran.out.contains("no plan") && ran.out.contains("No plan: "), "{}", ran.out);
    assert_eq!(farm.names("compare"), ["as-it-stands"]);
}

#[test]
fn what_is_wrong_with_a_scenario_is_told_by_its_file() {
    let farm = farm();
    farm.write("scenarios/more.toml", &MORE.replace("small", "smal"));
    farm.write("scenarios/later.toml", &LATER.replace("\"day\"", "\"night\""));
    let ran = farm.run(&["compare"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
    assert!(ran.err.contains("scenarios/more.toml, row 3, key printers.more.smal   [T302]"), "{}", ran.err);
    assert!(ran.err.contains("scenarios/later.toml, row 2   [T312]"), "{}", ran.err);
    assert!(ran.err.contains("2 faults"), "{}", ran.err);
    assert_eq!(farm.names("compare"), [] as [&str; 0]);
    let unknown = farm.run(&["compare", "--scenario", "mroe", "--json"]);
    assert_eq!((unknown.code, unknown.object()["faults"][0]["code"].as_str()), (2, Some("T311")), "{unknown:#?}");
    assert!(unknown.err.contains("Did you mean \"more\"?"), "{}", unknown.err);
    let checked = farm.run(&["check", farm.path().to_str().unwrap(), "--scenario", "mroe"]);
    assert_eq!(checked.code, 2, "{checked:#?}");
    farm.write("scenarios/as-it-stands.toml", MORE);
    assert_eq!(farm.run(&["compare", "--scenario", "as-it-stands"]).code, 0);
    assert_eq!(farm.run(&["compare"]).code, 2, "a scenario may not take that name");
}

#[test]
fn a_comparison_does_not_write_over_tables() {
    let farm = farm();
    fs::create_dir_all(farm.at("out/more")).unwrap();
    farm.write("out/more/farm.toml", "");
    let ran = farm.run(&["compare", "--out", farm.at("out").to_str().unwrap()]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    let ran = farm.run(&["compare", "--csv", farm.at("none/table.csv").to_str().unwrap()]);
    assert_eq!(ran.code, 2, "{ran:#?}");
    assert!(ran.err.contains("cannot be written"), "{}", ran.err);
}

#[test]
fn a_page_shows_the_scenarios_beside_the_first_plan() {
    let farm = farm();
    let file = farm.at("side-by-side.html");
    let ran = farm.run(&["compare", "--engine", "quick", "--html", file.to_str().unwrap(), "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let page = fs::read_to_string(&file).unwrap();
    let piece = &page[page.find("Scenarios side by side").expect("the table of scenarios")..];
    let rows: Vec<usize> = ["as-it-stands", "later", "more"].map(|name| piece.find(name).expect(name)).to_vec();
    assert!(rows.is_sorted(), "in the order of the comparison: {rows:?}");
    assert!(page.contains("What the plan costs"), "costs are stated, so the page tells them");
    let refused = farm.run(&["compare", "--engine", "quick", "--html", farm.at("page.txt").to_str().unwrap()]);
    assert_eq!(refused.code, 2, "{refused:#?}");
}
