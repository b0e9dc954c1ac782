//! File syncers: files replaced by rename at any moment, conflict copies, restored backups, the
//! image of one machine's disk in another; and links and pipes in the folder.

use super::fake_disk::{FakeDisk, Replacement};
use super::{draft, folder, numbers};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use waystock::domain::place::Place;
use waystock::store::data_folder::DataFolder;
use waystock::store::folder::Folder;
use waystock::store::journal::FindingKind;
use waystock::store::real_disk::RealDisk;
use waystock::store::templates::TEMPLATES;

/// A folder with one entry, and the path of its file.
fn prepared() -> (FakeDisk, Folder, String) {
    let disk = FakeDisk::new();
    let mut folder = folder(&disk);
    folder.append(&[draft(0)], super::recorded()).unwrap();
    let path = format!("/data/journal/{}.ron", folder.device().unwrap());
    (disk, folder, path)
}

#[test]
fn a_file_replaced_while_an_entry_is_written_loses_nothing() {
    let (disk, mut folder, path) = prepared();
    disk.set_fault(None);
    folder.append(&[draft(1)], super::recorded()).unwrap();
    let calls = disk.calls();
    let is_mark = |call: &(&str, PathBuf)| call.0 == "mark" && call.1 == Path::new(&path);
    let checked = calls.iter().rposition(is_mark).unwrap();
    // A copy as it was read, and one that meanwhile grew past the file that it replaces.
    for (call, grown) in (0..=calls.len()).flat_map(|call| [(call, 0), (call, 500)]) {
        let (disk, mut folder, path) = prepared();
        // The syncer read the file before the append. Before the final look at the name it may
        // blindly put its copy there; later it sees that the file changed, and keeps both.
        let bytes = [disk.bytes(&path), vec![b'\n'; grown]].concat();
        let keeps = (call > checked).then(|| "/data/journal/kept-aside.ron".into());
        disk.set_replacement(Replacement { call, path: path.clone().into(), bytes, keeps });
        folder.append(&[draft(1)], super::recorded()).unwrap();
        assert_eq!(numbers(&folder.load().unwrap().entries), [0, 1], "call {call}");
        folder.append(&[draft(2)], super::recorded()).unwrap();
        assert_eq!(numbers(&folder.load().unwrap().entries), [0, 1, 2], "call {call}");
    }
}

#[test]
fn a_syncer_that_never_stops_is_reported() {
    #[derive(Clone)]
    struct Restless(FakeDisk, String);
    let (disk, _, path) = prepared();
    // Before each look at the name, the file is another one again.
    impl Restless {
        fn stir(&self) {
            let bytes = self.0.bytes(&self.1);
            self.0.put(&self.1, &bytes);
        }
    }
    use std::io::Result;
    use waystock::store::disk::*;
    impl Disk for Restless {
        fn mark(&self, path: &Path) -> Result<Mark> {
            if path == Path::new(&self.1) {
                self.stir();
            }
            self.0.mark(path)
        }
        fn list(&self, folder: &Path) -> Result<Vec<Listed>> {
            self.0.list(folder)
        }
        fn read(&self, path: &Path, offset: u64, limit: u64) -> Result<Vec<u8>> {
            self.0.read(path, offset, limit)
        }
        fn open(&self, path: &Path) -> Result<Box<dyn AppendFile>> {
            self.0.open(path)
        }
        fn create(&self, path: &Path) -> Result<Box<dyn AppendFile>> {
            self.0.create(path)
        }
        fn create_folder(&self, path: &Path) -> Result<()> {
            self.0.create_folder(path)
        }
        fn sync_folder(&self, path: &Path) -> Result<()> {
            self.0.sync_folder(path)
        }
        fn rename(&self, from: &Path, to: &Path) -> Result<()> {
            self.0.rename(from, to)
        }
        fn copy_mode(&self, from: &Path, to: &Path) -> Result<()> {
            self.0.copy_mode(from, to)
        }
        fn remove(&self, path: &Path) -> Result<()> {
            self.0.remove(path)
        }
        fn lock(&self, path: &Path, patience: std::time::Duration) -> Result<Box<dyn Send>> {
            self.0.lock(path, patience)
        }
        fn resolve(&self, path: &Path) -> Result<PathBuf> {
            self.0.resolve(path)
        }
    }
    let error = folder(&Restless(disk, path)).append(&[draft(1)], super::recorded()).unwrap_err();
    assert_eq!(error.exit_code(), 75);
}

