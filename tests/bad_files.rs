//! One small file per mistake: every message names file, line, column, field, what was found
//! and what would be right. Adding a case is adding a file; its message is kept beside it.

#![allow(clippy::disallowed_methods, reason = "the fixtures are read from the repository")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use waystock::store::reader::{FaultKind, RigFault};
use waystock::store::{maps_file, places_file, rig_file};

fn fixtures(folder: &str) -> BTreeMap<String, (PathBuf, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/bad").join(folder);
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let rons = files.filter(|path| path.extension().is_some_and(|e| e == "ron"));
    let read = |path: PathBuf| {
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        (name, (path, text))
    };
    rons.map(read).collect()
}

fn compare(folder: &str, parse: impl Fn(&str, &Path) -> Vec<RigFault>) -> usize {
    let cases = fixtures(folder);
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(format!("fixtures/bad/{folder}"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for (name, (path, text)) in &cases {
        let faults = parse(text, path);
        assert!(!faults.is_empty(), "{name} was accepted");
        let messages: String = faults.iter().map(|fault| format!("{fault}\n")).collect();
        settings.bind(|| insta::assert_snapshot!(name.as_str(), messages));
    }
    cases.len()
}

#[test]
fn every_mistake_in_a_map_is_named() {
    let rig = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/rig.ron");
    let rig = rig_file::parse(&std::fs::read_to_string(&rig).unwrap(), &rig).unwrap();
    let cases =
        compare("maps", |text, path| maps_file::parse(text, path, &rig).err().unwrap_or_default());
    assert!(cases >= 2);
}

#[test]
fn every_mistake_in_a_rig_is_named() {
    let cases = compare("rig", |text, path| rig_file::parse(text, path).err().unwrap_or_default());
    assert!(cases >= 60, "only {cases} cases");
}

#[test]
fn every_mistake_in_places_is_named() {
    compare("places", |text, path| places_file::parse(text, path).err().unwrap_or_default());
}

#[test]
fn only_a_newer_file_is_called_newer() {
    for (name, (path, text)) in fixtures("rig") {
        let newer = rig_file::parse(&text, &path)
            .is_err_and(|faults| faults.iter().any(|f| f.kind == FaultKind::Newer));
        assert_eq!(newer, name == "format_newer", "{name}");
    }
}
