//! The floor: what the crew logs, the week planned anew from it, and plans rehearsed.

use crate::farm::{Farm, PLAN_FILES, Ran, ran};
use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A copy of the demo.
struct Week {
    folder: TempDir,
}

impl Week {
    fn unplanned() -> Week {
        let week = Week { folder: tempfile::tempdir().unwrap() };
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances/harbour-week");
        for entry in fs::read_dir(demo).unwrap().map(Result::unwrap).filter(|e| e.path().is_file()) {
            fs::copy(entry.path(), week.at(entry.file_name().to_str().unwrap())).unwrap();
        }
        week
    }

    fn planned() -> Week {
        let week = Week::unplanned();
        week.run("plan", &["--engine", "quick"], 0);
        week
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, command: &str, words: &[&str], code: i32) -> Ran {
        let (folder, plan) = (self.at(""), self.at("plan"));
        let mut all = vec![command, folder.to_str().unwrap()];
        if ["check", "replan", "rehearse"].contains(&command) {
            all.push(plan.to_str().unwrap());
        }
        all.extend(words);
        let ran = ran(&all, &[]);
        assert_eq!(ran.code, code, "{all:?}: {ran:#?}");
        ran
    }

    fn rows(&self, table: &str) -> Vec<HashMap<String, String>> {
        let text = fs::read_to_string(self.at(table)).unwrap();
        let mut lines = text.lines().filter(|line| !line.starts_with('#')).map(|line| line.split(','));
        let header: Vec<String> = lines.next().unwrap().map(str::to_owned).collect();
        lines.map(|cells| header.iter().cloned().zip(cells.map(str::to_owned)).collect()).collect()
    }

    /// A run that prints at a moment, by its place among them.
    fn printing(&self, at: &str, nth: usize) -> (String, String) {
        let rows = self.rows("plan/runs.csv");
        let mut printing = rows
            .iter()
            .filter(|r| !r["print_from"].is_empty() && r["print_from"][..16] < *at && *at < r["ready"][..16]);
        let row = printing.nth(nth).unwrap_or_else(|| panic!("nothing prints at {at}"));
        (row["run"].clone(), row["printer"].clone())
    }

    /// Everything up to a moment goes into the log as planned, and the plan does not change.
    fn live_until(&self, at: &str) {
        let ran = self.run("replan", &["--at", at, "--as-planned", "--keep", "--json"], 0);
        assert_eq!(ran.object()["outcome"], "unchanged", "{at}: {ran:#?}");
    }

    /// Lives until a moment, at which one of the plates that print fails; its printer.
    fn fail(&self, at: &str, nth: usize) -> String {
        self.live_until(at);
        let (run, printer) = self.printing(at, nth);
        self.run("log", &["failed", "--at", at, "--printer", &printer, "--run", &run, "--note", "came loose"], 0);
        printer
    }

    /// Plans anew, and holds the new plan to every rule and to the balance of its parts.
    fn replan(&self, at: &str) -> serde_json::Value {
        let ran = self.run("replan", &["--at", at, "--as-planned", "--time-limit", "3", "--json"], 0);
        self.run("check", &[], 0);
        self.balance(at);
        ran.object()
    }

