//! A sound folder read in: what it says, and in how many ways it may be written.

use platewright_model::instance::{Days, Instance, KitItem, ShipmentId};
use platewright_model::units::{Count, Minutes, Weight};
use platewright_model::{FaultCode, kits, tables};
use std::fs;
use std::path::{Path, PathBuf};

fn sound() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sound")
}

fn read(folder: &Path) -> Instance {
    tables::read(folder).unwrap_or_else(|faults| panic!("{faults}"))
}

/// The sound folder with each file changed by `change(name, text)`.
fn changed(change: impl Fn(&str, String) -> String) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(sound()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        fs::write(folder.path().join(name), change(name, fs::read_to_string(&path).unwrap())).unwrap();
    }
    folder
}

#[test]
fn every_table_says_what_it_says() {
    let instance = read(&sound());
    let wall = |instant| instance.farm.clock.stamp(instant).to_rfc3339();
    assert_eq!(
        (instance.groups.as_slice(), instance.materials.as_slice()),
        (&["small", "large"].map(String::from)[..], &["PETG", "PLA"].map(String::from)[..])
    );

    let farm = &instance.farm;
    assert_eq!(wall(farm.start), "2026-03-27T07:00:00+00:00");
    // Seven days of 1,440 minutes over the clock change.
    assert_eq!(wall(farm.horizon_end()), "2026-04-03T08:00:00+01:00");
    assert_eq!((farm.handling.load, farm.handling.pack_box), (Minutes(3), Minutes(6)));
    assert_eq!((farm.unattended.allowed, farm.unattended.max_printers), (true, Some(Count(2))));
    assert_eq!(
        farm.costs.as_ref().map(|c| (c.currency.as_str(), c.printer_hour, c.operator_hour)),
        Some(("EUR", 0.35, 0.0))
    );

    assert_eq!(instance.printers[1].material, None);
    assert_eq!(instance.printers[2].bay.as_deref(), Some("B"));
    let down: Vec<_> = instance.downtime.iter().map(|d| (d.printer.index(), wall(d.from))).collect();
    assert_eq!(down[1..], [(0, "2026-03-29T03:00:00+01:00".into()), (1, "2026-03-29T03:00:00+01:00".into())]);

    let plate = |name: &str| instance.plates.iter().find(|p| p.name == name).unwrap();
    let set = &plate("hub-set").on_groups[0];
    assert_eq!((set.copies.len(), set.cool, set.failure_rate), (2, Minutes(5), 0.02));
    let clips: Vec<_> =
        plate("clip-25").on_groups.iter().chain(&plate("clip-50").on_groups).map(|on| (on.load, on.harvest)).collect();
    assert_eq!(clips, [(Minutes(3), Minutes(8)), (Minutes(3), Minutes(12))]);

    assert!(matches!(instance.kits[0].items[2], (KitItem::Kit(kit), Count(2)) if kit.index() == 1));
    let [school, shop] = [0, 1].map(|n| &instance.shipments[n]);
    assert_eq!((school.weight, shop.weight), (Weight(2000), Weight(1000)));
    assert_eq!((school.lines[0].boxes(), shop.lines[0].boxes()), (Count(2), Count(0)));
    assert_eq!(shop.due.map(wall), Some("2026-03-30T11:00:00+01:00".into()));
    // Two stations with two fixings of four clips each, and ten fixings.
    let needs: Vec<_> = kits::needs(&instance, ShipmentId(1)).into_iter().map(|(_, count)| count.0).collect();
    assert_eq!(needs, [2, 2, 56]);

    assert!(matches!(&instance.shifts[1].days, Days::Weekly(days) if days.len() == 2));
    assert_eq!(instance.closures[0].note.as_deref(), Some("stocktaking"));
    assert_eq!(instance.stock[0].quantity, Count(30));
    assert!(instance.running[0].ready < farm.start);
}

#[test]
fn marks_line_ends_blank_lines_comments_and_spaces_change_nothing() {
    let digest = read(&sound()).digest();
    let dressed = changed(|name, text| {
        if !name.ends_with(".csv") {
            return format!("\u{feff}# kept\r\n\r\n{}", text.replace('\n', "\r\n"));
        }
        // Spaces around cells, but not before a quote that opens one: there it would be a quote inside the cell.
        let spaced = |line: &str| line.replace(",\"", ",@").replace(',', " ,  ").replace(",  @", ",\"");
        let rows: String = text.lines().map(|line| format!("{}\r\n", spaced(line))).collect();
        let others = "# kept by the morning crew, \"carefully\"\r\n\r\n,,\r\n   \r\n  # indented\r\n";
        format!("\u{feff}{others}{rows}{others}")
    });
    assert_eq!(read(dressed.path()).digest(), digest);
    let old_line_ends = changed(|name, text| if name.ends_with(".csv") { text.replace('\n', "\r") } else { text });
    assert_eq!(read(old_line_ends.path()).digest(), digest);
}

