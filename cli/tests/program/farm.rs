//! A small farm on disk and the program run on it.

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A folder of tables, gone with the test.
pub struct Farm {
    folder: TempDir,
}

/// One printer, one operator from 07:00 to 17:00, two plates of two cups each and a due date on the evening after.
const TABLES: [(&str, &str); 7] = [
    (
        "farm.toml",
        "name = \"Test room\"\ntime_zone = \"Europe/Lisbon\"\nstart = \"2026-03-02T07:00\"\nhorizon_days = 14\n\
         [handling]\nload = 3\nharvest = 4\n",
    ),
    ("printers.csv", "printer,group\nP1,small\n"),
    ("parts.csv", "part,material\ncup,PLA\n"),
    ("plates.csv", "plate,group,part,copies,minutes\ncup-2,small,cup,2,120\n"),
    ("kits.csv", "kit,item,quantity\nset,cup,4\n"),
    ("shipments.csv", "shipment,kit,quantity,due\nshop,set,1,2026-03-03T18:00\n"),
    ("shifts.csv", "crew,days,from,to,operators\nday,daily,07:00,17:00,1\n"),
];

impl Farm {
    /// The small farm; its best plan takes 3 + 120 + 4 minutes twice.
    pub fn small() -> Farm {
        let farm = Farm { folder: tempfile::tempdir().unwrap() };
        TABLES.iter().for_each(|(name, text)| farm.write(name, text));
        farm
    }

    /// An empty folder.
    pub fn empty() -> Farm {
        Farm { folder: tempfile::tempdir().unwrap() }
    }

    /// The folder.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Something in the folder.
    pub fn at(&self, name: &str) -> PathBuf {
        self.path().join(name)
    }

    /// Writes one of its files.
    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.at(name), text).unwrap();
    }

    /// Replaces text that is there in one of its files.
    pub fn replace(&self, name: &str, from: &str, to: &str) {
        let text = fs::read_to_string(self.at(name)).unwrap();
        assert!(text.contains(from), "{name} has no {from:?}:\n{text}");
        self.write(name, &text.replacen(from, to, 1));
    }

    /// Runs the program on the folder: the first word is the command, then comes the folder, then the rest.
    pub fn run(&self, words: &[&str]) -> Ran {
        let (command, rest) = words.split_first().unwrap();
        let mut all: Vec<&str> = vec![command, self.path().to_str().unwrap()];
        all.extend(rest);
        ran(&all, &[])
    }

    /// The names in a folder, in order.
    pub fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.at(folder)).map(|e| e.map(|f| f.unwrap().file_name().into_string().unwrap()));
        let mut names: Vec<String> = entries.into_iter().flatten().collect();
        names.sort();
        names
    }
}

/// What came of a call.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// Standard output as the one JSON object it must be.
    pub fn object(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {self:#?}"))
    }
}

/// Runs the program; it must end by itself, without a panic.
pub fn ran(words: &[&str], env: &[(&str, &str)]) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_platewright"));
    command.args(words);
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE"] {
        command.env_remove(name);
    }
    command.envs(env.iter().copied());
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let ran = Ran { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) };
    assert!(!ran.err.contains("panicked") && ran.code != 101, "{ran:#?}");
    ran
}

/// The files of a plan.
pub const PLAN_FILES: [&str; 6] =
    ["allocation.csv", "plan.json", "report.html", "runs.csv", "shipments.csv", "tasks.csv"];