    /// For every part: stock and the good copies harvested so far are allocated or surplus, and every shipment gets in
    /// all what it needs. Counted from the log and the plan's tables alone.
    fn balance(&self, at: &str) {
        let plates = self.rows("plates.csv");
        let copies = |plate: &str| -> BTreeMap<String, i64> {
            let rows = plates.iter().filter(|row| row["plate"] == plate);
            rows.map(|row| (row["part"].clone(), row["copies"].parse().unwrap())).collect()
        };
        let plate_of: HashMap<String, String> =
            self.rows("plan/runs.csv").iter().map(|r| (r["run"].clone(), r["plate"].clone())).collect();
        let mut there: BTreeMap<String, i64> =
            self.rows("stock.csv").iter().map(|r| (r["part"].clone(), r["quantity"].parse().unwrap())).collect();
        let mut harvested: HashMap<String, BTreeMap<String, i64>> = HashMap::new();
        for row in self.rows("log.csv").iter().filter(|r| r["event"] == "harvested" && *r["time"] <= *at) {
            let mut good = copies(&plate_of[&row["run"]]);
            if !row["rejected"].is_empty() {
                let part =
                    if row["part"].is_empty() { good.keys().next().unwrap().clone() } else { row["part"].clone() };
                *good.get_mut(&part).unwrap() -= row["rejected"].parse::<i64>().unwrap();
            }
            assert!(harvested.insert(row["run"].clone(), good).is_none(), "{} harvested twice", row["run"]);
        }
        for (part, count) in harvested.values().flatten() {
            *there.entry(part.clone()).or_default() += count;
        }
        let mut allocated: BTreeMap<String, i64> = BTreeMap::new();
        let mut all: BTreeMap<String, i64> = BTreeMap::new();
        for row in self.rows("plan/allocation.csv") {
            let count: i64 = row["count"].parse().unwrap();
            *all.entry(row["part"].clone()).or_default() += count;
            if row["source"] == "stock" || harvested.contains_key(&row["source"]) {
                *allocated.entry(row["part"].clone()).or_default() += count;
            }
            if let Some(good) = harvested.get(&row["source"]) {
                assert!(count <= good[&row["part"]], "{row:?} of {good:?}");
            }
        }
        for (part, there) in &there {
            let surplus = there - allocated.get(part).copied().unwrap_or(0);
            assert!(surplus >= 0, "{at}: {part}: {there} there, {allocated:?}");
        }
        // What 106 stations and 36 lamps need, from kits.csv.
        for (part, need) in [("louvre", 636), ("mast-clamp", 212), ("wind-cup", 318), ("lamp-arm", 72), ("knob", 72)] {
            assert_eq!(all[part], need, "{part}");
        }
    }
}

/// Planning anew at each hour of the demo, with everything logged as planned, changes not one byte.
#[test]
fn with_nothing_wrong_nothing_changes_at_any_hour() {
    let week = Week::planned();
    let bytes = || PLAN_FILES.map(|file| fs::read(week.at("plan").join(file)).unwrap());
    let before = bytes();
    for day in 2..=9 {
        for hour in if day == 2 { 7 } else { 0 }..if day == 9 { 22 } else { 24 } {
            week.live_until(&format!("2026-03-0{day}T{hour:02}:00"));
        }
    }
    assert_eq!(before, bytes());
    let rows = week.rows("log.csv");
    assert!(rows.len() > 600, "only {} rows", rows.len());
}

/// A whole week in which three plates fail, a printer is down for a day, twenty parts are rejected and an operator is ill
/// on a shift. Every plan on the way keeps every rule, no part is lost or counted twice, and everything ships.
#[test]
fn a_week_with_its_troubles() {
    let week = Week::planned();
    week.fail("2026-03-02T11:00", 3);
    week.replan("2026-03-02T11:05");

    let printer = week.fail("2026-03-03T09:00", 5);
    let down = ["down", "--at", "2026-03-03T09:00", "--printer", &printer, "--until", "2026-03-04T09:00"];
    week.run("log", &down, 0);
    week.replan("2026-03-03T09:05");

    // Twenty copies rejected, one or two of a plate, over some hours.
    let (from, at) = ("2026-03-03T09:05", "2026-03-04T12:00");
    let mut left = 20;
    for run in week.rows("plan/runs.csv") {
        let harvested = &run["harvest_to"][..16];
        let plates = week.rows("plates.csv");
        let parts: Vec<_> = plates.iter().filter(|p| p["plate"] == run["plate"]).map(|p| &p["part"]).collect();
        let copies: i64 = plates.iter().find(|p| p["plate"] == run["plate"]).unwrap()["copies"].parse().unwrap();
        let single = parts.iter().all(|part| *part == parts[0]);
        if left > 0 && single && from < harvested && harvested <= at && copies >= 4 {
            let bad = left.min(2);
            week.run(
                "replan",
                &["--at", harvested, "--as-planned", "--keep", "--out", week.at("aside").to_str().unwrap(), "-q"],
                0,
            );
            let log = fs::read_to_string(week.at("log.csv")).unwrap();
            let (row, with) = (format!("harvested,{},{},,,", run["printer"], run["run"]), bad);
            assert!(log.contains(&row), "{row}");
            fs::write(week.at("log.csv"), log.replace(&row, &format!("{row}{with}"))).unwrap();
            left -= bad;
        }
    }
    assert_eq!(left, 0, "not enough plates to reject copies of");
    week.replan(at);

    // Ill on Wednesday's late shift.
    week.live_until("2026-03-04T14:00");
    let ill = ["absent", "--operator", "late-1", "--at", "2026-03-04T14:30", "--until", "2026-03-04T22:00"];
    week.run("log", &ill, 0);
    week.replan("2026-03-04T14:35");

    week.fail("2026-03-06T10:00", 2);
    let end = week.replan("2026-03-06T10:05");
    let last =
        end["shipments"].as_array().unwrap().iter().map(|s| s["ready"].as_str().unwrap().to_owned()).max().unwrap();

    // And on to the end.
    week.live_until("2026-03-20T12:00");
    week.balance("2026-03-20T12:00");
    let checked = week.run("check", &["--json"], 0).object();
    let ready: Vec<&str> =
        checked["shipments"].as_array().unwrap().iter().map(|s| s["ready"].as_str().unwrap()).collect();
    assert_eq!(ready.iter().max().copied(), Some(last.as_str()));
    assert!(last.as_str() < "2026-03-20", "{last}");
}

