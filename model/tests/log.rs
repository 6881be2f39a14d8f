//! The log read with the tables, and what it makes of the room.

use platewright_model::log::Event;
use platewright_model::log_file::{self, NewRow, NotAppended};
use platewright_model::{FaultCode, Instance, past, tables};
use std::fs;
use std::path::Path;

/// The sound folder with a log, and something more in its farm file.
fn with(log: &str, farm: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sound")).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    if !log.is_empty() {
        fs::write(folder.path().join("log.csv"), log).unwrap();
    }
    let name = folder.path().join("farm.toml");
    let text = fs::read_to_string(&name).unwrap();
    fs::write(name, text + farm).unwrap();
    folder
}

fn read(folder: &Path) -> Instance {
    tables::read(folder).unwrap_or_else(|faults| panic!("{faults}"))
}

fn codes(log: &str, farm: &str) -> Vec<FaultCode> {
    tables::read(with(log, farm).path()).err().map_or(Vec::new(), |f| f.0.into_iter().map(|f| f.code).collect())
}

#[test]
fn rows_may_stand_in_any_order_and_the_digest_does_not_see_them() {
    let log =
        "note,time,event,printer,until\n,2026-03-28T09:00,up,P2,\nnozzle,2026-03-27T09:00,down,P2,2026-03-29T09:00\n";
    let folder = with(log, "");
    let instance = read(folder.path());
    let words: Vec<&str> = instance.log.iter().map(|entry| entry.event.word()).collect();
    assert_eq!(words, ["down", "up"]);
    assert_eq!((instance.log[0].line, instance.log[1].line), (3, 2));
    assert_eq!(instance.digest(), read(with("", "").path()).digest());

    // It is down as long as it turned out to be, or as is expected while nobody knows better.
    let downs = |until: i64| {
        let at = instance.log[0].at + platewright_model::Minutes(until);
        let room = past::room(&instance, at);
        room.downtime[instance.downtime.len()..].iter().map(|d| (d.to - d.from).0).collect::<Vec<_>>()
    };
    assert_eq!(downs(-1), Vec::<i64>::new());
    assert_eq!(downs(10), [2 * 1440 - 60]);
    assert_eq!(downs(1440), [1440]);
    let open = with("time,event,printer\n2026-03-27T09:00,down,P2\n", "");
    let open = read(open.path());
    let room = past::room(&open, open.log[0].at + platewright_model::Minutes(90));
    assert_eq!(room.downtime.last().map(|d| (d.to - d.from).0), Some(90 + 1440));
}

#[test]
fn an_absence_is_of_a_named_operator_and_ends() {
    let log = "time,event,operator,until\n2026-03-27T08:00,absent,day-2,2026-03-27T12:00\n";
    let instance = read(with(log, "").path());
    assert!(matches!(instance.log[0].event, Event::Absent { operator: 2, .. }));
    assert_eq!(past::room(&instance, instance.log[0].at).absences.len(), 1);
    let refused = |row: &str| codes(&format!("time,event,operator,until,printer\n{row}\n"), "");
    assert_eq!(refused("2026-03-27T08:00,absent,day-2,,"), [FaultCode::BlankCell]);
    assert_eq!(refused("2026-03-27T08:00,absent,day-2,2026-03-27T07:00,"), [FaultCode::EndBeforeStart]);
    assert_eq!(refused("2026-03-27T08:00,absent,Joe,2026-03-27T09:00,"), [FaultCode::UnknownWord]);
    assert_eq!(refused("2026-03-27T08:00,absent,day-2,2026-03-27T09:00,P2"), [FaultCode::StrayCell]);
    assert_eq!(refused("2026-03-27T08:00,abscent,day-2,2026-03-27T09:00,"), [FaultCode::UnknownWord]);
}

#[test]
fn every_fault_of_a_log_is_told_at_once() {
    let log = "time,event,printer,run\n\
               2026-03-27T09:00,loaded,P9,R1\n\
               2026-03-27T09:00,loaded,P2,\n\
               yesterday,loaded,P2,R2\n";
    let mut found = codes(log, "");
    found.sort();
    assert_eq!(found, [FaultCode::BlankCell, FaultCode::NotATime, FaultCode::UnknownPrinter]);
}

#[test]
fn a_row_that_contradicts_the_log_is_not_appended() {
    let folder = with("", "");
    let row = |time: &str, event: &str, run: &str| NewRow {
        time: time.into(),
        event: event.into(),
        printer: "P2".into(),
        run: run.into(),
        ..NewRow::default()
    };
    let appended = log_file::append(folder.path(), &[row("2026-03-27T09:00", "loaded", "R1")]).unwrap();
    assert_eq!(appended.log.len(), 1);
    let before = fs::read_to_string(folder.path().join("log.csv")).unwrap();
    let both = [row("2026-03-27T12:00", "harvested", "R1"), row("2026-03-27T12:05", "harvested", "R2")];
    let Err(NotAppended::Faults(faults)) = log_file::append(folder.path(), &both) else { panic!("appended") };
    assert_eq!((faults.0.len(), faults.0[0].code, faults.0[0].row), (1, FaultCode::NeverLoaded, Some(4)));
    assert_eq!(fs::read_to_string(folder.path().join("log.csv")).unwrap(), before);
}

#[test]
fn rehearsals_have_figures_by_group() {
    let says = "\n[rehearsal]\nprint_spread = 0.1\nbreaks_after_hours = { small = 500 }\nrepair_hours = 2\n";
    let folder = with("", says);
    let instance = read(folder.path());
    let rehearsal = &instance.farm.rehearsal;
    assert_eq!((rehearsal.print_spread, rehearsal.late_minutes), (0.1, 3.0));
    assert_eq!((rehearsal.breaks_after_hours.of("small"), rehearsal.breaks_after_hours.of("large")), (500.0, 1000.0));
    assert_eq!(rehearsal.repair_hours.of("large"), 2.0);
    assert_eq!(instance.digest(), read(with("", "").path()).digest());
    assert_eq!(codes("", "\n[rehearsal]\nrepair_hours = { smal = 5 }\n"), [FaultCode::UnknownGroup]);
    assert_eq!(codes("", "\n[rehearsal]\nprint_spread = 2\n"), [FaultCode::OutOfRange]);
    assert_eq!(codes("", "\n[rehearsal]\nspread = 0.1\n"), [FaultCode::UnknownKey]);
}
