//! Any one call fails, once or for good: the error says so, nothing is called saved that is not,
//! the journal is as before or one record longer, and trying again works.

use super::fake_disk::{FakeDisk, Fault};
use super::{draft, folder, numbers};
use std::io;
use std::sync::Arc;
use waystock::cli::Session;
use waystock::cli::args::Common;
use waystock::dashboard::Stage;
use waystock::domain::entry::Draft;
use waystock::store::data_folder::DataFolder;
use waystock::store::error::{Safety, StoreErrorKind};
use waystock::store::folder::Folder;
use waystock::store::journal::FindingKind;
use waystock::store::templates::TEMPLATES;
use waystock::tui::host::Host;

const KINDS: [(io::ErrorKind, u8); 3] = [
    (io::ErrorKind::StorageFull, 74),
    (io::ErrorKind::PermissionDenied, 77),
    // What an input/output error of the drive comes as.
    (io::ErrorKind::Other, 74),
];

/// A folder with `before` entries, and the same folder opened afresh.
fn prepared(before: usize) -> (FakeDisk, Folder) {
    let disk = FakeDisk::new();
    if before > 0 {
        let drafts: Vec<_> = (0..before).map(draft).collect();
        folder(&disk).append(&drafts, super::recorded()).unwrap();
    }
    (disk.clone(), folder(&disk))
}

fn sweep(before: usize, kind: io::ErrorKind, code: u8, sticky: bool) {
    for call in 0.. {
        let (disk, mut folder) = prepared(before);
        disk.set_fault(Some(Fault { call, kind, sticky }));
        let outcome = folder.append(&[draft(before)], super::recorded());
        let reached = disk.calls().len() > call;
        disk.set_fault(None);
        let found = numbers(&folder.load().unwrap().entries);
        let old: Vec<usize> = (0..before).collect();
        let new: Vec<usize> = (0..=before).collect();
        match &outcome {
            Ok(_) => assert_eq!(found, new, "call {call}: acknowledged"),
            Err(error) => {
                assert!(found == old || found == new, "call {call}: {found:?}");
                assert!(found == old || error.safety == Safety::Unsure, "call {call}: {error}");
                let codes = [code, 73];
                assert!(codes.contains(&error.exit_code()), "call {call}: {error}");
                // The same drafts again: one entry, also when the first try had got through, and
                // also if the drive dropped what it could not confirm.
                folder.append(&[draft(before)], super::recorded()).unwrap();
                let after = disk.after_power_loss(&mut |_| 0);
                let found = numbers(&super::folder(&after).load().unwrap().entries);
                assert_eq!(found, new, "call {call}, {kind:?}: {error}");
            }
        }
        if !reached {
            assert!(call > 10 && outcome.is_ok());
            return;
        }
    }
}

/// A save that was not certain, tried again by another process, which cannot know that it is the
/// same: both are kept, and the crew is told which one may be too many. Nothing is said where the
/// first try left nothing, or where another thing is saved.
#[test]
fn a_repeat_of_an_uncertain_save_is_told() {
    let mut told = 0;
    for call in 0.. {
        let (disk, mut first) = prepared(1);
        disk.set_fault(Some(Fault { call, kind: io::ErrorKind::Other, sticky: false }));
        let outcome = first.append(&[draft(1)], super::recorded());
        let reached = disk.calls().len() > call;
        disk.set_fault(None);
        let left = numbers(&folder(&disk).load().unwrap().entries);
        let mut other = folder(&disk);
        if outcome.is_err() {
            other.append(&[draft(1)], super::recorded()).unwrap();
            let mut notices = other.take_notices();
            // What broke off is told as well, this once.
            notices.retain(|notice| notice.kind != FindingKind::Torn);
            let twice = numbers(&other.load().unwrap().entries) == [0, 1, 1];
            assert_eq!(twice, left == [0, 1], "call {call}");
            assert_eq!(notices.len(), usize::from(twice), "call {call}: {notices:?}");
            if let Some(notice) = notices.first() {
                let entries = other.load().unwrap().entries;
                let named = entries.iter().filter(|e| notice.message.contains(&e.id.to_string()));
                assert_eq!(notice.kind, FindingKind::Repeated);
                assert_eq!(named.count(), 1, "{}", notice.message);
                told += 1;
            }
            // It is certain now, so that doing the same thing again is nothing odd.
            other.append(&[draft(1), draft(2)], super::recorded()).unwrap();
            assert!(other.take_notices().is_empty(), "call {call}");
        }
        if !reached {
            break;
        }
    }
    assert!(told > 0);
}

