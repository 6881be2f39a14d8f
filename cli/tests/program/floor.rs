//! `sheets`, `ledger`, `packing` and `labels`.

use crate::farm::Farm;
use std::fs;

/// A planned farm whose kits are boxed and whose cups are bagged.
fn planned() -> Farm {
    let farm = Farm::small();
    farm.write("parts.csv", "part,material,per_bag\ncup,PLA,4\n");
    farm.write("shipments.csv", "shipment,kit,quantity,due,per_box\nshop,set,1,2026-03-03T18:00,1\n");
    assert_eq!(farm.run(&["plan"]).code, 0);
    farm
}

fn call<'a>(farm: &'a Farm, words: &[&'a str]) -> crate::farm::Ran {
    let plan = farm.at("plan");
    let (command, rest) = words.split_first().unwrap();
    let all: Vec<&str> = [command, plan.to_str().unwrap()].into_iter().chain(rest.iter().copied()).collect();
    farm.run(&all)
}

#[test]
fn a_sheet_is_printed_for_a_shift() {
    let farm = planned();
    let ran = call(&farm, &["sheets", "--shift", "2026-03-02/day"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{ran:#?}");
    for words in
        ["Shift sheet: day, Monday 2 March 2026", "on   R0002 cup-2", "2 cup into BAG-0001 (close it)", "Blades."]
    {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
}

#[test]
fn a_sheet_is_an_object_for_programs() {
    let farm = planned();
    let ran = call(&farm, &["sheets", "--shift", "2026-03-02/day", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{ran:#?}");
    let object: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let ledger: serde_json::Value = serde_json::from_str(&call(&farm, &["ledger", "--json"]).out).unwrap();
    let sheet = &object["sheets"][0];
    assert_eq!((&sheet["crew"], &sheet["date"]), (&"day".into(), &"2026-03-02".into()), "{object:#}");
    assert_eq!(object["mark"], ledger["mark"]);
    // Everything that comes off goes into lots of the ledger, to the last copy; every task is a stop's or a box's.
    let stops: Vec<&serde_json::Value> =
        sheet["rounds"].as_array().unwrap().iter().flat_map(|round| round["stops"].as_array().unwrap()).collect();
    let lots: Vec<&serde_json::Value> = ledger["lots"].as_array().unwrap().iter().map(|lot| &lot["lot"]).collect();
    let mut harvests = 0;
    for part in stops.iter().filter(|s| !s["off"].is_null()).flat_map(|s| s["off"]["parts"].as_array().unwrap()) {
        let into = part["into"].as_array().unwrap();
        let sum: u64 = into.iter().map(|into| into["count"].as_u64().unwrap()).sum();
        assert_eq!(Some(sum), part["count"].as_u64(), "{part:#}");
        assert!(into.iter().all(|into| lots.contains(&&into["lot"])), "{part:#}");
        harvests += 1;
    }
    let loads = stops.iter().filter(|stop| !stop["on"].is_null()).count();
    let packs = sheet["boxes"].as_array().unwrap().len();
    let tasks = fs::read_to_string(farm.at("plan/tasks.csv")).unwrap();
    let of = |task: &str| {
        let mine = |line: &&str| line.contains(&format!(",{task},2026-03-02"));
        tasks.lines().filter(mine).count()
    };
    assert_eq!((loads, harvests, packs), (of("load"), of("harvest"), of("pack")), "{tasks}");
    assert!(harvests > 0 && loads > 0, "{tasks}");

    let page = farm.at("s.html");
    let ran = call(&farm, &["sheets", "--html", page.to_str().unwrap(), "--json"]);
    assert!(serde_json::from_str::<serde_json::Value>(&ran.out).is_ok() && page.exists(), "{ran:#?}");
    let ran = call(&farm, &["sheets", "--shift", "monday", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!((ran.code, told["outcome"].is_null()), (2, false), "{told:#}");
}

#[test]
fn a_shift_that_there_is_not_is_told_with_those_there_are() {
    let farm = planned();
    for (shift, said, help) in [
        ("monday", "monday is no shift", "2026-03-02/day"),
        ("2026-03-02/night", "there is no crew night", "the crews are day"),
        ("2026-03-09/day", "no shift of day begins on 2026-03-09", "2026-03-02"),
    ] {
        let ran = call(&farm, &["sheets", "--shift", shift]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{ran:#?}");
        assert!(ran.err.contains(said) && ran.err.contains(help), "{ran:#?}");
    }
}

#[test]
fn pages_are_written_whole_and_only_as_pages() {
    let farm = planned();
    for command in ["sheets", "packing", "labels"] {
        let file = farm.at(&format!("{command}.html"));
        let ran = call(&farm, &[command, "--html", file.to_str().unwrap()]);
        assert_eq!(ran.code, 0, "{ran:#?}");
        let page = fs::read_to_string(&file).unwrap();
        assert!(page.starts_with("<!doctype html>") && page.trim_end().ends_with("</html>"), "{page}");
        let table = farm.at("parts.csv");
        let before = fs::read_to_string(&table).unwrap();
        let ran = call(&farm, &[command, "--html", table.to_str().unwrap()]);
        assert_eq!(ran.code, 2, "{ran:#?}");
        assert!(ran.err.contains("does not end with .html"), "{ran:#?}");
        assert_eq!(fs::read_to_string(&table).unwrap(), before);
    }
}

#[test]
fn a_lot_is_traced_both_ways() {
    let farm = planned();
    let all = call(&farm, &["ledger", "--json"]).object();
    let bag = all["lots"][0]["lot"].as_str().unwrap().to_owned();
    assert!(bag.starts_with("BAG-0001-"), "{all}");
    assert_eq!(all["lots"][0]["fills"].as_array().unwrap().len(), 2);
    // With the mark or without, by a number typed in any case.
    for words in [bag.as_str(), "bag-0001"] {
        let traced = call(&farm, &["ledger", "--lot", words, "--json"]).object();
        assert_eq!(traced["lots"], all["lots"], "{words}");
        assert_eq!(traced["boxes"], all["boxes"], "{words}");
    }
    let hour = ["ledger", "--printer", "P1", "--from", "2026-03-02T07:30", "--to", "2026-03-02T08:30", "--json"];
    assert_eq!(call(&farm, &hour).object()["lots"], all["lots"]);
    let told = call(&farm, &["ledger", "--run", "R0002"]);
    assert!(told.out.contains("BAG-0001") && told.out.contains("BOX-0001"), "{}", told.out);
    let lots = call(&farm, &["ledger", "--csv", "lots"]).out;
    assert_eq!(lots.lines().count(), 3, "{lots}");
    let boxes = call(&farm, &["ledger", "--csv", "boxes"]).out;
    assert!(boxes.contains(&format!(",cup,{bag},R0001,2")), "{boxes}");
}

#[test]
fn what_cannot_be_traced_is_told() {
    let farm = planned();
    for (words, said) in [
        (&["ledger", "--lot", "BAG-0001-0000"][..], "this plan has no lot BAG-0001-0000"),
        (&["ledger", "--run", "R9"], "this plan has no run R9"),
        (&["ledger", "--printer", "P9"], "there is no printer P9"),
        (&["ledger", "--printer", "P1", "--from", "noon"], "noon is no time in Europe/Lisbon"),
        (
            &["ledger", "--printer", "P1", "--from", "2026-03-02T09:00", "--to", "2026-03-02T09:00"],
            "end before they begin",
        ),
        (&["packing", "--shipment", "nobody"], "there is no shipment nobody"),
        (&["labels", "--html", "x.html", "--size", "300x300"], "no label of that size fits on A4"),
    ] {
        let ran = call(&farm, words);
        assert_eq!(ran.code, 2, "{words:?}: {ran:#?}");
        assert!(ran.err.contains(said), "{words:?}: {ran:#?}");
    }
}

#[test]
fn nothing_is_made_of_a_plan_that_breaks_rules() {
    let farm = planned();
    farm.replace("parts.csv", "cup,PLA,4", "cup,PLA,2");
    for command in ["sheets", "ledger", "packing"] {
        let ran = call(&farm, &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{ran:#?}");
        assert!(ran.err.contains("breaks rules") && ran.err.contains("platewright check"), "{ran:#?}");
    }
    let object = call(&farm, &["ledger", "--json"]).object();
    assert_eq!(object["outcome"], "broken");
}
