//! Folders of tables written as workbooks and read back.

use super::{Draft, SheetFaults, read, write};
use platewright_model::{FaultCode, Instance, tables};
use rust_xlsxwriter::Workbook;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const TABLES: [(&str, &str); 7] = [
    (
        "farm.toml",
        "# The room.\nname = \"Test room\"  # for headings\ntime_zone = \"Europe/Lisbon\"\nstart = \"2026-03-02T07:00\"\n\
         [handling]\nload = 3\nharvest = 4\n[costs]\n",
    ),
    ("printers.csv", "# All of them.\nprinter,group\nP1,small\n"),
    ("parts.csv", "part,material\ncup,PLA\n"),
    ("plates.csv", "plate,group,part,copies,minutes\ncup-2,small,cup,2,120\n"),
    ("kits.csv", "kit,item,quantity\nset,cup,4\n"),
    ("shipments.csv", "shipment,kit,quantity,due,weight\nshop,set,1,2026-03-29T18:00,0.125\n"),
    ("shifts.csv", "crew,days,from,to,operators\nday,\"Mon,Sat\",7:00,24:00,1\nday,2026-03-08,00:00,17:00,1\n"),
];

fn folder(changes: &[(&'static str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (file, text) in TABLES.iter().chain(changes) {
        fs::write(folder.path().join(file), text).unwrap();
    }
    folder
}

fn texts(folder: &Path) -> Vec<(&'static str, String)> {
    let files = std::iter::once("farm.toml").chain(tables::layout::tables().map(|table| table.file));
    files.filter_map(|file| Some((file, fs::read_to_string(folder.join(file)).ok()?))).collect()
}

fn instance(folder: &Path) -> Instance {
    tables::read(folder).unwrap_or_else(|faults| panic!("{}: {faults}", folder.display()))
}

fn exported(folder: &Path) -> Vec<u8> {
    write(&instance(folder), &texts(folder)).unwrap()
}

fn laid_out(files: &[(&'static str, String)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    files.iter().for_each(|(file, text)| fs::write(folder.path().join(file), text).unwrap());
    folder
}

fn imported(bytes: &[u8]) -> Draft {
    let draft = read(bytes).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(draft.faults(), None);
    draft
}

/// What is wrong with a workbook, judged as `import` does.
fn faults(bytes: &[u8]) -> SheetFaults {
    let draft = match read(bytes) {
        Ok(draft) => draft,
        Err(faults) => return faults,
    };
    match tables::read(laid_out(&draft.texts()).path()) {
        Ok(_) => draft.faults().expect("a fault"),
        Err(faults) => draft.locate(&faults),
    }
}

/// The faults' codes and places.
fn places(bytes: &[u8]) -> Vec<String> {
    let place = |text: &str| text.lines().next().unwrap().to_owned();
    faults(bytes).0.iter().map(|fault| place(&fault.to_string())).collect()
}

fn comes_back(folder: &Path) {
    let bytes = exported(folder);
    let draft = imported(&bytes);
    let digest = instance(folder).digest();
    for files in [draft.texts(), draft.files()] {
        assert_eq!(instance(laid_out(&files).path()).digest(), digest, "{}: {files:#?}", folder.display());
    }
    // A second time round, even the texts are the same.
    let first = laid_out(&draft.files());
    let again = imported(&exported(first.path()));
    assert_eq!(again.files(), draft.files());
    assert_eq!(exported(folder), bytes, "the same bytes twice");
}

const LOG: (&str, &str) = (
    "log.csv",
    "# The first week.\ntime,event,printer,run,good,rejected,operator,until,note\n\
     2026-03-02T07:10,loaded,P1,R0001,,,,,\n2026-03-02T09:15,harvested,P1,R0001,1,1,,,\"=one, warped\"\n\
     2026-03-02T10:00,absent,,,,,day-1,2026-03-02T12:00,\n",
);

#[test]
fn the_log_comes_back_and_its_faults_have_cells() {
    let kept = folder(&[LOG]);
    comes_back(kept.path());
    let draft = imported(&exported(kept.path()));
    let text = draft.files().into_iter().find(|(name, _)| *name == "log.csv").unwrap().1;
    assert_eq!(text, LOG.1);
    let log = |folder: &Path| instance(folder).log.into_iter().map(|e| (e.at, e.event, e.note)).collect::<Vec<_>>();
    assert_eq!(log(laid_out(&draft.files()).path()), log(kept.path()));

    let mut workbook = Workbook::new();
    let known: Vec<(String, String)> = imported(&exported(folder(&[]).path()))
        .files()
        .into_iter()
        .map(|(file, text)| (super::sheet_of(file).to_owned(), text))
        .collect();
    for (name, text) in &known {
        let sheet = workbook.add_worksheet().set_name(name).unwrap();
        if name == "farm" {
            sheet.write_string(0, 0, "key").unwrap().write_string(0, 1, "value").unwrap();
            for (row, entry) in (1..).zip(super::texts::farm(text).entries) {
                sheet.write_string(row, 0, entry.key).unwrap().write_string(row, 1, entry.value).unwrap();
            }
            continue;
        }
        let grid = super::texts::grid(text);
        for (row, cells) in (0..).zip(std::iter::once(&grid.header).chain(&grid.rows)) {
            for (column, cell) in (0..).zip(cells) {
                sheet.write_string(row, column, cell).unwrap();
            }
        }
    }
    let sheet = workbook.add_worksheet().set_name("log").unwrap();
    let rows = [
        ["time", "event", "printer", "run", "until"],
        ["2026-03-02T07:10", "loaded", "P9", "R0001", ""],
        ["2026-03-02 09:99", "harvested", "P1", "R0001", ""],
        ["2026-03-02 10:00", "eaten", "P1", "", ""],
    ];
    for (row, cells) in (0..).zip(rows) {
        for (column, cell) in (0..).zip(cells) {
            sheet.write_string(row, column, cell).unwrap();
        }
    }
    let found = places(&workbook.save_to_buffer().unwrap());
    for place in ["sheet log, cell C2, printer", "sheet log, cell A3, time", "sheet log, cell B4, event"] {
        assert!(found.iter().any(|told| told.starts_with(place)), "{place}: {found:#?}");
    }
}

fn projects_folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let instances = fs::read_dir(root.join("instances")).unwrap().map(|entry| entry.unwrap().path());
    let mut folders: Vec<PathBuf> = instances.filter(|path| path.join("farm.toml").is_file()).collect();
    folders.push(root.join("cli/templates"));
    folders.sort();
    folders
}

#[test]
fn every_instance_of_the_project_comes_back_the_same() {
    let folders = projects_folders();
    assert!(folders.len() > 10, "{folders:?}");
    folders.iter().for_each(|folder| comes_back(folder));
}

#[test]
fn comments_come_back() {
    let draft = imported(&exported(folder(&[]).path()));
    let text = |file: &str| draft.files().into_iter().find(|(name, _)| *name == file).unwrap().1;
    assert!(
        text("farm.toml").starts_with("# The room.\nname = \"Test room\"  # for headings\n"),
        "{}",
        text("farm.toml")
    );
    assert_eq!(text("printers.csv"), "# All of them.\nprinter,group\nP1,small\n");
    comes_back(folder(&[]).path());
}

#[test]
fn hostile_names_do_no_harm() {
    let names = [
        "=HYPERLINK(\"http://x\",\"y\")",
        "+1",
        "-1",
        "@SUM(A1)",
        "<script>alert(1)</script>",
        "a\"b'c",
        "🦊🏽 family 👨‍👩‍👧",
        "\u{202e}שלום עולם",
        "_x0041_ and _x005F_",
        "{=1}",
        "#N/A",
        "TRUE",
        "1e3",
        "00123",
        "a\u{2028}b",
        "\u{fffd}\u{e000}",
        "'quoted",
        "&amp;",
        &"é".repeat(200),
    ];
    for name in names {
        let quoted = format!("\"{}\"", name.replace('"', "\"\""));
        let toml = toml::Value::String(name.to_owned()).to_string();
        let folder = folder(&[
            ("printers.csv", &format!("printer,group,bay\n{quoted},{quoted},{quoted}\n")),
            ("parts.csv", &format!("part,material\n{quoted},{quoted}\n")),
            ("plates.csv", &format!("plate,group,part,copies,minutes\n{quoted},{quoted},{quoted},2,120\n")),
            ("kits.csv", &format!("kit,item,quantity\nset,{quoted},4\n")),
            (
                "farm.toml",
                &format!(
                    "name = {toml}\ntime_zone = \"Etc/UTC\"\nstart = \"2026-03-02T07:00\"\n[handling]\nload = 3\nharvest = 4\n"
                ),
            ),
        ]);
        comes_back(folder.path());
    }
}

#[test]
fn faults_are_told_by_sheet_and_cell() {
    let mut workbook = Workbook::new();
    // The tables of the folder, typed in by hand, each with one slip.
    let mut sheet = |name: &str, rows: &[&[&str]]| {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name).unwrap();
        for (row, cells) in (0..).zip(rows) {
            for (column, cell) in (0..).zip(*cells) {
                sheet.write_string(row, column, *cell).unwrap();
            }
        }
    };
    sheet(
        "farm",
        &[
            &["key", "value"],
            &["name", "Room"],
            &["time_zone", "Lisbon"],
            &["start", "2026-03-02 07:00"],
            &["handling.load", "3"],
            &["load", "4"],
        ],
    );
    sheet("Printers", &[&[], &["printer", "group"], &["P1", "small"], &["P1", "small"]]);
    sheet("parts", &[&["part", "material"], &["cup", "PLA"]]);
    sheet("plates", &[&["plate", "part", "group", "copies", "minutes"], &["cup-2", "cup", "smal", "two", "120"]]);
    sheet("kits", &[&["kit", "item", "quantity", "colour"], &["set", "cup", "4", "red"]]);
    sheet("shipmets", &[&["shipment", "kit", "quantity"], &["shop", "set", "1"]]);
    sheet("shifts", &[&["crew", "days", "from", "to", "operators"], &["day", "Mon-Fri", "07:00", "17\n:00", ""]]);
    sheet("my sums", &[&["1"]]);
    let bytes = workbook.save_to_buffer().unwrap();
    let draft = read(&bytes).unwrap();
    assert_eq!(draft.left_alone(), ["my sums"]);
    assert_eq!(
        places(&bytes),
        [
            "sheet shipmets   [T003]",
            "sheet farm, handling.harvest   [T113]",
            "sheet farm, cell B3, time_zone   [T215]",
            "sheet farm, cell A6, load   [T112]",
            "sheet Printers, cell A4, printer   [T401]",
            "sheet plates, cell D2, copies   [T202]",
            "sheet plates, cell C2, group   [T302]",
            "sheet kits, cell D1, colour   [T103]",
            "sheet shifts, cell D2   [T214]",
            "sheet shifts, cell E2, operators   [T201]",
        ]
    );
}

#[test]
fn formulas_count_by_their_value_and_errors_are_told() {
    let folder = folder(&[]);
    let with = |formula: rust_xlsxwriter::Formula| {
        let bytes = exported(folder.path());
        let files = imported(&bytes).files();
        let mut workbook = Workbook::new();
        for (file, text) in files {
            let sheet = workbook.add_worksheet();
            sheet.set_name(super::sheet_of(file)).unwrap();
            let grid = super::texts::grid(&text);
            if file == "farm.toml" {
                let rows = [
                    ("key", "value"),
                    ("name", "R"),
                    ("time_zone", "Etc/UTC"),
                    ("start", "2026-03-02T07:00"),
                    ("handling.load", "3"),
                    ("handling.harvest", "4"),
                ];
                for (row, (key, value)) in (0..).zip(rows) {
                    sheet.write_string(row, 0, key).unwrap().write_string(row, 1, value).unwrap();
                }
                continue;
            }
            for (row, cells) in (0..).zip(std::iter::once(&grid.header).chain(&grid.rows)) {
                for (column, cell) in (0..).zip(cells) {
                    sheet.write_string(row, column, cell).unwrap();
                }
            }
            if file == "kits.csv" {
                sheet.write_formula(1, 2, formula.clone()).unwrap();
            }
        }
        workbook.save_to_buffer().unwrap()
    };
    let good = imported(&with(rust_xlsxwriter::Formula::new("=2*2").set_result("4")));
    let kits = instance(laid_out(&good.texts()).path()).kits;
    assert_eq!(kits[0].items[0].1.0, 4);
    let bad = with(rust_xlsxwriter::Formula::new("=1/0").set_result("#DIV/0!"));
    assert_eq!(faults(&bad).0[0].cell.as_deref(), Some("C2"));
}

#[test]
fn what_is_no_workbook_is_told() {
    assert_eq!(faults(b"").0[0].code, FaultCode::NotAWorkbook);
    assert_eq!(faults(b"PK\x03\x04 not really").0[0].code, FaultCode::NotAWorkbook);
    let mut workbook = Workbook::new();
    workbook.add_worksheet();
    assert_eq!(faults(&workbook.save_to_buffer().unwrap()).0[0].code, FaultCode::MissingFile);
    let bytes = exported(folder(&[]).path());
    for length in (0..bytes.len()).step_by(997) {
        faults(&bytes[..length]);
    }
}

#[test]
fn a_cell_in_the_last_corner_costs_nothing() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.set_name("printers").unwrap().write_string(1_048_575, 16_383, "here").unwrap();
    let found = faults(&workbook.save_to_buffer().unwrap());
    assert!(found.0.iter().any(|fault| fault.code == FaultCode::TooManyRows), "{found}");
}