/// A plate that fails on Monday morning is made again without making a shipment late, since the plan has hours to spare.
/// Of those that may fail, one in ten at most is needed so soon that the rest of the plan cannot just be lived on.
#[test]
fn one_failed_plate_makes_nothing_late() {
    let week = Week::planned();
    let at = "2026-03-02T11:00";
    week.live_until(at);
    let log = fs::read_to_string(week.at("log.csv")).unwrap();
    let (farm, aside) = (week.at(""), week.at("aside"));
    let runs = week.rows("plan/runs.csv");
    let printing = |r: &&HashMap<String, String>| {
        !r["print_from"].is_empty() && r["print_from"][..16] < *at && *at < r["ready"][..16]
    };
    let (mut failed, mut late) = (0, Vec::new());
    for run in runs.iter().filter(printing) {
        fs::write(week.at("log.csv"), &log).unwrap();
        week.run("log", &["failed", "--at", at, "--printer", &run["printer"], "--run", &run["run"]], 0);
        let words = ["--at", at, "--keep", "--json", "--out", aside.to_str().unwrap()];
        let anew = week.run("replan", &words, 0).object();
        let checked = ran(&["check", farm.to_str().unwrap(), aside.to_str().unwrap()], &[]);
        assert_eq!(checked.code, 0, "{checked:#?}");
        if anew["shipments"].as_array().unwrap().iter().any(|shipment| shipment["late_minutes"] != 0) {
            late.push(format!("{} of {}: {}", run["run"], run["plate"], anew["shipments"]));
        }
        failed += 1;
    }
    assert!(failed > 10, "only {failed} plates print at {at}");
    assert!(late.len() * 10 <= failed, "{} of {failed}: {late:#?}", late.len());
}

/// Many writers at once lose nothing.
#[test]
fn two_at_once_lose_nothing() {
    let farm = Farm::small();
    std::thread::scope(|scope| {
        for writer in 0..6 {
            let farm = &farm;
            scope.spawn(move || {
                for n in 0..8 {
                    let note = format!("writer {writer} row {n}");
                    let words = ["log", "absent", "--operator", "day-1", "--at", "2026-03-03T07:00", "--until"];
                    let ran = farm.run(&[&words[..], &["2026-03-03T08:00", "--note", &note]].concat());
                    assert_eq!(ran.code, 0, "{ran:#?}");
                }
            });
        }
    });
    let log = fs::read_to_string(farm.at("log.csv")).unwrap();
    for writer in 0..6 {
        for n in 0..8 {
            assert_eq!(log.matches(&format!("writer {writer} row {n}\n")).count(), 1, "{log}");
        }
    }
}