#[test]
fn every_call_may_fail() {
    for (kind, code) in KINDS {
        for before in [0, 2] {
            for sticky in [false, true] {
                sweep(before, kind, code, sticky);
            }
        }
    }
}

#[test]
fn a_failed_sync_is_never_called_saved() {
    let (disk, mut folder) = prepared(1);
    disk.set_fault(None);
    folder.append(&[draft(1)], super::recorded()).unwrap();
    let syncs = disk.calls().into_iter().enumerate().filter(|(_, call)| call.0.starts_with("sync"));
    let syncs: Vec<usize> = syncs.map(|(number, _)| number).collect();
    assert_eq!(syncs.len(), 3, "memory, journal and the journal's folder");
    for call in syncs {
        let (disk, mut folder) = prepared(1);
        disk.set_fault(Some(Fault { call, kind: io::ErrorKind::Other, sticky: false }));
        let error = folder.append(&[draft(1)], super::recorded()).unwrap_err();
        let kinds = [StoreErrorKind::SyncFailed, StoreErrorKind::CannotWrite];
        assert!(kinds.contains(&error.kind), "{error}");
        assert_eq!(error.exit_code(), 74);
        // The handle of the failed sync is not used again.
        assert_ne!(disk.calls()[call + 1..].first().map(|c| c.0), Some("sync"));
    }
}

#[test]
fn a_newer_form_can_be_read_and_is_not_written() {
    let (disk, mut folder) = prepared(2);
    let newer = r#"(v:2,id:"nozira-77aa-1-00000001",mood:[1,(2)]"#;
    let newer = format!("{newer},crc:0x{:08x})\n", crc32fast::hash(newer.as_bytes()));
    disk.put("/data/journal/nozira-77aa.ron", newer.as_bytes());
    let journal = folder.load().unwrap();
    assert!(journal.read_only);
    assert_eq!(numbers(&journal.entries), [0, 1]);
    let path = format!("/data/journal/{}.ron", folder.device().unwrap());
    let before = disk.bytes(&path);
    let error = super::folder(&disk).append(&[draft(9)], super::recorded()).unwrap_err();
    assert_eq!((error.kind, error.exit_code()), (StoreErrorKind::NewerVersion, 76));
    assert_eq!(folder.append(&[draft(9)], super::recorded()).unwrap_err().exit_code(), 76);
    assert_eq!(disk.bytes(&path), before);
}

/// A program that stays open does not look at the folder before each entry; it has to see that
/// something arrived.
#[test]
fn a_newer_form_that_arrives_meanwhile_is_not_written_past() {
    let (disk, mut folder) = prepared(2);
    assert!(!folder.load().unwrap().read_only);
    folder.append(&[draft(8)], super::recorded()).unwrap();
    let newer = r#"(v:2,id:"nozira-77aa-1-00000001",mood:[1,(2)]"#;
    let newer = format!("{newer},crc:0x{:08x})\n", crc32fast::hash(newer.as_bytes()));
    disk.put("/data/journal/nozira-77aa.ron", newer.as_bytes());
    assert_eq!(folder.append(&[draft(9)], super::recorded()).unwrap_err().exit_code(), 76);
    assert_eq!(numbers(&folder.load().unwrap().entries), [0, 1, 8]);
}

/// The same for the rig's file, which is read anew before each entry of an open dashboard.
#[test]
fn a_newer_rig_that_arrives_while_the_dashboard_is_open_ends_saving() {
    let disk = FakeDisk::new();
    let at = "2026-09-14T19:20:00+03:00".parse().unwrap();
    let data = || DataFolder::at("/data".as_ref(), "/state".as_ref(), Arc::new(disk.clone()));
    let rig = TEMPLATES[0].text;
    data().create_rig(rig).unwrap();
    let session = Session::of("/data".as_ref(), "/state".as_ref(), Arc::new(disk.clone()), at);
    let common = Common { at: Some(at), ..Common::default() };
    let session = Session { common, ..session };
    let stage = Stage::new(session, || "2026-09-14T19:20:00+03:00".parse().unwrap());
    stage.load().unwrap();
    let draft = Draft { at, note: None, body: draft(1).body };
    assert_eq!(stage.append(std::slice::from_ref(&draft)).unwrap().len(), 1);
    let newer = rig.replace("format: 1", "format: 2");
    assert_ne!(newer, rig);
    disk.set_bytes("/data/rig.ron", newer.as_bytes());
    let said = stage.append(&[draft]).unwrap_err();
    assert!(said.contains("newer"), "{said}");
    disk.set_bytes("/data/rig.ron", rig.as_bytes());
    assert_eq!(stage.load().unwrap().entries.len(), 1, "nothing was written past it");
}
