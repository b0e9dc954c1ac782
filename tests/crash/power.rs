//! Power cuts, on a disk that loses what was not synced: at every call, every subset of what was
//! pending, torn at 1, 512 and 4096 bytes. And the check of the check: with any one kind of sync
//! taken out, it must report a loss.

use super::fake_disk::{FakeDisk, Fault};
use super::{draft, folder, long_draft, numbers, rounds};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::io;
use waystock::store::disk::{Disk, replace};
use waystock::store::journal::FindingKind;

/// Steps through every combination of choices, like the digits of a counter.
#[derive(Default)]
struct Counter {
    digits: Vec<(usize, usize)>,
    next: usize,
}

impl Counter {
    fn choose(&mut self, options: usize) -> usize {
        if self.next == self.digits.len() {
            self.digits.push((0, options));
        }
        self.next += 1;
        self.digits[self.next - 1].0
    }

    /// To the next combination; false after the last.
    fn advance(&mut self) -> bool {
        self.next = 0;
        while let Some((digit, options)) = self.digits.pop() {
            if digit + 1 < options {
                self.digits.push((digit + 1, options));
                return true;
            }
        }
        false
    }
}

/// What a run got acknowledged before the power went.
struct Run {
    disk: FakeDisk,
    acknowledged: Vec<usize>,
    device: Option<String>,
    started: usize,
}

/// Appends of one, two and one entries, with the power going at call `call`.
fn run(call: usize, swallow: Option<&'static str>) -> Run {
    let disk = FakeDisk::new();
    swallow.iter().for_each(|what| disk.swallow(what));
    let kind = io::ErrorKind::Other;
    disk.set_fault(Some(Fault { call, kind, sticky: true }));
    let mut run = Run { disk: disk.clone(), acknowledged: Vec::new(), device: None, started: 0 };
    for drafts in [0..1, 1..3, 3..4] {
        let mut folder = folder(&disk);
        run.started = drafts.end;
        let drafts: Vec<_> = drafts.map(|n| long_draft(n, [40, 400, 900, 5000][n])).collect();
        match folder.append(&drafts, super::recorded()) {
            Ok(entries) => {
                run.acknowledged.extend(numbers(&entries));
                run.device = Some(entries[0].id.device.clone());
            }
            Err(_) => break,
        }
    }
    run
}

/// What is wrong with the disk after the power loss, if anything.
fn verify(run: &Run, after: &FakeDisk) -> Result<(), String> {
    let mut folder = folder(after);
    let journal = folder.load().map_err(|e| e.to_string())?;
    let found = numbers(&journal.entries);
    if let Some(lost) = run.acknowledged.iter().find(|n| !found.contains(n)) {
        return Err(format!("entry {lost} was acknowledged and is gone"));
    }
    // Entries 1 and 2 are saved in one go.
    if found.contains(&1) != found.contains(&2) {
        return Err(format!("{found:?} holds a part of what was saved in one go"));
    }
    if found.iter().any(|n| *n >= run.started) || found.windows(2).any(|w| w[0] == w[1]) {
        return Err(format!("{found:?} holds what was never written"));
    }
    let entries = folder.append(&[draft(77)], super::recorded()).map_err(|e| e.to_string())?;
    if run.device.as_ref().is_some_and(|device| *device != entries[0].id.device) {
        return Err("the device forgot who it is".into());
    }
    // What was cut off with the power is told once, and rightly.
    let notices = folder.take_notices();
    let needless = notices.iter().find(|notice| notice.kind != FindingKind::Torn);
    if let Some(notice) = needless.filter(|_| run.device.is_some()) {
        return Err(format!("a needless notice: {}", notice.message));
    }
    let again = folder.load().map_err(|e| e.to_string())?;
    if again.findings.iter().any(|f| f.kind == FindingKind::Conflicting) {
        return Err("two records have one id".into());
    }
    if numbers(&again.entries) != [found, vec![77]].concat() {
        return Err("the next append took an entry with it".into());
    }
    Ok(())
}

/// Calls of a whole run.
fn calls() -> usize {
    run(usize::MAX, None).disk.calls().len()
}

/// Every outcome of a power cut at every call, up to `most` per call.
fn first_fault(swallow: Option<&'static str>, most: usize) -> (usize, Option<String>) {
    let mut checked = 0;
    for call in (0..=calls()).rev() {
        let run = run(call, swallow);
        let mut counter = Counter::default();
        for _ in 0..most {
            let after = run.disk.after_power_loss(&mut |options| counter.choose(options));
            checked += 1;
            if let Err(why) = verify(&run, &after) {
                return (checked, Some(format!("power cut at call {call}: {why}")));
            }
            if !counter.advance() {
                break;
            }
        }
    }
    (checked, None)
}

#[test]
fn nothing_acknowledged_is_lost_with_the_power() {
    let (checked, fault) = first_fault(None, 5_000);
    assert_eq!(fault, None);
    assert!(checked > 200, "only {checked} images");
}

#[test]
fn a_missing_sync_is_noticed() {
    for sync in ["/data/journal/*", "/data/journal", "/data", "/", "/state/*", "/state"] {
        let (_, fault) = first_fault(Some(sync), 5_000);
        assert!(fault.is_some(), "without the sync of {sync} nothing seems to be lost");
    }
}

#[test]
fn power_cuts_one_after_the_other_lose_nothing() {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(11);
    for _ in 0..rounds(300) {
        let mut disk = FakeDisk::new();
        let mut acknowledged = Vec::new();
        for number in 0..8 {
            let call = random.random_range(0..60);
            disk.set_fault(Some(Fault { call, kind: io::ErrorKind::Other, sticky: true }));
            if let Ok(entries) = folder(&disk).append(&[draft(number)], super::recorded()) {
                acknowledged.extend(numbers(&entries));
            }
            disk = disk.after_power_loss(&mut |options| random.random_range(0..options));
            let found = numbers(&folder(&disk).load().unwrap().entries);
            assert!(acknowledged.iter().all(|n| found.contains(n)), "{acknowledged:?} {found:?}");
            assert!(found.iter().all(|n| *n <= number));
        }
    }
}

/// Replaces a file, with the power going at call `call`; whether the caller was told it is done.
fn replaced(call: usize, swallow: Option<&'static str>) -> (FakeDisk, bool) {
    let disk = FakeDisk::new();
    disk.create_folder("/data".as_ref()).unwrap();
    disk.sync_folder("/".as_ref()).unwrap();
    disk.put("/data/places.ron", b"old");
    disk.put("/data/.places.ron.new", b"left over");
    swallow.iter().for_each(|what| disk.swallow(what));
    disk.set_fault(Some(Fault { call, kind: io::ErrorKind::Other, sticky: true }));
    let outcome = replace(&disk, "/data/places.ron".as_ref(), &[b'n'; 700]);
    (disk, outcome.is_ok())
}

fn replaced_badly(swallow: Option<&'static str>) -> bool {
    (0..10).any(|call| {
        let (disk, done) = replaced(call, swallow);
        let mut counter = Counter::default();
        loop {
            let after = disk.after_power_loss(&mut |options| counter.choose(options));
            let bytes = after.bytes("/data/places.ron");
            if bytes != [b'n'; 700] && (done || bytes != b"old") {
                return true;
            }
            if !counter.advance() {
                return false;
            }
        }
    })
}

#[test]
fn a_replaced_file_is_the_old_or_the_new_one() {
    assert!(!replaced_badly(None));
    assert!(replaced(9, None).1, "ten calls are enough for all of it");
    for sync in ["/data/*", "/data"] {
        assert!(replaced_badly(Some(sync)), "without the sync of {sync}");
    }
}
