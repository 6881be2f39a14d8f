//! `plates`, `quote`, `explain`: what they answer, and that `check` confirms the plans behind it.

use crate::farm::Farm;
use std::fs;

/// Every plan kept in a folder of an answer holds.
fn believe(farm: &Farm, answer: &str) -> usize {
    let folders: Vec<String> = farm.names(answer).into_iter().filter(|n| farm.at(answer).join(n).is_dir()).collect();
    for folder in &folders {
        let checked = farm.run(&["check", farm.at(answer).join(folder).to_str().unwrap()]);
        assert_eq!(checked.code, 0, "{folder}: {checked:#?}");
    }
    folders.len()
}

fn quote(farm: &Farm, more: &[&str]) -> crate::farm::Ran {
    farm.run(&[&["quote", "--kit", "set", "--quantity", "1", "--json"], more].concat())
}

/// The book's four cups take 254 minutes, from 07:00 to 11:14; four more take as long again. Of the two shipments the
/// new one goes first, since the other has until the next evening.
#[test]
fn a_quote_is_proven_and_moves_what_may_be_moved() {
    let farm = Farm::small();
    let ran = quote(&farm, &[]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    assert_eq!(object["ready_by"], "2026-03-02T11:14:00+00:00");
    assert_eq!((&object["not_before"], &object["proven_earliest"]), (&object["ready_by"], &true.into()));
    assert_eq!(object["others"][0]["ready_without"], "2026-03-02T11:14:00+00:00");
    assert_eq!(object["others"][0]["ready_with"], "2026-03-02T15:28:00+00:00");
    assert_eq!(believe(&farm, "quote"), 2);
}

/// With the book due at 12:00 its dates have to be kept, and the order is ready at 15:28.
#[test]
fn a_minute_before_the_bound_is_no_and_the_found_date_is_yes_and_can_be_planned() {
    let farm = Farm::small();
    farm.replace("shipments.csv", "2026-03-03T18:00", "2026-03-02T12:00");
    let found = quote(&farm, &[]).object();
    assert_eq!((&found["ready_by"], &found["not_before"]), (&found["ready_by"], &found["ready_by"]));
    assert_eq!(found["ready_by"], "2026-03-02T15:28:00+00:00");

    let too_soon = quote(&farm, &["--due", "2026-03-02T15:27"]);
    assert_eq!((too_soon.code, &too_soon.object()["wished"]["answer"]), (1, &"no".into()), "{too_soon:#?}");
    let held = quote(&farm, &["--due", "2026-03-02T15:28"]);
    assert_eq!((held.code, &held.object()["wished"]["answer"]), (0, &"yes".into()), "{held:#?}");
    believe(&farm, "quote");

    let book = fs::read_to_string(farm.at("shipments.csv")).unwrap();
    farm.write("shipments.csv", &format!("{book}order,set,1,2026-03-02T15:28\n"));
    assert_eq!(farm.run(&["plan", "--json"]).object()["late_minutes"], 0);
}

/// A second printer halves the work; a second operator or a weekend do not help a room with one printer.
#[test]
fn what_a_wish_would_take_is_found_by_planning() {
    let farm = Farm::small();
    farm.replace("shipments.csv", "2026-03-03T18:00", "2026-03-02T12:00");
    let ran = quote(&farm, &["--due", "2026-03-02T12:00"]);
    let object = ran.object();
    assert_eq!((ran.code, &object["wished"]["answer"]), (1, &"no".into()), "{ran:#?}");
    let would: Vec<&str> =
        object["wished"]["would_take"].as_array().unwrap().iter().map(|n| n["change"].as_str().unwrap()).collect();
    assert_eq!(would, ["1 more printer of group small"]);
    assert_eq!(believe(&farm, "quote"), 3);
}

#[test]
fn an_order_is_read_from_a_table_of_its_own() {
    let farm = Farm::small();
    farm.write("order.txt", "shipment,kit,quantity,due\nfair,set,1,2026-03-02T18:00\n");
    let file = farm.at("order.txt");
    let ran = farm.run(&["quote", "--add", file.to_str().unwrap()]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    for words in ["fair: 1 x set.", "Yes: Mon 2 Mar 18:00 holds.", "The other shipments", "no margin"] {
        assert!(ran.out.contains(words), "{words} in {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
}

#[test]
fn an_order_that_cannot_be_used_is_told() {
    let farm = Farm::small();
    let desk = Farm::empty();
    desk.write("order.csv", "shipment,kit,quantity\nfair,sett,1\n");
    desk.write("two.csv", "shipment,kit,quantity\nfair,set,1\nmarket,set,1\n");
    desk.write("odd.csv", "shipment,kit,number\nfair,set,1\n");
    let at = |name: &str| desk.at(name).to_str().unwrap().to_owned();
    for (words, told) in [
        (vec!["--add", &at("order.csv")], "sett"),
        (vec!["--add", &at("two.csv")], "one shipment at a time"),
        (vec!["--add", &at("odd.csv")], "odd.csv, row 1, column number"),
        (vec!["--add", &at("none.csv")], "none.csv"),
        (vec!["--kit", "set", "--quantity", "none"], "none"),
        (vec!["--kit", "set", "--quantity", "1", "--name", "shop"], "already"),
        (vec!["--kit", "set", "--quantity", "1", "--due", "soon"], "soon"),
        (vec!["--kit", "set"], "--quantity"),
        (vec![], "--add"),
    ] {
        let ran = farm.run(&[&["quote"], &words[..]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{words:?} {ran:#?}");
        assert!(ran.err.contains(told), "{told} in {}", ran.err);
    }
    assert!(!farm.at("quote").exists());
}

/// Plates of two and four cups give a line of 20 minutes and 50 for each; a bag of four has room for one, two and four.
#[test]
fn plates_fits_and_lets_the_planner_choose() {
    let farm = Farm::small();
    farm.write("plates.csv", "plate,group,part,copies,minutes\ncup-1,small,cup,1,70\ncup-2,small,cup,2,120\n");
    let ran = farm.run(&["plates", "--most", "4", "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    let part = &object["parts"][0];
    assert_eq!((&part["fixed_minutes"], &part["minutes_per_copy"]), (&20.0.into(), &50.0.into()));
    let minutes: Vec<i64> =
        part["layouts"].as_array().unwrap().iter().map(|l| l["minutes"].as_i64().unwrap()).collect();
    assert_eq!(minutes, [70, 120, 170, 220]);
    // One plate of four takes 3 + 220 + 4 minutes, two of two 127 each.
    assert_eq!(object["chosen"], serde_json::json!(["cup-4"]));
    assert_eq!(
        (&object["before"]["makespan_minutes"], &object["after"]["makespan_minutes"]),
        (&254.into(), &227.into())
    );
    let checked = farm.run(&["check", farm.at("plates").to_str().unwrap()]);
    assert_eq!(checked.code, 0, "{checked:#?}");
    assert_eq!(believe(&farm, "plates"), 1);

    // The table is ready to be used as it is.
    fs::copy(farm.at("plates/plates.csv"), farm.at("plates.csv")).unwrap();
    assert_eq!(farm.run(&["plan", "--json"]).object()["makespan_minutes"], 227);
    let told = farm.run(&["plates", "--most", "4"]);
    assert!(told.out.contains("none gives a better plan"), "{}", told.out);
}

#[test]
fn plates_that_cannot_be_looked_at_are_told() {
    let farm = Farm::small();
    for (words, told) in [
        (vec!["--part", "cupp"], "cupp"),
        (vec!["--bed", "220x220"], "--copy"),
        (vec!["--part", "cup", "--bed", "20x20", "--copy", "30x30"], "does not lie on the bed"),
        (vec!["--bed", "big", "--copy", "3x3", "--part", "cup"], "220x220"),
    ] {
        let ran = farm.run(&[&["plates"], &words[..]].concat());
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{words:?} {ran:#?}");
        assert!(ran.err.contains(told), "{told} in {}", ran.err);
    }
    // One count of cups is known: that is no fault, and there is nothing to plan.
    let ran = farm.run(&["plates"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    assert!(
        ran.out.contains("one count is known, two are needed") && ran.out.contains("no layout to add"),
        "{}",
        ran.out
    );
    assert!(!farm.at("plates").exists());
}

/// Two runs of 127 minutes on one printer: a second printer halves it, a minute less at each end of two runs is two
/// minutes, a second operator nothing.
#[test]
fn explain_puts_every_minute_down_and_sorts_what_more_would_gain() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["plan"]).code, 0);
    let ran = farm.run(&["explain", "--json"]);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let object = ran.object();
    assert_eq!((&object["outcome"], &object["makespan_minutes"]), (&"optimal".into(), &254.into()));
    let minutes = object["chains"][0]["minutes"].as_array().unwrap();
    assert_eq!(minutes.iter().map(|cause| cause["minutes"].as_i64().unwrap()).sum::<i64>(), 254);
    let gains: Vec<(&str, i64, bool)> = object["gains"]
        .as_array()
        .unwrap()
        .iter()
        .map(|g| (g["change"].as_str().unwrap(), g["sooner_minutes"].as_i64().unwrap(), g["proven"].as_bool().unwrap()))
        .collect();
    assert!(gains.windows(2).all(|w| w[0].1 >= w[1].1), "{gains:?}");
    let of = |words: &str| gains.iter().find(|g| g.0.contains(words)).unwrap_or_else(|| panic!("{words}: {gains:?}"));
    // Two printers, one operator: load at 0 and 3, ready at 123 and 126, harvested by 127 and 131.
    assert_eq!((of("printer").1, of("printer").2), (254 - 131, true));
    assert_eq!((of("less to load").1, of("less to harvest").1, of("operator on day").1), (2, 2, 0));
    assert_eq!(believe(&farm, "explain"), gains.len() + 1);

    let told = farm.run(&["explain", "--only-why"]);
    assert!(told.out.contains("Why shop is the last") && !told.out.contains("would gain"), "{}", told.out);
    assert!(told.out.lines().all(|line| line.chars().count() <= 80), "{}", told.out);
}

/// Ten minutes are not enough for a plate of two hours, whatever else is wished.
#[test]
fn a_date_that_cannot_be_kept_is_blamed_and_no_other() {
    let farm = Farm::small();
    farm.write(
        "shipments.csv",
        "shipment,kit,quantity,due\nearly,set,1,2026-03-02T09:00\nlate,set,1,2026-03-08T09:00\n",
    );
    let object = farm.run(&["explain", "--only-why", "--json"]).object();
    assert_eq!(object["contradiction"], serde_json::json!(["early is ready by Mon 2 Mar 09:00."]));
    let told = farm.run(&["explain", "--only-why"]);
    assert!(told.out.contains("Why early is late") && told.out.contains("cannot all hold"), "{}", told.out);
}

/// Fifty sets need a hundred runs of two hours: a horizon of one day does not hold them.
#[test]
fn where_no_plan_exists_the_smallest_set_of_wishes_is_named() {
    let farm = Farm::small();
    farm.replace("farm.toml", "horizon_days = 14", "horizon_days = 1");
    farm.write("shipments.csv", "shipment,kit,quantity\nshop,set,50\nfair,set,1\n");
    let ran = farm.run(&["explain", "--json"]);
    assert_eq!(ran.code, 3, "{ran:#?}");
    let object = ran.object();
    assert_eq!(object["outcome"], "infeasible", "{object}");
    assert_eq!(object["contradiction"], serde_json::json!(["shop is ready by Tue 3 Mar 07:00."]));
}

#[test]
fn a_plan_that_breaks_rules_is_not_explained() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["plan"]).code, 0);
    let plan = farm.at("plan/shipments.csv");
    let text = fs::read_to_string(&plan).unwrap();
    fs::write(&plan, text.replace("T11:14", "T11:13")).unwrap();
    let ran = farm.run(&["explain", "--json"]);
    assert_eq!((ran.code, &ran.object()["outcome"]), (1, &"broken".into()), "{ran:#?}");
}
