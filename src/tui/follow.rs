//! The stop that is planned next, as a list to tick: what of it is left, done, or left out follows
//! from the journal; here stands only which things they are, and which is chosen.

use super::JournalView;
use super::filter::JournalRow;
use crate::domain::{EntryId, Event, Plan, Standing};
use crate::forecast::Evening;
use std::mem::discriminant;
use std::sync::Arc;

/// A stop that is followed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Follow {
    /// The records that planned its things, in their order.
    pub items: Vec<EntryId>,
    /// Index of the chosen one.
    pub row: usize,
    /// What lay ahead before anything of it was answered.
    pub before: Option<Arc<Evening>>,
}

/// What became of a thing.
#[derive(Debug, Clone, PartialEq)]
pub enum Became<'a> {
    /// It is still to be done.
    Left(&'a Standing),
    /// It was done, as this entry says.
    Done(&'a Standing),
    /// It was left out.
    Skipped(&'a Standing),
}

impl Follow {
    /// What became of each thing, as far as the journal knows it.
    pub fn became<'a>(&self, book: &'a JournalView) -> Vec<(&EntryId, Option<Became<'a>>)> {
        self.items.iter().map(|id| (id, became(book, id))).collect()
    }

    /// What is left of it, as a plan of its own; `None` where nothing is.
    pub fn left(&self, book: &JournalView) -> Option<Plan> {
        book.plans.iter().find_map(|plan| plan.only(|entry| self.items.contains(&entry.id)))
    }

    /// The chosen thing, as a plan of its own, if it is still to be done.
    pub fn chosen(&self, book: &JournalView) -> Option<Plan> {
        let ids: Vec<&EntryId> = self.chosen_rows(book).into_iter().map(|(id, _)| id).collect();
        book.plans.iter().find_map(|plan| plan.only(|entry| ids.contains(&&entry.id)))
    }

    /// What became of the chosen thing: one row, or those of a drive that is told in hours and in km.
    pub(super) fn chosen_rows<'a>(
        &self,
        book: &'a JournalView,
    ) -> Vec<(&EntryId, Option<Became<'a>>)> {
        let all = self.became(book);
        let Some((_, chosen)) = all.get(self.row).cloned() else { return Vec::new() };
        let is_same = |other: &Option<Became>| {
            chosen.as_ref().zip(other.as_ref()).is_some_and(|(own, other)| own.is_drive_of(other))
        };
        let rows = all.into_iter().enumerate();
        let rows = rows.filter(|(row, (_, became))| {
            *row == self.row || row.abs_diff(self.row) == 1 && is_same(became)
        });
        rows.map(|(_, row)| row).collect()
    }
}

impl Became<'_> {
    /// The entry that says so.
    pub(super) fn entry(&self) -> &Standing {
        let (Became::Left(entry) | Became::Done(entry) | Became::Skipped(entry)) = self;
        entry
    }

    /// Whether it tells the same drive, in the other unit: hours and km.
    fn is_drive_of(&self, other: &Became) -> bool {
        let (own, entry) = (self.entry(), other.entry());
        let (Event::Drive(one), Event::Drive(two)) = (&own.event, &entry.event) else {
            return false;
        };
        let same = discriminant(self) == discriminant(other) && own.at == entry.at;
        same && one.unit.factor_to(&two.unit, None).is_none()
    }
}

fn became<'a>(book: &'a JournalView, id: &EntryId) -> Option<Became<'a>> {
    let mut planned = book.plans.iter().flat_map(|plan| &plan.entries);
    if let Some(entry) = planned.find(|entry| entry.id == *id) {
        return Some(Became::Left(entry));
    }
    let own = |rows: &'a [JournalRow]| rows.iter().map(|row| &row.entry).find(|e| e.id == *id);
    own(&book.rows).map(Became::Done).or_else(|| own(&book.gone).map(Became::Skipped))
}

/// The stop that is to be followed: the oldest that waits for an answer, else the next one; where no
/// schedule planned any, a line written ahead that services something.
pub(super) fn next(book: &JournalView) -> Option<&Plan> {
    let services = |event: &Event| {
        matches!(event, Event::Fill { .. } | Event::Empty { .. } | Event::Charge { .. })
    };
    let serves = |plan: &&Plan| plan.entries.iter().any(|entry| services(&entry.event));
    let saved = book.plans.iter().find(|plan| plan.place.is_some());
    saved.or(book.plans.iter().find(serves))
}
