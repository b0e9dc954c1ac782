//! What this device saved and a folder has no longer: told until it is settled, under whatever
//! name it was saved, and written again where it is kept.

use super::fake_disk::FakeDisk;
use super::{draft, folder, numbers};
use waystock::store::folder::Folder;
use waystock::store::journal::FindingKind;

/// A folder in whose file an older copy swept entries 1 and 2 away, after which 3 was saved.
fn swept() -> (FakeDisk, Folder) {
    let disk = FakeDisk::new();
    let mut here = folder(&disk);
    here.append(&[draft(0)], super::recorded()).unwrap();
    let path = format!("/data/journal/{}.ron", here.device().unwrap());
    let older = disk.bytes(&path);
    here.append(&[draft(1)], super::recorded()).unwrap();
    here.append(&[draft(2)], super::recorded()).unwrap();
    disk.put(&path, &older);
    here.append(&[draft(3)], super::recorded()).unwrap();
    (disk, here)
}

fn kinds(folder: &mut Folder) -> Vec<FindingKind> {
    folder.load().unwrap().findings.iter().map(|finding| finding.kind).collect()
}

#[test]
fn a_loss_is_told_at_every_look_until_it_is_settled() {
    let (disk, mut here) = swept();
    for number in 4..7 {
        assert_eq!(kinds(&mut folder(&disk)), [FindingKind::Device, FindingKind::Lost]);
        here.append(&[draft(number)], super::recorded()).unwrap();
    }
    let journal = folder(&disk).load().unwrap();
    let told = &journal.findings[1].message;
    assert!(told.starts_with("2 entries that this device saved are no longer"), "{told}");
    let device = here.device().unwrap().to_string();
    here.settle().unwrap();
    assert_eq!(kinds(&mut folder(&disk)), []);
    here.append(&[draft(7)], super::recorded()).unwrap();
    assert_eq!(here.device(), Some(device.as_str()));
    assert_eq!(numbers(&here.load().unwrap().entries), [0, 3, 4, 5, 6, 7]);
}

#[test]
fn what_is_kept_is_written_again() {
    let (disk, mut here) = swept();
    assert_eq!(numbers(&here.restore().unwrap()), [1, 2]);
    assert_eq!(numbers(&folder(&disk).load().unwrap().entries), [0, 1, 2, 3]);
    assert_eq!(kinds(&mut folder(&disk)), []);
    assert_eq!(here.restore().unwrap(), []);
    // Once the syncer brings the file back after all, every entry is there once.
    assert_eq!(numbers(&here.load().unwrap().entries), [0, 1, 2, 3]);
}

/// The memory is started afresh with its last line when it has become long.
#[test]
fn names_that_were_given_up_are_remembered_for_good() {
    let (disk, mut here) = swept();
    for number in 4..700 {
        here.append(&[draft(number)], super::recorded()).unwrap();
    }
    assert_eq!(kinds(&mut folder(&disk)), [FindingKind::Device, FindingKind::Lost]);
}

/// Where the file is a folder now, reading it failed for ever.
#[test]
fn a_device_whose_file_became_a_folder_goes_on_under_a_new_name() {
    let root = tempfile::tempdir().unwrap();
    let disk = std::sync::Arc::new(waystock::store::real_disk::RealDisk);
    let mut here = Folder::open(&root.path().join("data"), &root.path().join("state"), disk);
    here.append(&[draft(0)], super::recorded()).unwrap();
    let path = root.path().join(format!("data/journal/{}.ron", here.device().unwrap()));
    std::fs::remove_file(&path).unwrap();
    std::fs::create_dir(&path).unwrap();
    here.append(&[draft(1)], super::recorded()).unwrap();
    assert_eq!(numbers(&here.load().unwrap().entries), [1]);
    assert_eq!(numbers(&here.restore().unwrap()), [0]);
}

/// The number was counted on from, past the largest that there is.
#[test]
fn a_memory_that_promises_the_largest_number_is_not_believed() {
    let disk = FakeDisk::new();
    let mut here = folder(&disk);
    here.append(&[draft(0)], super::recorded()).unwrap();
    let states = disk.calls().into_iter().map(|(_, path)| path);
    let state = states
        .filter(|path| path.starts_with("/state"))
        .find(|path| path.extension().is_some_and(|end| end == "ron"))
        .unwrap();
    let memory = format!("(v:1,device:\"lumo-0001\",promised:{},length:0,tail:0", u64::MAX);
    let memory = format!("{memory},crc:0x{:08x})\n", crc32fast::hash(memory.as_bytes()));
    disk.set_bytes(state.to_str().unwrap(), memory.as_bytes());
    here.append(&[draft(1)], super::recorded()).unwrap();
    assert_eq!(numbers(&here.load().unwrap().entries), [0, 1]);
}
