//! Spares and first lots in mid-week: what `replan` makes of a plan that would break SPARES or AFTER if it were lived on.

use crate::farm::{Farm, PLAN_FILES};
use statrs::distribution::{Binomial, Discrete, DiscreteCDF};
use std::fs;

impl Farm {
    fn must(&self, words: &[&str]) -> String {
        let ran = self.run(words);
        assert_eq!(ran.code, 0, "{words:?}: {ran:#?}");
        ran.out
    }

    /// The cells of a table of the plan, without its header.
    fn cells(&self, table: &str) -> Vec<Vec<String>> {
        let text = fs::read_to_string(self.at("plan").join(table)).unwrap();
        text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
    }
}

/// The chance that so many plates of three copies give as many good ones as are needed: each plate fails with 0.05, each
/// copy of one that does not is rejected with 0.1 (binomial distributions of statrs).
fn chance(plates: u64, need: u64) -> f64 {
    let succeed = Binomial::new(0.95, plates).unwrap();
    let of = |good: u64| match (need, 3 * good) {
        (0, _) => 1.0,
        (need, copies) if copies < need => 0.0,
        (need, copies) => 1.0 - Binomial::new(0.9, copies).unwrap().cdf(need - 1),
    };
    (0..=plates).map(|good| succeed.pmf(good) * of(good)).sum()
}

/// A farm that needs four cups with a confidence of 0.95, planned.
fn sure_of_four() -> Farm {
    let farm = Farm::small();
    farm.replace("farm.toml", "harvest = 4\n", "harvest = 4\n[spares]\nconfidence = 0.95\n");
    farm.write("parts.csv", "part,material,reject_rate\ncup,PLA,0.1\n");
    farm.write("plates.csv", "plate,group,part,copies,minutes,failure_rate\ncup-3,small,cup,3,120,0.05\n");
    farm.must(&["plan", "-q"]);
    assert!(chance(2, 4) < 0.95 && chance(3, 4) > 0.95);
    assert_eq!(farm.cells("runs.csv").len(), 3, "as many plates as the closed form asks for");
    farm
}

/// What is printed after the first plate is what the closed form asks for, given what came of it.
#[test]
fn spares_follow_what_was_counted() {
    for (good, runs) in [(3, 3), (1, 3), (0, 4)] {
        let farm = sure_of_four();
        let plan = farm.at("plan");
        let plan = plan.to_str().unwrap();
        farm.must(&["log", "loaded", "--printer", "P1", "--run", "R0001", "--at", "2026-03-02T07:03"]);
        let count = good.to_string();
        let words = ["log", "harvested", "--printer", "P1", "--run", "R0001", "--good", &count];
        farm.must(&[&words[..], &["--at", "2026-03-02T09:07"]].concat());
        farm.must(&["replan", plan, "--at", "2026-03-02T09:08", "--keep"]);
        farm.must(&["check", plan]);
        assert_eq!(farm.cells("runs.csv").len(), runs, "{good} good");
        let to_come = runs as u64 - 1;
        assert!(chance(to_come, 4 - good) >= 0.95, "{good} good: {}", chance(to_come, 4 - good));
        if runs > 3 {
            assert!(chance(to_come - 1, 4 - good) < 0.95, "{good} good: one plate fewer would do");
        }
        // Spares that are left are kept, and the counts alone meet the need.
        let rows = farm.cells("allocation.csv");
        let sum = |column: usize| rows.iter().map(|row| row[column].parse::<u64>().unwrap()).sum::<u64>();
        assert_eq!(sum(3), 4);
        assert!(sum(4) <= good + 3 * to_come - 4, "{rows:?}");
    }
}

/// Where the horizon has room for the two plates that the need takes, and not for a third, there is no plan, and a hint says
/// what could give way.
#[test]
fn a_confidence_out_of_reach_is_told() {
    let farm = sure_of_four();
    let plan = farm.at("plan");
    let plan = plan.to_str().unwrap();
    farm.must(&["log", "loaded", "--printer", "P1", "--run", "R0001", "--at", "2026-03-02T07:03"]);
    farm.must(&["log", "failed", "--printer", "P1", "--run", "R0001", "--at", "2026-03-02T09:00"]);
    farm.must(&["log", "down", "--printer", "P1", "--at", "2026-03-02T09:05", "--until", "2026-03-15T11:00"]);
    let before = PLAN_FILES.map(|file| fs::read(farm.at("plan").join(file)).unwrap());
    let ran = farm.run(&["replan", plan, "--at", "2026-03-02T09:06"]);
    assert_eq!(ran.code, 3, "{ran:#?}");
    assert!(ran.err.contains("spares.confidence"), "{ran:#?}");
    assert_eq!(before, PLAN_FILES.map(|file| fs::read(farm.at("plan").join(file)).unwrap()));
    farm.replace("farm.toml", "confidence = 0.95", "confidence = 0.85");
    farm.must(&["replan", plan, "--at", "2026-03-02T09:06"]);
}

