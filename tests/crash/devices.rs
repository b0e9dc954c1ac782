//! Three devices, hours apart by their clocks, each with a folder of its own, and a file syncer
//! between them that copies files late, in part, twice and under other names. Once it has brought
//! everything everywhere, all three see the same journal, with nothing lost.

use super::fake_disk::FakeDisk;
use super::{draft, folder, numbers, rounds};
use chrono::Duration;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::path::Path;
use waystock::domain::ahead::bring_back;
use waystock::domain::entry::{Body, Draft, Entry, EntryId, Event};
use waystock::domain::journal::{Standing, standing};
use waystock::domain::quantity::Amount;
use waystock::domain::time::Moment;
use waystock::store::disk::Disk;
use waystock::store::folder::Folder;
use waystock::store::journal::FindingKind;

/// How far each clock is off, in hours.
const CLOCKS: [i64; 3] = [0, -5, 7];

struct Device {
    disk: FakeDisk,
    folder: Folder,
    clock: i64,
    /// Ids of what it was told is saved.
    saved: Vec<EntryId>,
}

fn hour(hour: i64) -> Moment {
    "2026-09-14T06:00:00+03:00".parse::<Moment>().unwrap() + Duration::hours(hour)
}

impl Device {
    fn new(clock: i64) -> Device {
        let disk = FakeDisk::new();
        let folder = folder(&disk);
        Device { disk, folder, clock, saved: Vec::new() }
    }

    /// Writes one or three entries at a true hour; each third time takes one back, puts it back or
    /// corrects it, whoever wrote it.
    fn write(&mut self, true_hour: i64, number: usize, random: &mut Xoshiro256PlusPlus) {
        let now = hour(true_hour + self.clock);
        let seen = self.folder.load().unwrap().entries;
        let of = seen.get(random.random_range(0..seen.len().max(1))).map(|e| e.id.clone());
        let crew = Event::Crew(Amount::from_milli(random.random_range(0..4_000)).unwrap());
        let change = match (of, random.random_range(0..9)) {
            (Some(of), 0) => Some(Body::Correct { of, event: crew }),
            (Some(of), 1) => Some(Body::Retract { of }),
            (Some(of), 2) => Some(Body::Restore { of }),
            _ => None,
        };
        let many = if change.is_none() && number.is_multiple_of(4) { 3 } else { 1 };
        let one = |place: usize| Draft {
            at: now - Duration::minutes(place as i64),
            body: change.clone().unwrap_or_else(|| draft(0).body),
            ..draft(number * 10 + place)
        };
        let drafts: Vec<Draft> = (0..many).map(one).collect();
        let entries = self.folder.append(&drafts, now).unwrap();
        self.saved.extend(entries.into_iter().map(|entry| entry.id));
    }

    fn files(&self) -> Vec<String> {
        let names = self.disk.list(Path::new("/data/journal")).unwrap_or_default();
        names.into_iter().map(|listed| listed.name.to_str().unwrap().to_string()).collect()
    }

    fn own(&self) -> Option<String> {
        self.folder.device().map(|name| format!("{name}.ron"))
    }

    /// What stands, for a clock that is right.
    fn sees(&mut self, now: Moment) -> (Vec<Entry>, Vec<Standing>) {
        let journal = self.folder.load().unwrap();
        let odd = |kind| matches!(kind, FindingKind::Damaged | FindingKind::Conflicting);
        assert!(!journal.findings.iter().any(|f| odd(f.kind)), "{:?}", journal.findings);
        let mut entries = journal.entries;
        bring_back(&mut entries, now);
        let stands = standing(&entries, now);
        (entries, stands)
    }
}

/// A syncer brings a file of one device to another: all of it, or the beginning of it.
fn bring(from: &Device, to: &Device, name: &str, random: &mut Xoshiro256PlusPlus) {
    let path = format!("/data/journal/{name}");
    let bytes = from.disk.bytes(&path);
    let part = match random.random_range(0..3) {
        0 => &bytes[..random.random_range(0..=bytes.len())],
        _ => &bytes[..],
    };
    let conflict = path.replace(".ron", &format!(" (conflict {}).ron", random.random_range(0..3)));
    let is_theirs = to.own().as_deref() == Some(name);
    // What a device writes itself is only ever copied aside.
    let target = if is_theirs || random.random_range(0..5) == 0 { conflict } else { path };
    if to.files().is_empty() {
        let _ = to.disk.create_folder(Path::new("/data"));
        let _ = to.disk.create_folder(Path::new("/data/journal"));
    }
    to.disk.put(&target, part);
}

fn schedule(seed: u64) {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut devices = CLOCKS.map(Device::new);
    for step in 0..14 {
        let one = random.random_range(0..3);
        let other = (one + random.random_range(1..3)) % 3;
        if random.random_range(0..2) == 0 {
            devices[one].write(step, step as usize, &mut random);
            continue;
        }
        let files = devices[one].files();
        if let Some(name) = files.get(random.random_range(0..files.len().max(1))) {
            bring(&devices[one], &devices[other], name, &mut random);
        }
    }
    // At last everything is everywhere: of each device the file that it writes itself.
    let own: Vec<_> = devices.iter().filter_map(|d| Some((d.own()?, d.disk.clone()))).collect();
    for device in &devices {
        for (name, disk) in &own {
            let path = format!("/data/journal/{name}");
            if device.own().as_ref() != Some(name) {
                let _ = device.disk.create_folder(Path::new("/data"));
                let _ = device.disk.create_folder(Path::new("/data/journal"));
                device.disk.put(&path, &disk.bytes(&path));
            }
        }
    }
    let saved: Vec<EntryId> = devices.iter().flat_map(|device| device.saved.clone()).collect();
    // Before the clocks that are ahead are caught up with, and long after.
    for now in [hour(15), hour(40)] {
        let seen = devices.each_mut().map(|device| device.sees(now));
        assert_eq!(seen[0], seen[1], "seed {seed}");
        assert_eq!(seen[0], seen[2], "seed {seed}");
        let ids: Vec<&EntryId> = seen[0].0.iter().map(|entry| &entry.id).collect();
        assert!(saved.iter().all(|id| ids.contains(&id)), "seed {seed}: one is lost");
        assert_eq!(ids.len(), saved.len(), "seed {seed}: there is one that nobody wrote");
        assert!(numbers(&seen[0].0).windows(2).all(|w| w[0] != w[1]), "seed {seed}: one twice");
    }
}

#[test]
fn three_devices_come_to_see_the_same() {
    (0..rounds(400) as u64).into_par_iter().for_each(schedule);
}
