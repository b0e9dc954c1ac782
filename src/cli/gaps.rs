//! What an answer rests on and lacks: journal lines that cannot be read, stocks never read.

use super::Output;
use crate::domain::journal::stands;
use crate::domain::{Counts, Moment, Rig, Unit};
use crate::store::data_folder::{Contents, describe};
use crate::store::journal::{Finding, FindingKind, Journal};
use crate::text::{counted, listed};
use std::collections::HashSet;

/// Says on standard error what of the journal is missing from an answer; nothing when all of it
/// was read. The answer stands all the same, so no exit code changes.
pub(super) fn tell_unread(journal: &Journal, out: &mut Output) {
    let of = |kind: FindingKind| journal.findings.iter().filter(|f| f.kind == kind).count();
    let lines: u64 = journal.files.iter().map(|file| file.skipped - file.torn).sum();
    if lines > 0 {
        let lines = counted(lines as usize, "line");
        out.say(&format!("{lines} of the journal could not be read: waystock check"));
    }
    let files = of(FindingKind::Skipped);
    if files > 0 {
        let files = counted(files, "place");
        out.say(&format!("the journal is not read in {files}: waystock check"));
    }
    if of(FindingKind::Device) > 0 {
        out.say("the newest records of this device are not as it left them: waystock check");
    }
    let told = |f: &&Finding| matches!(f.kind, FindingKind::Ahead | FindingKind::Lost);
    for finding in journal.findings.iter().filter(told) {
        out.say(&describe(finding));
    }
}

/// Says that the places cannot be read, where that does not matter to what was asked.
pub(super) fn tell_places(contents: &Contents, out: &mut Output) {
    if let Some(fault) = contents.places_faults.first() {
        out.say(&format!("done without the places: {fault}"));
    }
}

/// Names the stocks whose level is a guess because nothing was ever logged of it.
pub(super) fn tell_never_read(contents: &Contents, now: Moment, out: &mut Output) {
    let names = never_read(&contents.rig, contents, now);
    if !names.is_empty() {
        out.say(&format!("never read: {}", listed(names)));
    }
}

fn never_read(rig: &Rig, contents: &Contents, now: Moment) -> Vec<String> {
    let parts = rig.parts_on(rig.zone(now).date(now));
    let stands = stands(&contents.journal.entries, now);
    let facts = stands.iter().filter(|entry| entry.at <= now && entry.counts == Counts::Fact);
    let told: HashSet<&str> = facts.filter_map(|entry| entry.event.stock()).collect();
    let stocks = parts.stocks.iter().filter(|stock| stock.unit != Unit::Night);
    stocks.filter(|stock| !told.contains(&*stock.name)).map(|stock| stock.name.clone()).collect()
}