#[test]
fn a_restored_backup_goes_on_under_a_new_name() {
    let (disk, mut folder, path) = prepared();
    let backup = disk.bytes(&path);
    let first = folder.device().unwrap().to_string();
    folder.append(&[draft(1)], super::recorded()).unwrap();
    disk.set_bytes(&path, &backup);
    let journal = folder.load().unwrap();
    assert!(journal.findings.iter().any(|f| f.kind == FindingKind::Device));
    let entries = folder.append(&[draft(2)], super::recorded()).unwrap();
    assert_ne!(entries[0].id.device, first);
    assert_eq!(folder.device(), Some(entries[0].id.device.as_str()));
    assert_eq!(folder.take_notices().len(), 1);
    assert_eq!(disk.bytes(&path), backup);
    assert_eq!(numbers(&folder.load().unwrap().entries), [0, 2]);
    folder.append(&[draft(3)], super::recorded()).unwrap();
    assert!(folder.take_notices().is_empty(), "said once");
}

#[test]
fn a_file_that_was_emptied_is_not_gone_on_with() {
    let (disk, mut folder, path) = prepared();
    let first = folder.device().unwrap().to_string();
    disk.set_bytes(&path, b"");
    assert_ne!(folder.append(&[draft(1)], super::recorded()).unwrap()[0].id.device, first);
    assert_eq!(folder.take_notices().len(), 1);
}

#[test]
fn two_machines_with_one_memory_part_ways() {
    // The same disk image twice. The other machine writes, and perhaps this one too, a record of
    // the same length; then a syncer brings the other's file.
    for ahead in [false, true] {
        let (disk, mut ours, path) = prepared();
        let twin = disk.after_power_loss(&mut |_| 1);
        let from_them = folder(&twin).append(&[draft(9)], super::recorded()).unwrap();
        if ahead {
            let from_us = ours.append(&[draft(1)], super::recorded()).unwrap();
            assert_eq!(from_us[0].id.device, from_them[0].id.device);
            assert_eq!(disk.bytes(&path).len(), twin.bytes(&path).len());
        }
        disk.put("/data/journal/ours (conflict 1).ron", &disk.bytes(&path));
        disk.set_bytes(&path, &twin.bytes(&path));
        let next = ours.append(&[draft(2)], super::recorded()).unwrap();
        assert_ne!(next[0].id.device, from_them[0].id.device, "ahead: {ahead}");
        let all: &[usize] = if ahead { &[0, 1, 2, 9] } else { &[0, 2, 9] };
        assert_eq!(numbers(&ours.load().unwrap().entries), all);
    }
}

#[test]
fn the_memory_stays_small_and_the_device_itself() {
    let (disk, mut ours, path) = prepared();
    let first = ours.device().unwrap().to_string();
    let (state, mut longest) = (disk.list_state(), 0);
    for number in 1..500 {
        let stamp = ours.stamp();
        assert_eq!(ours.append(&[draft(number)], super::recorded()).unwrap()[0].id.device, first);
        assert_ne!(ours.stamp(), stamp);
        longest = longest.max(disk.bytes(&state).len());
    }
    assert!((60_000..70_000).contains(&longest), "{longest}");
    assert!(disk.bytes(&state).len() < longest, "it was started afresh");
    assert_eq!(disk.bytes(&path).iter().filter(|b| **b == b'\n').count(), 500);
    assert_eq!(ours.stamp(), folder(&disk).stamp());
}

#[test]
fn a_lost_memory_is_a_new_device() {
    let (disk, mut ours, _) = prepared();
    let first = ours.device().unwrap().to_string();
    let state = disk.list_state();
    disk.set_bytes(&state, b"(v:1,device:\"tam");
    let entries = ours.append(&[draft(1)], super::recorded()).unwrap();
    assert_ne!(entries[0].id.device, first);
    assert_eq!(ours.take_notices().len(), 1);
}

impl FakeDisk {
    fn list_state(&self) -> String {
        use waystock::store::disk::Disk;
        let names = self.list("/state".as_ref()).unwrap();
        let names = names.iter().map(|listed| listed.name.to_str().unwrap());
        format!("/state/{}", names.into_iter().find(|name| name.ends_with(".ron")).unwrap())
    }
}

#[test]
fn imported_entries_keep_their_ids_and_come_once() {
    let (disk, mut folder, path) = prepared();
    let import = |number: usize| {
        let mut entry = folder_entry(number);
        entry.id.device = "import".into();
        entry
    };
    let rows: Vec<_> = (5..9).map(import).collect();
    assert_eq!(folder.append_imported(&rows[..3]).unwrap(), rows[..3]);
    assert_eq!(folder.append_imported(&rows).unwrap(), rows[3..]);
    assert_eq!(folder.append_imported(&rows).unwrap(), []);
    assert_eq!(numbers(&folder.load().unwrap().entries), [0, 5, 6, 7, 8]);
    assert_eq!(disk.bytes(&path).iter().filter(|b| **b == b'\n').count(), 5);
    assert_eq!(
        folder.append(&[draft(1)], super::recorded()).unwrap()[0].id.sequence,
        2,
        "own numbers go on"
    );
    let error = folder.append_imported(&[folder_entry(1)]).unwrap_err();
    assert_eq!(error.exit_code(), 65);
}