/// The first lot loses a plate, and somebody has loaded the rest before anybody planned anew: that plate goes to the first
/// lot, and the rest is printed again once the first lot has been looked over.
#[test]
fn a_rest_that_was_loaded_too_early_is_printed_again() {
    let farm = Farm::small();
    farm.write("printers.csv", "printer,group\nP1,small\nP2,small\n");
    farm.write(
        "shipments.csv",
        "shipment,kit,quantity,due,after,hold_hours\nfirst,set,1,2026-03-03T18:00,,\nrest,set,1,2026-03-04T18:00,first,1\n",
    );
    farm.must(&["plan", "-q"]);
    let plan = farm.at("plan");
    let plan = plan.to_str().unwrap();
    let runs = farm.cells("runs.csv");
    let time = |cell: &str| cell[..16].to_owned();
    let ready = |name: &str| {
        let rows = farm.cells("shipments.csv");
        time(&rows.iter().find(|row| row[0] == name).unwrap()[1])
    };
    let promised = ready("first");
    // Everything is done as planned, but the first plate came loose at the last minute.
    let (first, printer) = (runs[0][0].clone(), runs[0][1].clone());
    farm.must(&["log", "loaded", "--printer", &printer, "--run", &first, "--at", &time(&runs[0][4])]);
    farm.must(&["log", "failed", "--printer", &printer, "--run", &first, "--at", &time(&runs[0][7])]);
    let rest_loaded = time(&runs[3][4]);
    let aside = farm.at("aside");
    let words = ["replan", plan, "--at", &rest_loaded, "--as-planned", "--out", aside.to_str().unwrap()];
    farm.must(&words);
    fs::remove_dir_all(farm.at("plan")).unwrap();
    fs::rename(&aside, farm.at("plan")).unwrap();
    farm.must(&["check", plan]);
    assert!(ready("first") > promised, "{} and {promised}", ready("first"));
    // What was loaded too early is no use to the rest, and two plates more are printed for it.
    let too_early: Vec<String> = runs[2..].iter().map(|run| run[0].clone()).collect();
    let rows = farm.cells("allocation.csv");
    assert!(rows.iter().any(|row| too_early.contains(&row[0]) && row[2] == "first"), "{rows:?}");
    assert!(!rows.iter().any(|row| too_early.contains(&row[0]) && row[2] == "rest"), "{rows:?}");
    let opens = ready("first");
    for run in farm.cells("runs.csv").iter().filter(|run| rows.iter().any(|row| row[0] == run[0] && row[2] == "rest")) {
        assert!(time(&run[3]) > opens, "{run:?} and {opens}");
    }
    // From there with nothing wrong nothing changes.
    let again = ["replan", plan, "--at", "2026-03-03T12:00", "--as-planned", "--keep", "--json"];
    let ran = farm.run(&again);
    assert_eq!((ran.code, &ran.object()["outcome"]), (0, &serde_json::json!("unchanged")), "{ran:#?}");
}

/// Confidences side by side: more of it never takes fewer runs, and the page says what it takes.
#[test]
fn compare_shows_confidences_side_by_side() {
    let farm = sure_of_four();
    fs::create_dir(farm.at("scenarios")).unwrap();
    for confidence in ["0.8", "0.99"] {
        let name = format!("scenarios/sure-{}.toml", &confidence[2..]);
        farm.write(&name, &format!("[farm]\nspares.confidence = {confidence}\n"));
    }
    let told = farm.must(&["compare", "--engine", "quick"]);
    let table = &told[told.find("\nSpares\n").expect("a table of spares")..];
    let row = |name: &str| -> Vec<String> {
        let row = table.lines().find(|line| line.trim_start().starts_with(name)).unwrap();
        row.split_whitespace().filter(|word| *word != "%").map(str::to_owned).collect()
    };
    // Asked, and of all so many runs: as many as the closed form says.
    let fewest = |confidence: f64| (2..).find(|&plates| chance(plates, 4) >= confidence).unwrap();
    for (name, asked, confidence) in
        [("sure-8", "80.0", 0.8), ("as-it-stands", "95.0", 0.95), ("sure-99", "99.0", 0.99)]
    {
        let row = row(name);
        assert_eq!(row[1], asked, "{table}");
        assert_eq!(row[5], fewest(confidence).to_string(), "{table}");
    }
}