#[test]
fn columns_may_stand_in_any_order_and_cells_in_quotes() {
    let digest = read(&sound()).digest();
    let turned = changed(|name, text| {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).comment(Some(b'#')).from_reader(text.as_bytes());
        let mut writer = csv::WriterBuilder::new().quote_style(csv::QuoteStyle::Always).from_writer(Vec::new());
        if !name.ends_with(".csv") {
            return text.clone();
        }
        for record in reader.records() {
            writer.write_record(record.unwrap().iter().rev()).unwrap();
        }
        String::from_utf8(writer.into_inner().unwrap()).unwrap()
    });
    assert_eq!(read(turned.path()).digest(), digest);
}

#[test]
fn any_figure_or_name_changes_the_digest() {
    let digest = read(&sound()).digest();
    for (file, from, to) in [
        ("farm.toml", "pack_box = 6", "pack_box = 7"),
        ("parts.csv", "31.5", "31.6"),
        ("downtime.csv", "heater", "nozzle"),
        ("stock.csv", "30", "31"),
        ("shifts.csv", "22:00", "22:01"),
    ] {
        let folder = changed(|name, text| if name == file { text.replacen(from, to, 1) } else { text });
        assert_ne!(read(folder.path()).digest(), digest, "{file}");
    }
}

#[test]
fn spares_and_first_lots_are_read_and_leave_the_digest_alone_where_there_are_none() {
    let plain = read(&sound());
    // Plans made before these could be stated belong to their tables still.
    let canonical = serde_json::to_string(&plain).unwrap();
    assert!(!canonical.contains("\"spares\"") && !canonical.contains("\"after\""));
    let folder = changed(|name, text| match name {
        "farm.toml" => text + "\n[spares]\nconfidence = 0.95\n",
        "shipments.csv" => text
            .lines()
            .enumerate()
            .map(|(row, line)| match row {
                0 => format!("{line},after,hold_hours\n"),
                2 => format!("{line},school,1.5\n"),
                3 => format!("{line},,1.50\n"),
                _ => format!("{line},,\n"),
            })
            .collect(),
        _ => text,
    });
    let instance = read(folder.path());
    assert_eq!(instance.farm.spares.map(|s| s.confidence), Some(0.95));
    let after = instance.shipments[1].after.unwrap();
    assert_eq!((after.shipment, after.hold), (ShipmentId(0), Minutes(90)));
    assert!(instance.shipments[0].after.is_none());
    assert_ne!(instance.digest(), plain.digest());
}

#[test]
fn tables_that_may_be_left_out_may_be_left_out_or_empty() {
    for name in ["downtime.csv", "closures.csv", "stock.csv", "running.csv"] {
        let folder = changed(|_, text| text);
        fs::remove_file(folder.path().join(name)).unwrap();
        read(folder.path());
        let folder =
            changed(|file, text| if file == name { text.lines().next().unwrap_or_default().to_owned() } else { text });
        read(folder.path());
    }
}

#[test]
fn other_files_and_folders_are_left_alone() {
    let folder = changed(|_, text| text);
    fs::create_dir(folder.path().join("plan")).unwrap();
    fs::write(folder.path().join("plan/runs.csv"), "nonsense").unwrap();
    for name in ["README.md", "parts.xlsx", "._parts.csv", ".~lock.parts.csv#", "parts.csv~"] {
        fs::write(folder.path().join(name), [0xff, 0x00]).unwrap();
    }
    read(folder.path());
}

#[test]
fn a_folder_that_is_not_there_and_a_file_are_no_folder() {
    for path in [sound().join("nowhere"), sound().join("farm.toml")] {
        let faults = tables::read(&path).unwrap_err().0;
        assert_eq!(faults.iter().map(|fault| fault.code).collect::<Vec<_>>(), [FaultCode::MissingFolder]);
    }
}

#[test]
fn a_farm_file_as_large_as_a_table_is_refused() {
    let folder = changed(|name, text| if name == "farm.toml" { text + &"# more\n".repeat(20_000) } else { text });
    assert_eq!(tables::read(folder.path()).unwrap_err().0[0].code, FaultCode::FileTooLarge);
}

#[test]
fn a_table_of_a_million_rows_and_one_is_refused_at_once() {
    let folder = changed(|name, text| if name == "stock.csv" { text + &"x,1\n".repeat(1_000_000) } else { text });
    let faults = tables::read(folder.path()).unwrap_err().0;
    assert_eq!(faults.iter().map(|fault| fault.code).collect::<Vec<_>>(), [FaultCode::TooManyRows]);
}

#[test]
fn a_thousand_misspelt_names_are_a_thousand_faults_and_one_name_a_thousand_times_is_one() {
    let rows = |word: &dyn Fn(u32) -> String| {
        let rows: String = (0..1000).map(|n| format!("{},2026-03-27T07:00,2026-03-27T12:00,\n", word(n))).collect();
        let folder = changed(|name, text| if name == "downtime.csv" { text + &rows } else { text });
        tables::read(folder.path()).unwrap_err().0
    };
    assert_eq!(rows(&|n| format!("X{n}")).len(), 1000);
    let once = rows(&|_| "P9".into());
    assert_eq!(once.len(), 1);
    assert!(once[0].message.ends_with("999 more rows say the same."), "{}", once[0].message);
}
