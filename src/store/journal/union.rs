//! The union of the entries of all files, and which of them are kept.

use super::report::{Finding, FindingKind, Journal, SourceFile};
use crate::domain::remembered::{Needed, is_bygone, stock_told};
use crate::domain::{Entry, IMPORT, Moment};
use crate::store::line::{self, LineRead};
use crate::store::record::CheckedRecord;
use chrono::{DateTime, Utc};
use rayon::prelude::*;
use std::collections::HashMap;

/// So many names are quicker compared one by one.
const FEW: usize = 12;
/// In place of a number: there is none.
const NONE: u32 = u32::MAX;

/// An entry that was read: what it takes to tell it from others, and where it stands.
#[derive(Clone, Copy)]
pub(super) struct ReadEntry<'a> {
    /// Number of its device's name; of the names in order, once all files are read.
    pub device: u32,
    pub sequence: u64,
    salt: u32,
    at: DateTime<Utc>,
    recorded: DateTime<Utc>,
    /// Number of the stock that a bygone tells the level of.
    stock: u32,
    /// Where the entry is kept; none for bygones.
    entry: u32,
    bytes: &'a [u8],
    file: u32,
    line: u32,
}

impl ReadEntry<'_> {
    /// Device, place and random part, as a number that is in the order of ids.
    fn id(&self) -> u128 {
        id(self.device, self.sequence, self.salt)
    }

    fn is_bygone(&self) -> bool {
        self.entry == NONE
    }
}

fn id(device: u32, sequence: u64, salt: u32) -> u128 {
    u128::from(device) << 96 | u128::from(sequence) << 32 | u128::from(salt)
}

/// A row that is not in the union yet.
pub(super) struct FoundRow<'a> {
    pub row: ReadEntry<'a>,
    /// Its entry, but for bygones whose names are known; apart, as most rows of a long journal have
    /// none.
    entry: Option<Box<Entry>>,
    is_bygone: bool,
}

/// Names, each with a number.
#[derive(Default)]
struct Names {
    all: Vec<String>,
    numbers: HashMap<String, u32>,
}

impl Names {
    fn find(&self, name: &str) -> u32 {
        // There are few, as a rule, and each is looked up for every row.
        match self.all.iter().take(FEW).position(|known| known == name) {
            Some(place) => place as u32,
            None if self.all.len() <= FEW => NONE,
            None => self.numbers.get(name).copied().unwrap_or(NONE),
        }
    }

    fn add(&mut self, name: &str) -> u32 {
        let next = self.all.len() as u32;
        match self.find(name) {
            NONE => {
                self.all.push(name.to_string());
                self.numbers.insert(name.to_string(), next);
                next
            }
            known => known,
        }
    }

    /// Puts the names in order; the new number of each that was.
    fn sort(&mut self) -> Vec<u32> {
        let mut sorted = self.all.clone();
        sorted.sort();
        let before = std::mem::replace(&mut self.all, sorted);
        self.numbers = self.all.iter().cloned().zip(0..).collect();
        before.iter().map(|name| self.find(name)).collect()
    }
}

/// Entries as they are read, file by file.
pub(super) struct Union<'a> {
    pub rows: Vec<ReadEntry<'a>>,
    entries: Vec<Option<Entry>>,
    devices: Names,
    stocks: Names,
    since: Option<Moment>,
    /// Whether a newer version wrote somewhere.
    pub newer: bool,
}