fn folder_entry(number: usize) -> waystock::domain::entry::Entry {
    let draft = draft(number);
    let id = format!("nozira-77aa-{number}-0000beef").parse().unwrap();
    waystock::domain::entry::Entry {
        id,
        at: draft.at,
        recorded: super::recorded(),
        note: draft.note,
        body: draft.body,
    }
}

#[cfg(unix)]
#[test]
fn links_pipes_and_folders_are_not_read() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let root = tempfile::tempdir().unwrap();
    let (data, state) = (root.path().join("data"), root.path().join("state"));
    let mut folder = Folder::open(&data, &state, Arc::new(RealDisk));
    folder.append(&[draft(0)], super::recorded()).unwrap();
    let own = data.join(format!("journal/{}.ron", folder.device().unwrap()));
    let mode = |path: &std::path::Path| path.metadata().unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&data), mode(&data.join("journal")), mode(&own)), (0o700, 0o700, 0o600));
    assert!(!folder.is_exposed());

    symlink(&own, data.join("journal/link.ron")).unwrap();
    std::fs::create_dir(data.join("journal/inner.ron")).unwrap();
    let pipe = data.join("journal/pipe.ron");
    assert!(std::process::Command::new("mkfifo").arg(pipe).status().unwrap().success());
    std::fs::write(data.join("journal/.hidden.ron.tmp"), b"x").unwrap();
    std::fs::copy(&own, data.join("journal/x.conflict-2026.ron")).unwrap();
    let journal = folder.load().unwrap();
    assert_eq!(numbers(&journal.entries), [0]);
    assert_eq!(journal.findings.len(), 3, "{:?}", journal.findings);
    assert!(journal.findings.iter().all(|f| f.kind == FindingKind::Skipped));

    // A link in the place of the own file is not followed, and its target not touched.
    let elsewhere = root.path().join("elsewhere");
    std::fs::rename(&own, &elsewhere).unwrap();
    symlink(&elsewhere, &own).unwrap();
    let before = std::fs::read(&elsewhere).unwrap();
    let _ = folder.append(&[draft(1)], super::recorded());
    assert_eq!(std::fs::read(&elsewhere).unwrap(), before);
}

/// Whoever else may read the places may still do so when some were added.
#[cfg(unix)]
#[test]
fn added_places_leave_the_files_mode_as_it_was() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let places = root.path().join("places.ron");
    std::fs::write(root.path().join("rig.ron"), TEMPLATES[0].text).unwrap();
    std::fs::write(&places, "(format: 1, places: [])\n").unwrap();
    for mode in [0o640, 0o604] {
        std::fs::set_permissions(&places, std::fs::Permissions::from_mode(mode)).unwrap();
        let folder = DataFolder::at(root.path(), &root.path().join("state"), Arc::new(RealDisk));
        let place = Place { name: format!("Weir {mode}"), ..Place::default() };
        assert_eq!(folder.add_places(&[place]).unwrap(), 1);
        assert_eq!(places.metadata().unwrap().permissions().mode() & 0o777, mode);
    }
}

/// A dashboard reads the folder again when its stamp changes: with every file that grows, also
/// where there is no file of places.
#[test]
fn the_stamp_changes_with_every_file() {
    let root = tempfile::tempdir().unwrap();
    let folder = DataFolder::at(root.path(), &root.path().join("state"), Arc::new(RealDisk));
    let mut stamps = vec![folder.stamp()];
    for (file, text) in [
        ("rig.ron", "a"),
        ("rig.ron", "ab"),
        ("rig.ron", "abc"),
        ("places.ron", "a"),
        ("places.ron", "ab"),
        ("rig.ron", "abcd"),
    ] {
        std::fs::write(root.path().join(file), text).unwrap();
        stamps.push(folder.stamp());
    }
    let different: std::collections::HashSet<u64> = stamps.iter().copied().collect();
    assert_eq!(different.len(), stamps.len(), "{stamps:?}");
}

/// Places of a newer program are not read as if they were none; those that are at fault leave the
/// rest of the folder in use.
#[test]
fn places_of_a_newer_form_are_refused() {
    let root = tempfile::tempdir().unwrap();
    std::fs::write(root.path().join("rig.ron"), TEMPLATES[0].text).unwrap();
    let folder = DataFolder::at(root.path(), &root.path().join("state"), Arc::new(RealDisk));
    for (text, read) in [
        ("(format: 1, places: [])", Some(0)),
        ("(format: 1, places: [(nam: \"Weir\")])", Some(1)),
        ("(format: 999, places: [])", None),
    ] {
        std::fs::write(root.path().join("places.ron"), text).unwrap();
        let faults = folder.load_rig().ok().map(|(_, faults)| faults.len().min(1));
        assert_eq!(faults, read, "{text}");
    }
}
