//! Power cuts over everything that writes: single entries and several in one go, rows of exchange
//! files, places, the first rig file, what is written again after a loss. A journey of random
//! writes, cut off at a random call, on a disk that then loses at random what was not synced.

use super::fake_disk::{FakeDisk, Fault};
use super::{draft, long_draft, numbers, rounds};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::collections::BTreeSet;
use std::io;
use std::path::Path;
use std::sync::Arc;
use waystock::domain::entry::{Entry, EntryId, IMPORT};
use waystock::domain::place::Place;
use waystock::store::data_folder::DataFolder;
use waystock::store::templates::TEMPLATES;

/// What a power cut must not take, and what may be there beside it.
#[derive(Default)]
struct Told {
    saved: BTreeSet<usize>,
    /// Numbers that were given in one go.
    groups: Vec<Vec<usize>>,
    next: usize,
    rig: Option<bool>,
    /// Names of places that were acknowledged.
    places: Vec<String>,
}

fn open(disk: &FakeDisk) -> DataFolder {
    DataFolder::at(Path::new("/data"), Path::new("/state"), Arc::new(disk.clone()))
}

fn place(name: &str) -> Place {
    Place { name: name.into(), latitude: 58.1, longitude: 8.0, ..Place::default() }
}

/// One write; `None` once the power is gone.
fn write(disk: &FakeDisk, told: &mut Told, random: &mut Xoshiro256PlusPlus) -> Option<()> {
    let mut folder = open(disk);
    let numbers: Vec<usize> = (told.next..told.next + 3).collect();
    match random.random_range(0..6) {
        0 => {
            told.next += 1;
            folder.journal.append(&[draft(numbers[0])], super::recorded()).ok()?;
            told.saved.insert(numbers[0]);
        }
        1 => {
            told.next += 3;
            told.groups.push(numbers.clone());
            let drafts: Vec<_> = numbers.iter().map(|n| long_draft(*n, 700)).collect();
            folder.journal.append(&drafts, super::recorded()).ok()?;
            told.saved.extend(numbers);
        }
        2 => {
            told.next += 3;
            told.groups.push(numbers.clone());
            let row = |n: &usize| Entry {
                id: EntryId { device: IMPORT.into(), sequence: *n as u64 * 77 % 1000, salt: 9 },
                at: draft(*n).at,
                recorded: draft(*n).at,
                note: draft(*n).note,
                body: draft(*n).body,
            };
            folder.journal.append_imported(&numbers.iter().map(row).collect::<Vec<_>>()).ok()?;
            told.saved.extend(numbers);
        }
        3 => {
            told.next += 1;
            let name = format!("Quay {}", told.next);
            folder.add_places(&[place(&name)]).ok()?;
            told.places.push(name);
        }
        4 if told.rig != Some(true) => {
            told.rig = Some(false);
            folder.create_rig(TEMPLATES[0].text).ok()?;
            told.rig = Some(true);
        }
        _ => sweep_and_restore(disk, told)?,
    }
    Some(())
}

/// An older copy of this device's own file is put over it, and what was lost written again.
fn sweep_and_restore(disk: &FakeDisk, told: &mut Told) -> Option<()> {
    let mut folder = open(disk);
    folder.journal.load().ok()?;
    let path = format!("/data/journal/{}.ron", folder.journal.device().unwrap_or_default());
    // A device may have its name from a try that came no further.
    let Some(bytes) = disk.bytes_if_there(&path) else { return Some(()) };
    let half = bytes[..bytes.len() / 2].iter().rposition(|b| *b == b'\n').map_or(0, |end| end + 1);
    disk.set_bytes(&path, &bytes[..half]);
    // What is not written again yet is gone by the hand that put the older file there.
    let left = folder.journal.load().map_or(Vec::new(), |journal| numbers(&journal.entries));
    told.saved.retain(|number| left.contains(number));
    told.groups.retain(|group| group.iter().all(|number| left.contains(number)));
    let restored = folder.journal.restore().ok()?;
    told.saved.extend(numbers(&restored));
    Some(())
}

/// What is wrong after the power came back, if anything.
fn verify(disk: &FakeDisk, told: &Told) -> Result<(), String> {
    let mut folder = open(disk);
    let found = numbers(&folder.journal.load().map_err(|e| e.to_string())?.entries);
    if let Some(lost) = told.saved.iter().find(|number| !found.contains(number)) {
        return Err(format!("entry {lost} was acknowledged and is gone"));
    }
    for group in &told.groups {
        let here = group.iter().filter(|number| found.contains(number)).count();
        if here != 0 && here != group.len() {
            return Err(format!("{here} of {group:?} count"));
        }
    }
    let rig = disk.bytes_if_there("/data/rig.ron");
    match (&rig, told.rig) {
        (None, None | Some(false)) => {}
        (Some(bytes), Some(_)) if bytes == TEMPLATES[0].text.as_bytes() => {}
        _ => return Err(format!("a part of the rig file, or none: {}", rig.is_some())),
    }
    let bytes = disk.bytes_if_there("/data/places.ron").unwrap_or_default();
    let text = String::from_utf8(bytes).map_err(|error| error.to_string())?;
    if let Some(lost) = told.places.iter().find(|name| !text.contains(&format!("{name:?}"))) {
        return Err(format!("{lost} was acknowledged and is gone"));
    }
    if !text.is_empty() && !text.trim_end().ends_with(')') {
        return Err("a part of the places".into());
    }
    Ok(())
}

/// One journey with up to three power cuts.
fn journey(seed: u64, swallow: Option<&'static str>) -> Result<(), String> {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let (mut disk, mut told) = (FakeDisk::new(), Told::default());
    for _ in 0..3 {
        swallow.iter().for_each(|what| disk.swallow(what));
        let call = random.random_range(0..160);
        disk.set_fault(Some(Fault { call, kind: io::ErrorKind::Other, sticky: true }));
        for _ in 0..6 {
            if write(&disk, &mut told, &mut random).is_none() {
                break;
            }
        }
        disk = disk.after_power_loss(&mut |options| random.random_range(0..options));
        verify(&disk, &told)?;
        // What the cut left of an unacknowledged write may stay or not; it is no longer in doubt.
        told.rig = told.rig.and(disk.bytes_if_there("/data/rig.ron").map(|_| true));
    }
    Ok(())
}

#[test]
fn no_writer_loses_what_it_acknowledged() {
    // Three images each.
    let faults = (0..rounds(200) as u64 * 7 / 2).into_par_iter();
    let faults: Vec<_> =
        faults.filter_map(|seed| Some((seed, journey(seed, None).err()?))).collect();
    assert_eq!(faults.first(), None);
}

#[test]
fn a_sync_that_any_writer_lacks_is_noticed() {
    for sync in ["/data/journal/*", "/data/journal", "/data/*", "/data"] {
        let noticed = (0..2000).find(|seed| journey(*seed, Some(sync)).is_err());
        assert!(noticed.is_some(), "without the sync of {sync} nothing seems to be lost");
    }
}
