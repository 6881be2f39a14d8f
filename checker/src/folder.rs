//! Instances for this crate's own tests, read from tables as a planner writes them.

use platewright_model::{Instance, tables};
use std::path::Path;

/// A farm of one printer and one part; `files` replace or add tables.
pub(crate) fn farm(files: &[(&str, &str)]) -> Instance {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("a file");
    write("farm.toml", &farm_toml("Europe/Lisbon", "2026-03-02T07:00", 14));
    write("printers.csv", "printer,group\nP1,small\n");
    write("parts.csv", "part,material\nbody,pla\n");
    write("plates.csv", "plate,group,part,copies,minutes\nbodies,small,body,1,60\n");
    write("kits.csv", "kit,item,quantity\nlamp,body,1\n");
    write("shipments.csv", "shipment,kit,quantity\nspring,lamp,1\n");
    write("shifts.csv", "crew,days,from,to,operators\nday,daily,07:00,15:00,1\n");
    files.iter().for_each(|(name, text)| write(name, text));
    read(folder.path())
}

pub(crate) fn farm_toml(zone: &str, start: &str, days: u32) -> String {
    format!(
        "name = \"Test\"\ntime_zone = \"{zone}\"\nstart = \"{start}\"\nhorizon_days = {days}\n\n\
         [handling]\nload = 3\nharvest = 4\n"
    )
}

/// Every instance of the repository that is meant to be read.
pub(crate) fn repository() -> Vec<(String, Instance)> {
    let folders = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances");
    let mut found: Vec<_> = std::fs::read_dir(folders)
        .expect("the instances")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.join("farm.toml").exists())
        .map(|path| (path.display().to_string(), read(&path)))
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

fn read(folder: &Path) -> Instance {
    tables::read(folder).unwrap_or_else(|faults| panic!("{}: {faults}", folder.display()))
}
