//! Every folder of `instances/broken` is told what is wrong with it, in words that have been read and agreed.

use platewright_model::{FaultCode, Faults, tables};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn folders() -> Vec<PathBuf> {
    let broken = Path::new(env!("CARGO_MANIFEST_DIR")).join("../instances/broken");
    let entries = std::fs::read_dir(broken).unwrap().map(|entry| entry.unwrap().path());
    let mut folders: Vec<PathBuf> = entries.filter(|path| path.is_dir()).collect();
    folders.sort();
    folders
}

fn faults(folder: &Path) -> Faults {
    tables::read(folder).err().unwrap_or_else(|| panic!("{} is not broken", folder.display()))
}

#[test]
fn each_flaw_is_told() {
    let folders = folders();
    assert!(folders.len() >= 45, "only {} flaws", folders.len());
    for folder in folders {
        let faults = faults(&folder);
        assert!(!faults.0.is_empty());
        insta::assert_snapshot!(folder.file_name().unwrap().to_str().unwrap(), faults);
    }
}

#[test]
fn a_folder_with_one_flaw_is_told_one_fault() {
    let several = ["several-flaws"];
    for folder in folders().iter().filter(|folder| !several.iter().any(|name| folder.ends_with(name))) {
        assert_eq!(faults(folder).0.len(), 1, "{}", folder.display());
    }
}

#[test]
fn every_kind_of_fault_has_its_flaw() {
    // Those of a plan's files and of scenarios, and those that would take a very large file, are shown elsewhere.
    let elsewhere = [
        FaultCode::MissingFolder,
        FaultCode::FileTooLarge,
        FaultCode::TooManyRows,
        FaultCode::NotAPlan,
        FaultCode::UnknownFormat,
        FaultCode::UnknownWord,
        FaultCode::HalfALoad,
        FaultCode::StrayCell,
        FaultCode::NoRowMatches,
        FaultCode::UnknownScenario,
        // Those of a log against a plan.
        FaultCode::NotInPlan,
        FaultCode::WrongCount,
        // Those of workbooks.
        FaultCode::NotAWorkbook,
        FaultCode::CellError,
    ];
    let shown: BTreeSet<FaultCode> = folders().iter().flat_map(|f| faults(f).0).map(|fault| fault.code).collect();
    let missing: Vec<&FaultCode> =
        FaultCode::ALL.iter().filter(|code| !shown.contains(code) && !elsewhere.contains(code)).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn every_fault_says_what_to_do() {
    for folder in folders() {
        for fault in faults(&folder).0 {
            assert!(fault.message.ends_with('.') && fault.help.ends_with(['.', '?']), "{fault}");
            assert!(!fault.file.is_empty() && !fault.file.contains('/'), "{fault}");
        }
    }
}