/// Random moments from a seed, for the tests that kill.
struct Moments(u64);

impl Moments {
    fn next(&mut self, below: u64) -> u64 {
        // Knuth's MMIX generator; any will do.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }
}

/// Starts the program and kills it after some microseconds; whether it had said that it was done.
fn killed(words: &[&str], after: u64) -> bool {
    use std::process::{Command, Stdio};
    let mut command = Command::new(env!("CARGO_BIN_EXE_platewright"));
    let mut child = command.args(words).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    std::thread::sleep(std::time::Duration::from_micros(after));
    let _ = child.kill();
    let output = child.wait_with_output().unwrap();
    !output.stdout.is_empty()
}

/// Killed at random moments, `log` loses no row that it acknowledged and leaves no half row.
#[test]
fn log_killed_at_random_moments() {
    const TIMES: u64 = 220;
    let farm = Farm::small();
    let folder = farm.path().to_str().unwrap().to_owned();
    let mut moments = Moments(2026);
    let mut acknowledged = Vec::new();
    for n in 0..TIMES {
        let note = format!("row {n} of many");
        let words = ["log", &folder, "absent", "--operator", "day-1", "--at", "2026-03-03T07:00", "--until"];
        let words = [&words[..], &["2026-03-03T08:00", "--note", &note]].concat();
        if killed(&words, moments.next(30_000)) {
            acknowledged.push(note);
        }
        if farm.at("log.csv").exists() {
            let log = fs::read_to_string(farm.at("log.csv")).unwrap();
            assert!(log.ends_with('\n'), "half a row: {log}");
            for line in log.lines().skip(1) {
                assert!(line.starts_with("2026-03-03T07:00,absent,") && line.ends_with(" of many"), "{line}");
            }
            for note in &acknowledged {
                assert_eq!(log.matches(&format!(",{note}\n")).count(), 1, "{note} was acknowledged: {log}");
            }
        }
    }
    assert!(!acknowledged.is_empty() && (acknowledged.len() as u64) < TIMES, "{} of {TIMES}", acknowledged.len());
    // The next writer finds a sound log, a free lock, and sweeps up what the dead left.
    let last = farm.run(&["log", "down", "--printer", "P1", "--at", "2026-03-03T09:00"]);
    assert_eq!(last.code, 0, "{last:#?}");
    let left: Vec<String> = farm.names("").into_iter().filter(|name| name.starts_with(".platewright-log-")).collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Killed at random moments, `replan` leaves whole files, and the next one mends what is left.
#[test]
fn replan_killed_at_random_moments() {
    let week = Week::planned();
    let at = "2026-03-02T11:00";
    week.fail(at, 3);
    let plan = week.at("plan");
    let whole: BTreeMap<&str, Vec<u8>> = PLAN_FILES.iter().map(|f| (*f, fs::read(plan.join(f)).unwrap())).collect();
    let (folder, mut moments) = (week.at(""), Moments(7));
    for _ in 0..60 {
        for (file, bytes) in &whole {
            fs::write(plan.join(file), bytes).unwrap();
        }
        let words = ["replan", folder.to_str().unwrap(), plan.to_str().unwrap(), "--at", at, "--keep"];
        killed(&words, moments.next(400_000));
        for file in PLAN_FILES {
            let text = fs::read_to_string(plan.join(file)).unwrap();
            assert!(text.ends_with('\n') || text.ends_with("</html>"), "half of {file}");
            if file == "plan.json" {
                serde_json::from_str::<serde_json::Value>(&text).unwrap();
            }
        }
    }
    week.run("replan", &["--at", at, "--keep"], 0);
    week.run("check", &[], 0);
}

/// The search for another week is bounded by work: two at once, each with half of the machine, write the same bytes.
#[test]
fn planning_anew_gives_the_same_bytes_twice() {
    let week = Week::planned();
    let at = "2026-03-02T11:00";
    let printer = week.fail(at, 3);
    week.run("log", &["down", "--at", at, "--printer", &printer, "--until", "2026-03-03T11:00"], 0);
    let outs = ["one", "two"].map(|out| week.at(out));
    let told: Vec<String> = std::thread::scope(|scope| {
        let replan = |out: &Path| week.run("replan", &["--at", at, "--out", out.to_str().unwrap()], 0).out;
        let both: Vec<_> = outs.iter().map(|out| scope.spawn(move || replan(out))).collect();
        both.into_iter().map(|one| one.join().unwrap()).collect()
    });
    assert_eq!(told[0], told[1]);
    for file in PLAN_FILES {
        let [one, two] = [&outs[0], &outs[1]].map(|out| fs::read(out.join(file)).unwrap());
        assert!(one == two, "{file} differs");
    }
}

/// A bag that is begun keeps its number when the week is planned anew, and new ones are numbered after it.
#[test]
fn labels_that_are_stuck_stay_true() {
    let week = Week::planned();
    let lots = || -> BTreeMap<String, Vec<String>> {
        let (folder, plan) = (week.at(""), week.at("plan"));
        let ran = ran(&["ledger", folder.to_str().unwrap(), plan.to_str().unwrap(), "--csv", "lots"], &[]);
        assert_eq!(ran.code, 0, "{ran:#?}");
        let mut lots: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for line in ran.out.lines().skip(1) {
            let (lot, _) = line.split_once(',').unwrap();
            lots.entry(lot.to_owned()).or_default().push(line.to_owned());
        }
        lots
    };
    let before = lots();
    let at = "2026-03-03T09:00";
    week.fail(at, 5);
    week.run("replan", &["--at", at, "--keep"], 0);
    week.run("check", &[], 0);
    let after = lots();
    // By then 24 printers have been harvested twice or more.
    let harvested: Vec<String> =
        week.rows("log.csv").iter().filter(|r| r["event"] == "harvested").map(|r| r["run"].clone()).collect();
    let holds = |lines: &[String]| lines.iter().filter(|l| harvested.iter().any(|run| l.contains(run))).count();
    let begun: Vec<&String> = before.iter().filter(|lot| holds(lot.1) > 0).map(|lot| lot.0).collect();
    assert!(begun.len() > 10, "{begun:?}");
    for number in &begun {
        let still = after.get(*number).unwrap_or_else(|| panic!("{number} is gone: {after:#?}"));
        assert!(holds(still) > 0, "{number}: {still:?}");
    }
    let mark = |number: &str| number.rsplit_once('-').unwrap().1.to_owned();
    let anew: Vec<&String> = after.keys().filter(|number| !before.contains_key(*number)).collect();
    assert!(!anew.is_empty() && anew.iter().all(|number| mark(number) != mark(begun[0])), "{anew:?}");
    let short = |number: &str| number.rsplit_once('-').unwrap().0.to_owned();
    let mut shorts: Vec<String> = after.keys().map(|number| short(number)).collect();
    shorts.dedup();
    assert_eq!(shorts.len(), after.len(), "no number is there twice, whatever its mark");
}

/// A rehearsal in which nothing is left to luck reproduces the plan to the minute.
#[test]
fn without_luck_a_rehearsal_is_the_plan() {
    let week = Week::unplanned();
    for (file, column) in [("parts.csv", "reject_rate"), ("plates.csv", "failure_rate")] {
        let text = fs::read_to_string(week.at(file)).unwrap();
        assert!(text.contains(column));
        let row = |line: &str| match line.rsplit_once(',') {
            Some((before, rate)) if rate.starts_with("0.") => format!("{before},\n"),
            _ => format!("{line}\n"),
        };
        fs::write(week.at(file), text.lines().map(row).collect::<String>()).unwrap();
    }
    certain(&week.at("farm.toml"));
    week.run("plan", &["--engine", "quick"], 0);
    let object = week.run("rehearse", &["--times", "3", "--json"], 0).object();
    for shipment in object["shipments"].as_array().unwrap() {
        for date in ["ready_50", "ready_80", "ready_95"] {
            assert_eq!(shipment[date], shipment["planned"], "{shipment}");
        }
        assert_eq!(shipment["on_time"], 1.0);
    }
    for count in ["failed_plates", "rejected_copies", "breakdowns", "runs_made_again"] {
        assert_eq!(object[count], 0.0);
    }
    assert_eq!(object["tight_hours"].as_array().unwrap().len(), 0);
}

/// A plan made anew is rehearsed from its moment on: without luck it is that plan, failed plate, downtime and all.
#[test]
fn a_plan_made_anew_is_rehearsed_from_its_moment() {
    let farm = Farm::small();
    certain(&farm.at("farm.toml"));
    assert_eq!(farm.run(&["plan", "-q"]).code, 0);
    let plan = farm.at("plan");
    let plan = plan.to_str().unwrap();
    let log = |words: &[&str]| assert_eq!(farm.run(&[&["log"], words].concat()).code, 0);
    log(&["loaded", "--at", "2026-03-02T07:03", "--printer", "P1", "--run", "R0001"]);
    log(&["failed", "--at", "2026-03-02T08:00", "--printer", "P1", "--run", "R0001"]);
    log(&["down", "--at", "2026-03-02T08:00", "--printer", "P1", "--until", "2026-03-02T10:00"]);
    assert_eq!(farm.run(&["replan", plan, "--at", "2026-03-02T08:05", "--keep", "-q"]).code, 0);
    let checked = farm.run(&["check", plan, "--json"]).object();
    let ran = farm.run(&["rehearse", plan, "--times", "2", "--json"]).object();
    let ready = &checked["shipments"][0]["ready"];
    // Two plates of two hours, one after the other, from ten.
    assert_eq!(ready, "2026-03-02T14:14:00+00:00");
    assert_eq!(&ran["shipments"][0]["ready_95"], ready);
}

/// Takes chance out of a farm file.
fn certain(farm: &Path) {
    let text = fs::read_to_string(farm).unwrap();
    let none = "\n[rehearsal]\nprint_spread = 0\nlate_minutes = 0\nbreaks_after_hours = 0\nrepair_hours = 0\n";
    fs::write(farm, text + none).unwrap();
}

/// A planned farm with no luck but what these tables bring, and with no time to print anything again.
fn due_at_once(tables: &[(&str, &str)]) -> Farm {
    let farm = Farm::small();
    certain(&farm.at("farm.toml"));
    for (file, text) in tables {
        farm.write(file, text);
    }
    farm.replace("shipments.csv", "2026-03-03T18:00", "2026-03-02T11:14");
    assert_eq!(farm.run(&["plan"]).code, 0);
    farm
}

/// A plate in five fails.
const PLATES_THAT_FAIL: (&str, &str) =
    ("plates.csv", "plate,group,part,copies,minutes,failure_rate\ncup-2,small,cup,2,120,0.2\n");

/// Within four standard errors of a share in so many rehearsals.
fn agrees(share: &serde_json::Value, exact: f64, times: f64) {
    let share = share.as_f64().unwrap();
    let error = (exact * (1.0 - exact) / times).sqrt();
    assert!((share - exact).abs() <= 4.0 * error, "{share}, and {exact} by the closed form, error {error}");
}

/// With one plate and one failure rate, a due date that leaves no time to print again is met when no plate fails: with
/// two plates and a rate of 0.2, in 0.8 · 0.8 of all cases. Binomial distribution; the test allows four standard errors.
#[test]
fn a_failure_rate_agrees_with_the_closed_form() {
    let farm = due_at_once(&[PLATES_THAT_FAIL]);
    let plan = farm.at("plan");
    let ran = farm.run(&["rehearse", plan.to_str().unwrap(), "--times", "20000", "--json"]);
    agrees(&ran.object()["shipments"][0]["on_time"], 0.64, 20_000.0);
    // Each failure is made good by a run that may fail again: 2 · 0.2 / 0.8 more runs on average.
    let again = ran.object()["runs_made_again"].as_f64().unwrap();
    assert!((again - 0.5).abs() < 0.03, "{again}");
    let missed = farm.run(&["rehearse", plan.to_str().unwrap(), "--times", "2000", "--target", "0.9"]);
    assert_eq!(missed.code, 1);
}

/// Of two plates of three cups, four cups are needed: with a reject rate of 0.1 that is met where at most two of six are
/// rejected, in 0.98415 of all cases (binomial distribution).
#[test]
fn a_reject_rate_agrees_with_the_closed_form() {
    let farm = due_at_once(&[
        ("parts.csv", "part,material,reject_rate\ncup,PLA,0.1\n"),
        ("plates.csv", "plate,group,part,copies,minutes\ncup-3,small,cup,3,120\n"),
    ]);
    let plan = farm.at("plan");
    let ran = farm.run(&["rehearse", plan.to_str().unwrap(), "--times", "20000", "--json"]);
    agrees(&ran.object()["shipments"][0]["on_time"], 0.984_15, 20_000.0);
}

/// The figures of a seed are the same on any number of threads, and other ones for another seed.
#[test]
fn the_figures_do_not_depend_on_the_threads() {
    let week = Week::planned();
    let told = |threads: &str, seed: &str| {
        week.run("rehearse", &["--times", "500", "--threads", threads, "--seed", seed], 0).out
    };
    let one = told("1", "3");
    assert_eq!(one, told("2", "3"));
    assert_eq!(one, told("5", "3"));
    assert_ne!(one, told("2", "4"));
}

/// The plan's page with the rehearsal on it says what the object says.
#[test]
fn the_page_of_a_rehearsal_says_how_sure_the_dates_are() {
    let farm = due_at_once(&[PLATES_THAT_FAIL]);
    let (plan, file) = (farm.at("plan"), farm.at("sure.html"));
    let words = ["rehearse", plan.to_str().unwrap(), "--times", "400", "--html", file.to_str().unwrap(), "--json"];
    let ran = farm.run(&words);
    assert_eq!(ran.code, 0, "{ran:#?}");
    let in_time = ran.object()["shipments"][0]["on_time"].as_f64().unwrap();
    let page = fs::read_to_string(&file).unwrap();
    let piece = &page[page.find("How the dates hold").expect("the table of dates")..];
    assert!((0.5..0.8).contains(&in_time), "0.64 but for luck: {in_time}");
    assert!(piece.contains(&format!("{:.0} %", 100.0 * in_time)), "{in_time}");
    assert!(page.contains("400 rehearsals, seed 0"), "how many, and from which seed");
}

/// What cannot be logged is told with its line, and the log stays as it was.
#[test]
fn a_contradiction_is_refused_and_nothing_is_written() {
    let farm = Farm::small();
    assert_eq!(farm.run(&["log", "loaded", "--printer", "P1", "--run", "R0001", "--at", "2026-03-02T07:03"]).code, 0);
    let before = fs::read_to_string(farm.at("log.csv")).unwrap();
    let refused: [(&[&str], &str); 4] = [
        (
            &["log", "harvested", "--printer", "P1", "--run", "R0002", "--at", "2026-03-02T09:07"],
            "log.csv, row 3   [T420]",
        ),
        (
            &["log", "loaded", "--printer", "P1", "--run", "R0002", "--at", "2026-03-02T09:07"],
            "log.csv, row 3   [T421]",
        ),
        (
            &["log", "loaded", "--printer", "P9", "--run", "R0002", "--at", "2026-03-02T09:07"],
            "column printer   [T301]",
        ),
        (&["log", "up", "--printer", "P1", "--at", "2026-03-02"], "column time   [T208]"),
    ];
    for (words, told) in refused {
        let ran = farm.run(words);
        assert!(ran.code == 2 && ran.err.contains(told), "{words:?}: {ran:#?}");
        assert_eq!(fs::read_to_string(farm.at("log.csv")).unwrap(), before);
    }
    // What only plan and log together can tell.
    assert_eq!(farm.run(&["plan", "-q"]).code, 0);
    let plan = farm.at("plan");
    assert_eq!(
        farm.run(&["log", "harvested", "--printer", "P1", "--run", "R0001", "--good", "3", "--at", "2026-03-02T09:07"])
            .code,
        0
    );
    let ran = farm.run(&["replan", plan.to_str().unwrap(), "--at", "2026-03-02T10:00"]);
    assert!(ran.code == 2 && ran.err.contains("log.csv, row 3, column good   [T426]"), "{ran:#?}");
}
