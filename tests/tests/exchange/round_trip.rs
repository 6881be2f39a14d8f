//! The tables as a workbook and back, on random instances.

use platewright_exchange::tables_workbook;
use platewright_model::tables::{self, layout};
use platewright_tests::benches::bench;
use platewright_tests::kit_runs::kit_run;
use platewright_tests::tables::Tables;
use platewright_tests::trial::Trial;
use platewright_tests::weeks::{Size, week};

/// Written as a workbook and read back, the instance is the same to the digest, and so it is from the files that are kept.
fn comes_back(name: &str, tables: &Tables) {
    let trial = Trial::new(name, tables);
    let names = std::iter::once("farm.toml").chain(layout::tables().map(|table| table.file));
    let texts: Vec<_> =
        names.filter_map(|file| Some((file, std::fs::read_to_string(trial.folder().join(file)).ok()?))).collect();
    let bytes = tables_workbook::write(&trial.instance, &texts).expect("a workbook");
    assert!(bytes == tables_workbook::write(&trial.instance, &texts).expect("a workbook"), "{name}: other bytes");
    let draft = tables_workbook::read(&bytes).unwrap_or_else(|faults| panic!("{name}: {faults}"));
    assert_eq!((draft.faults(), draft.left_alone()), (None, &[][..]), "{name}");
    for files in [draft.texts(), draft.files()] {
        let folder = tempfile::tempdir().expect("a folder");
        files.iter().for_each(|(file, text)| std::fs::write(folder.path().join(file), text).expect("a file"));
        let back = tables::read(folder.path()).unwrap_or_else(|faults| panic!("{name}: {faults}\n{files:#?}"));
        assert_eq!(back.digest(), trial.instance.digest(), "{name}: {files:#?}");
    }
}

#[test]
fn random_weeks_come_back() {
    for seed in 0..60 {
        for size in [Size::Tiny, Size::Middling, Size::Large] {
            comes_back(&format!("{size:?} week, seed {seed}"), &week(seed, size));
        }
    }
}

#[test]
fn benches_and_kit_runs_come_back() {
    for seed in 0..40 {
        comes_back(&format!("bench, seed {seed}"), &bench(seed));
    }
    comes_back("kit run of 1,000 printers", &kit_run(1, 1_000, 20_000));
}
