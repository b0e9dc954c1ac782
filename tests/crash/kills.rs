//! Real processes on real files: killed at random moments, and many at once.

use super::{draft, numbers, rounds};
use std::collections::HashSet;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;
use waystock::store::error::{StoreError, StoreErrorKind};
use waystock::store::folder::Folder;
use waystock::store::real_disk::RealDisk;

const ROOT: &str = "WAYSTOCK_CRASH_ROOT";
const FIRST: &str = "WAYSTOCK_CRASH_FIRST";

fn folder(root: &Path) -> Folder {
    Folder::open(&root.join("data"), &root.join("state"), Arc::new(RealDisk))
}

/// The process that gets killed: appends for ever and says each number once it is acknowledged.
/// Does nothing in an ordinary test run.
#[test]
fn child() {
    let (Ok(root), Ok(first)) = (std::env::var(ROOT), std::env::var(FIRST)) else { return };
    let mut folder = folder(Path::new(&root));
    // By turns alone and in a group of three.
    for number in (first.parse::<usize>().unwrap()..).step_by(4) {
        folder.append(&[draft(number)], super::recorded()).unwrap();
        let group: Vec<_> = (number + 1..number + 4).map(draft).collect();
        folder.append(&group, super::recorded()).unwrap();
        let mut out = std::io::stdout().lock();
        (number..number + 4).for_each(|n| writeln!(out, "acknowledged {n}").unwrap());
        out.flush().unwrap();
    }
}

fn start_child(root: &Path, first: usize) -> std::process::Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "kills::child", "--nocapture"])
        .env(ROOT, root)
        .env(FIRST, first.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn killed_processes_lose_nothing_acknowledged() {
    let root = tempfile::tempdir().unwrap();
    let mut acknowledged = Vec::new();
    for round in 0..rounds(50) {
        let mut child = start_child(root.path(), round * 10_000);
        let number = |line: String| line.rsplit_once("acknowledged ")?.1.parse::<usize>().ok();
        let mut heard = BufReader::new(child.stdout.take().unwrap())
            .lines()
            .map_while(Result::ok)
            .filter_map(number);
        // A fifth of the kills may fall into the start; the others wait for the first entry,
        // however slow the machine is, and so fall in and between appends.
        if round % 5 != 0 {
            acknowledged.push(heard.next().expect("the child writes until it is killed"));
        }
        std::thread::sleep(Duration::from_micros(300 * (round as u64 * 7 % 29)));
        child.kill().unwrap();
        child.wait().unwrap();
        acknowledged.extend(heard);
    }
    let mut folder = folder(root.path());
    folder.append(&[draft(999_999_999)], super::recorded()).unwrap();
    assert!(folder.take_notices().is_empty(), "one device all along");
    let journal = folder.load().unwrap();
    assert_eq!(journal.files.len(), 1);
    let found: Vec<usize> = numbers(&journal.entries);
    let set: HashSet<usize> = found.iter().copied().collect();
    assert_eq!(set.len(), found.len(), "no entry twice");
    assert!(acknowledged.iter().all(|number| set.contains(number)));
    // Of three that were saved in one go, all count or none.
    let groups = found.iter().filter(|number| **number != 999_999_999 && **number % 4 == 1);
    let begun: HashSet<usize> = groups.map(|number| number / 4).collect();
    let in_groups = found.iter().filter(|number| **number != 999_999_999 && **number % 4 != 0);
    assert!(in_groups.clone().all(|number| begun.contains(&(number / 4))), "a part counts");
    assert_eq!(in_groups.count(), begun.len() * 3, "a part counts");
}

/// On a slow disk with many writers the patience of one append may run out: then nothing was
/// written, and trying again is what the message asks for.
fn patiently<T>(mut append: impl FnMut() -> Result<T, StoreError>) -> T {
    for _ in 0..60 {
        match append() {
            Err(error) if error.kind == StoreErrorKind::Busy => {}
            done => return done.unwrap(),
        }
    }
    panic!("the lock is never free");
}

#[test]
fn many_writers_never_share_an_id_or_a_line() {
    let root = tempfile::tempdir().unwrap();
    std::thread::scope(|scope| {
        for writer in 0..8 {
            let root = root.path();
            scope.spawn(move || {
                let mut folder = folder(root);
                for n in 0..25 {
                    patiently(|| folder.append(&[draft(writer * 100 + n)], super::recorded()));
                }
            });
        }
    });
    let journal = folder(root.path()).load().unwrap();
    assert_eq!(journal.findings, []);
    assert_eq!(journal.files.len(), 1);
    assert_eq!(numbers(&journal.entries).len(), 200);
    let sequences: HashSet<u64> = journal.entries.iter().map(|e| e.id.sequence).collect();
    assert_eq!(sequences, (1..=200).collect());
}

#[test]
fn a_held_lock_is_busy_after_a_while_and_free_when_dropped() {
    use waystock::store::disk::Disk;
    let root = tempfile::tempdir().unwrap();
    let path = root.path().join("x.lock");
    let held = RealDisk.lock(&path, Duration::ZERO).unwrap();
    let error = RealDisk.lock(&path, Duration::from_millis(30)).map(drop).unwrap_err();
    assert_eq!(error.kind(), std::io::ErrorKind::WouldBlock);
    drop(held);
    // A process that another test starts at this moment holds a copy until it runs its program.
    drop(RealDisk.lock(&path, Duration::from_secs(5)).unwrap());
}
