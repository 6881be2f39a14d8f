//! `export` and `import`: files of other programs, written whole or not at all.

use crate::farm::{Farm, Ran, ran};
use std::fs;

fn planned() -> Farm {
    let farm = Farm::small();
    let planned = farm.run(&["plan", "--engine", "quick"]);
    assert_eq!(planned.code, 0, "{planned:#?}");
    farm
}

fn export(farm: &Farm, words: &[&str]) -> Ran {
    let words: Vec<String> = words
        .iter()
        .map(|word| if word.contains('.') { farm.at(word).to_str().unwrap().to_owned() } else { (*word).to_owned() })
        .collect();
    let words: Vec<&str> = std::iter::once("export").chain(words.iter().map(String::as_str)).collect();
    farm.run(&words)
}

#[test]
fn every_kind_of_file_is_written() {
    let farm = planned();
    let words =
        ["--calendar", "a.ics", "--plan-workbook", "a.xlsx", "--workbook", "b.xlsx", "--mps", "a.mps", "--slot", "60"];
    let told = export(&farm, &words);
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{told:#?}");
    assert_eq!(told.out.lines().count(), 4, "{}", told.out);
    assert!(fs::read_to_string(farm.at("a.ics")).unwrap().starts_with("BEGIN:VCALENDAR\r\n"));
    let model = fs::read_to_string(farm.at("a.mps")).unwrap();
    assert!(model.contains("\n load/cup-2/small/w0/s0 ") && model.ends_with("ENDATA\n"), "{model}");
    let before: Vec<_> = ["a.ics", "a.xlsx", "b.xlsx", "a.mps"].map(|name| fs::read(farm.at(name)).unwrap()).to_vec();
    assert_eq!(export(&farm, &words).code, 0);
    let after: Vec<_> = ["a.ics", "a.xlsx", "b.xlsx", "a.mps"].map(|name| fs::read(farm.at(name)).unwrap()).to_vec();
    assert!(before == after, "the same bytes twice");
}

#[test]
fn calls_that_make_no_sense_write_nothing() {
    let farm = planned();
    for (words, said) in [
        (&["--calendar", "parts.csv"][..], "does not end with .ics"),
        (&["--workbook", "farm.toml"], "does not end with .xlsx"),
        (&["--mps", "a.txt"], "does not end with .mps"),
        (&[], "--calendar"),
        (&["--workbook", "a.xlsx", "--slot", "30"], "--mps"),
        (&["--mps", "a.mps", "--slot", "0"], "1..=1440"),
        (&["plan", "--workbook", "a.xlsx"], "nothing that was asked for is made of a plan"),
        (&["--calendar", "nowhere.d/a.ics"], "cannot be written"),
    ] {
        let told = export(&farm, words);
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{words:?} {told:#?}");
        assert!(told.err.contains(said), "{words:?} {}", told.err);
    }
    assert!(!farm.at("a.xlsx").exists() && !farm.at("a.mps").exists());
}

#[test]
fn nothing_is_made_of_a_plan_that_breaks_rules() {
    let farm = planned();
    farm.replace("plan/plan.json", "254", "253");
    let told = export(&farm, &["--calendar", "a.ics"]);
    assert_eq!((told.code, told.out.as_str()), (1, ""), "{told:#?}");
    assert!(told.err.contains("breaks rules") && !farm.at("a.ics").exists(), "{}", told.err);
    fs::remove_dir_all(farm.at("plan")).unwrap();
    assert_eq!(export(&farm, &["--plan-workbook", "a.xlsx"]).code, 2);
}

#[test]
fn a_workbook_makes_the_folder_that_it_came_from() {
    let farm = planned();
    assert_eq!(export(&farm, &["--workbook", "a.xlsx"]).code, 0);
    let (workbook, folder) = (farm.at("a.xlsx"), farm.at("back"));
    let words = ["import", workbook.to_str().unwrap(), folder.to_str().unwrap()];
    let told = ran(&words, &[]);
    assert_eq!((told.code, told.err.as_str()), (0, ""), "{told:#?}");
    assert_eq!(fs::read(farm.at("back/plates.csv")).unwrap(), fs::read(farm.at("plates.csv")).unwrap());
    let checked = ran(&["check", folder.to_str().unwrap(), farm.at("plan").to_str().unwrap()], &[]);
    assert_eq!(checked.code, 0, "{checked:#?}");

    // A second time it is refused, unless it is said that the tables may go; other files stay, old rows do not.
    let told = ran(&words, &[]);
    assert!(told.code == 2 && told.err.contains("--replace"), "{told:#?}");
    farm.write("back/notes.txt", "mine");
    farm.write("back/stock.csv", "part,quantity\ncup,3\n");
    let told = ran(&[&words[..], &["--replace"]].concat(), &[]);
    assert_eq!(told.code, 0, "{told:#?}");
    assert_eq!(fs::read_to_string(farm.at("back/notes.txt")).unwrap(), "mine");
    assert_eq!(fs::read_to_string(farm.at("back/stock.csv")).unwrap(), "part,quantity\n");
    let checked = ran(&["check", folder.to_str().unwrap(), farm.at("plan").to_str().unwrap()], &[]);
    assert_eq!(checked.code, 0, "{checked:#?}");
}

#[test]
fn nothing_that_the_floor_wrote_down_is_lost_by_an_import() {
    let farm = planned();
    let head = "time,event,printer,run,note\n";
    farm.write("log.csv", &format!("{head}2026-03-02T08:10,down,P1,,belt\n"));
    assert_eq!(export(&farm, &["--workbook", "a.xlsx"]).code, 0);
    let (workbook, folder) = (farm.at("a.xlsx"), farm.at("back"));
    let words = ["import", workbook.to_str().unwrap(), folder.to_str().unwrap()];
    assert_eq!(ran(&words, &[]).code, 0);
    let log = fs::read_to_string(farm.at("back/log.csv")).unwrap();
    assert_eq!(log, "time,event,printer,note\n2026-03-02T08:10,down,P1,belt\n");
    let again = [&words[..], &["--replace"]].concat();
    assert_eq!(ran(&again, &[]).code, 0, "the same rows are no loss");

    // The floor writes on; the older workbook may not take that away, and touches nothing.
    let longer = log + "2026-03-02T09:00,up,P1,\n";
    farm.write("back/log.csv", &longer);
    farm.write("back/stock.csv", "part,quantity\ncup,3\n");
    let told = ran(&again, &[]);
    assert_eq!((told.code, told.out.as_str()), (2, ""), "{told:#?}");
    assert!(told.err.contains("has a row that") && told.err.contains("2026-03-02T09:00 up P1"), "{}", told.err);
    assert_eq!(fs::read_to_string(farm.at("back/log.csv")).unwrap(), longer);
    assert_eq!(fs::read_to_string(farm.at("back/stock.csv")).unwrap(), "part,quantity\ncup,3\n");

    // A workbook without a log leaves the folder's alone.
    fs::remove_file(farm.at("log.csv")).unwrap();
    assert_eq!(export(&farm, &["--workbook", "a.xlsx"]).code, 0);
    assert_eq!(ran(&again, &[]).code, 0);
    assert_eq!(fs::read_to_string(farm.at("back/log.csv")).unwrap(), longer);
}

#[test]
fn what_is_no_workbook_makes_no_folder() {
    let farm = Farm::small();
    let folder = farm.at("back");
    for file in ["parts.csv", "nothing.xlsx", ""] {
        let told = ran(&["import", farm.at(file).to_str().unwrap(), folder.to_str().unwrap()], &[]);
        assert_eq!((told.code, told.out.as_str()), (2, ""), "{told:#?}");
    }
    assert!(!folder.exists());
}