impl<'a> Union<'a> {
    /// Nothing yet of `sources`; of what lies before `since` only what is needed will be kept.
    pub(super) fn new(sources: &[SourceFile], since: Option<Moment>) -> Union<'a> {
        // Records are longer than this, so that the lists of them rarely have to move.
        let bytes: usize = sources.iter().map(|source| source.bytes.len()).sum();
        let rows = Vec::with_capacity(bytes / 128);
        let entries = Vec::with_capacity(if since.is_some() { 0 } else { bytes / 128 });
        let (devices, stocks) = (Names::default(), Names::default());
        Union { rows, entries, devices, stocks, since, newer: false }
    }

    /// What was read at a place, a file's number and a line.
    pub(super) fn found(
        &self,
        said: CheckedRecord,
        bytes: &'a [u8],
        (file, line): (u32, u32),
    ) -> FoundRow<'a> {
        let times = (said.at, said.recorded);
        let is_bygone = self.since.is_some_and(|since| is_bygone(times, &said.body, since));
        let told = stock_told(&said.body).filter(|_| is_bygone);
        let (device, sequence, salt) = said.id;
        let row = ReadEntry {
            device: self.devices.find(device),
            sequence,
            salt,
            at: said.at.to_utc(),
            recorded: said.recorded.to_utc(),
            stock: told.map_or(NONE, |stock| self.stocks.find(stock)),
            entry: NONE,
            bytes,
            file,
            line,
        };
        let named = row.device != NONE && (told.is_none() || row.stock != NONE);
        let entry = (!is_bygone || !named).then(|| Box::new(said.entry()));
        FoundRow { row, entry, is_bygone }
    }

    /// Learns the names of what was found.
    pub(super) fn name(&mut self, found: &mut FoundRow) {
        let Some(entry) = &found.entry else { return };
        if found.row.device == NONE {
            found.row.device = self.devices.add(&entry.id.device);
        }
        if let Some(stock) = stock_told(&entry.body).filter(|_| found.is_bygone) {
            found.row.stock = self.stocks.add(stock);
        }
    }

    /// Whether an entry came from an exchange file.
    pub(super) fn is_imported(&self, row: &ReadEntry) -> bool {
        self.devices.all[row.device as usize] == IMPORT
    }

    /// Adds what was found and named.
    pub(super) fn push(&mut self, FoundRow { mut row, entry, is_bygone }: FoundRow<'a>) {
        if !is_bygone {
            row.entry = self.entries.len() as u32;
            self.entries.push(entry.map(|entry| *entry));
        }
        self.rows.push(row);
    }

    /// Removes the last `many`.
    pub(super) fn take_back(&mut self, many: usize) {
        let gone = self.rows.split_off(self.rows.len() - many);
        let kept = gone.iter().map(|row| row.entry).filter(|entry| *entry != NONE).count();
        self.entries.truncate(self.entries.len() - kept);
    }

    /// Sorts by id and drops repeats. Of two that differ, the one whose bytes sort first counts, so
    /// that every device decides alike whatever its files are called.
    pub(super) fn unite(mut self, journal: &mut Journal) {
        let places = self.devices.sort();
        self.rows.iter_mut().for_each(|row| row.device = places[row.device as usize]);
        // A single device's file is in order, and has nothing twice.
        if !self.rows.is_sorted_by(|a, b| a.id() < b.id()) {
            let order = |a: &ReadEntry, b: &ReadEntry| {
                a.id().cmp(&b.id()).then_with(|| a.bytes.cmp(b.bytes))
            };
            self.rows.par_sort_unstable_by(order);
            self.drop_repeats(journal);
        }
        let needed = self.needed_bygones();
        journal.entries.reserve_exact(self.entries.len() + needed.len());
        let mut needed = needed.into_iter().peekable();
        for (place, row) in self.rows.iter().enumerate() {
            journal.entries.extend(match row.entry {
                NONE if needed.next_if_eq(&place).is_some() => match line::read(row.bytes) {
                    LineRead::Entry(entry, _) => Some(entry),
                    _ => None,
                },
                NONE => None,
                kept => self.entries[kept as usize].take(),
            });
        }
    }

    fn drop_repeats(&mut self, journal: &mut Journal) {
        self.rows.dedup_by(|row, kept| {
            if row.id() == kept.id() && row.bytes != kept.bytes {
                let id = match line::read(kept.bytes) {
                    LineRead::Entry(entry, _) => entry.id.to_string(),
                    _ => String::new(),
                };
                let report = &mut journal.files[row.file as usize];
                report.conflicting += 1;
                let message = format!("another record is also called {id}");
                let found = Finding::whole(FindingKind::Conflicting, &report.file, message);
                journal.findings.push(Finding { line: u64::from(row.line), column: 1, ..found });
            }
            row.id() == kept.id()
        });
    }

    /// The places among the rows, which are in order, of bygones that are kept after all, in order:
    /// those that the others rest on; the newest word of each stock, by which it was read before; the
    /// newest of all else, by which people wrote before; and those whose device's clock ran backwards,
    /// since then the order in which it wrote counts.
    fn needed_bygones(&self) -> Vec<usize> {
        let needed = Needed::by(self.entries.iter().flatten());
        let ids =
            needed.changed.iter().map(|of| id(self.devices.find(&of.device), of.sequence, of.salt));
        let mut changed: Vec<u128> = ids.collect();
        changed.sort_unstable();
        let mut kept = Vec::new();
        // By stock; the last one is of all else.
        let mut newest: Vec<Option<usize>> = vec![None; self.stocks.all.len() + 1];
        let bygones = self.rows.iter().enumerate().filter(|(_, row)| row.is_bygone());
        for (place, row) in bygones {
            if needed.decides(row.at) || changed.binary_search(&row.id()).is_ok() {
                kept.push(place);
                continue;
            }
            let newest = &mut newest[(row.stock as usize).min(self.stocks.all.len())];
            if newest.is_none_or(|newest| self.rows[newest].at < row.at) {
                *newest = Some(place);
            }
        }
        kept.extend(newest.into_iter().flatten());
        self.against_the_clock(&mut kept);
        kept.sort_unstable();
        kept.dedup();
        kept
    }

    /// Adds the places of bygones that their device wrote after later ones, or before earlier ones,
    /// that are none.
    fn against_the_clock(&self, kept: &mut Vec<usize>) {
        let (imported, mut end) = (self.devices.find(IMPORT), 0);
        for own in self.rows.chunk_by(|a, b| a.device == b.device) {
            let places = end..end + own.len();
            end = places.end;
            // Of imported rows the numbers say nothing about the order.
            let ([first, .., last], true) = (own, own[0].device != imported) else { continue };
            let (mut latest, mut earliest) = (first.recorded, last.recorded);
            for (row, place) in own.iter().zip(places.clone()) {
                match row.is_bygone() {
                    true if row.recorded < latest => kept.push(place),
                    true => {}
                    false => latest = latest.max(row.recorded),
                }
            }
            for (row, place) in own.iter().zip(places).rev() {
                match row.is_bygone() {
                    true if row.recorded > earliest => kept.push(place),
                    true => {}
                    false => earliest = earliest.min(row.recorded),
                }
            }
        }
    }
}
