//! An entry that was acknowledged is there after kills, power cuts, full disks, failing calls and
//! file syncers; damage costs the damaged line and no more.

#![allow(clippy::disallowed_methods, reason = "these tests work on real files and processes")]
#![allow(clippy::disallowed_macros, reason = "how kills came out is for people to read")]

mod commands;
mod cuts;
mod devices;
mod fake_disk;
mod faults;
mod keys;
mod kills;
mod loss;
mod power;
#[path = "../fixtures/screen.rs"]
mod screen;
mod sync;
mod writers;

use std::path::Path;
use std::sync::Arc;
use waystock::domain::entry::{Body, Draft, Entry, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::store::disk::Disk;
use waystock::store::folder::Folder;

/// When everything here happens and is written down.
fn recorded() -> Moment {
    "2026-09-14T19:20:00+03:00".parse().unwrap()
}

/// A dish-wash with a number in its note, so that each draft can be told from the others.
fn draft(number: usize) -> Draft {
    let count = Quantity::new(Amount::from_milli(1000).unwrap(), Unit::Time);
    let event = Event::Use { activity: "dishes".into(), count };
    Draft { at: recorded(), note: Some(format!("n{number}")), body: Body::Happened(event) }
}

/// The same with a note so long that its line takes two sectors, or three pages.
fn long_draft(number: usize, length: usize) -> Draft {
    let note = format!("n{number} {}", "wiped the sink too. ".repeat(length / 20));
    Draft { note: Some(note), ..draft(number) }
}

/// How often a test repeats what it tries at random: `usual` times, or as many as
/// `WAYSTOCK_CRASH` says (10000 for a long run).
fn rounds(usual: usize) -> usize {
    std::env::var("WAYSTOCK_CRASH").ok().map_or(usual, |rounds| rounds.parse().unwrap())
}

/// The numbers of the drafts that entries were made from.
fn numbers(entries: &[Entry]) -> Vec<usize> {
    let note =
        |entry: &Entry| entry.note.as_deref()?.split(' ').next()?.strip_prefix('n')?.parse().ok();
    let mut numbers: Vec<usize> = entries.iter().map(|entry| note(entry).unwrap()).collect();
    numbers.sort_unstable();
    numbers
}

fn folder(disk: &(impl Disk + Clone + 'static)) -> Folder {
    Folder::open(Path::new("/data"), Path::new("/state"), Arc::new(disk.clone()))
}
