//! A sound folder damaged at random: whatever comes out, nobody panics and every fault names a file.

use platewright_model::{roster, tables};
use proptest::prelude::*;
use std::fs;
use std::path::Path;

/// The sound folder's files, in order of name.
fn sound() -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sound");
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    let mut files: Vec<_> = entries.map(|path| (name(&path), fs::read(&path).unwrap())).collect();
    files.sort();
    files
}

/// One act of damage; positions are taken modulo what is there.
#[derive(Debug, Clone)]
enum Damage {
    Byte { file: usize, at: usize, byte: u8 },
    Cut { file: usize, at: usize, length: usize },
    Insert { file: usize, at: usize, text: String },
    Cell { file: usize, row: usize, cell: usize, text: String },
    TwiceTheLine { file: usize, row: usize },
    NoFile { file: usize },
    OtherName { file: usize, name: String },
}

fn damage() -> impl Strategy<Value = Damage> {
    let file = 0..11_usize;
    let at = 0..2000_usize;
    let cell_text = prop_oneof![
        Just(String::new()),
        "[-+]?[0-9]{1,24}(\\.[0-9]{0,4})?%?",
        "[0-9]{1,5}-[0-9]{1,2}-[0-9]{1,2}T[0-9]{1,2}:[0-9]{2}",
        "2026-03-29T0[0-3]:[0-5][0-9]",
        "(Mon|Tue|Sun|Fri|daily|,|-){1,4}",
        "[0-2]?[0-9]:[0-5][0-9]|24:00",
        "(P1|small|hub|lid|clip|station|fixings|hub-set|PETG|petg|school)",
        "\\PC{0,12}",
    ];
    prop_oneof![
        (file.clone(), at.clone(), any::<u8>()).prop_map(|(file, at, byte)| Damage::Byte { file, at, byte }),
        (file.clone(), at.clone(), 1..60_usize).prop_map(|(file, at, length)| Damage::Cut { file, at, length }),
        (file.clone(), at, "[\",#\n\r\\[=\u{0}é; ]{1,3}|.{1,9}").prop_map(|(file, at, text)| Damage::Insert {
            file,
            at,
            text
        }),
        (file.clone(), 0..9_usize, 0..9_usize, cell_text).prop_map(|(file, row, cell, text)| Damage::Cell {
            file,
            row,
            cell,
            text
        }),
        (file.clone(), 0..9_usize).prop_map(|(file, row)| Damage::TwiceTheLine { file, row }),
        file.clone().prop_map(|file| Damage::NoFile { file }),
        (file, "[a-z]{1,6}\\.(csv|CSV|toml)").prop_map(|(file, name)| Damage::OtherName { file, name }),
    ]
}

fn inflict(files: &mut Vec<(String, Vec<u8>)>, damage: Damage) {
    let count = files.len();
    let (Damage::Byte { file, .. }
    | Damage::Cut { file, .. }
    | Damage::Insert { file, .. }
    | Damage::Cell { file, .. }
    | Damage::TwiceTheLine { file, .. }
    | Damage::NoFile { file }
    | Damage::OtherName { file, .. }) = &damage;
    let (name, bytes) = &mut files[file % count];
    let lines = |bytes: &[u8]| bytes.split(|b| *b == b'\n').map(<[u8]>::to_vec).collect::<Vec<_>>();
    match damage {
        Damage::Byte { at, byte, .. } if !bytes.is_empty() => {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        Damage::Cut { at, length, .. } if !bytes.is_empty() => {
            let at = at % bytes.len();
            bytes.drain(at..(at + length).min(bytes.len()));
        }
        Damage::Insert { at, text, .. } => {
            let at = at % (bytes.len() + 1);
            bytes.splice(at..at, text.into_bytes());
        }
        Damage::Cell { row, cell, text, .. } => {
            let mut lines = lines(bytes);
            let row = row % lines.len();
            let mut cells: Vec<Vec<u8>> = lines[row].split(|b| *b == b',').map(<[u8]>::to_vec).collect();
            let cell = cell % cells.len();
            cells[cell] = text.into_bytes();
            lines[row] = cells.join(&b',');
            *bytes = lines.join(&b'\n');
        }
        Damage::TwiceTheLine { row, .. } => {
            let mut lines = lines(bytes);
            let line = lines[row % lines.len()].clone();
            lines.insert(row % lines.len(), line);
            *bytes = lines.join(&b'\n');
        }
        Damage::NoFile { file } => {
            files.remove(file % count);
            files.push(("notes.txt".into(), Vec::new()));
        }
        Damage::OtherName { name: other, .. } => *name = other,
        Damage::Byte { .. } | Damage::Cut { .. } => {}
    }
}

fn written(files: &[(String, Vec<u8>)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_folder_is_read_or_told(damages in prop::collection::vec(damage(), 1..5)) {
        let mut files = sound();
        for damage in damages {
            inflict(&mut files, damage);
        }
        let folder = written(&files);
        match tables::read(folder.path()) {
            Ok(instance) => prop_assert!(!roster::stretches(&instance).is_empty()),
            Err(faults) => {
                prop_assert!(!faults.0.is_empty());
                for fault in &faults.0 {
                    prop_assert!(!fault.file.is_empty() && !fault.message.is_empty() && !fault.help.is_empty(), "{fault}");
                }
            }
        }
    }
}
