//! Which old entries an answer about now rests on.
//!
//! What is learned is learned from the last months. An old use or reading that nothing later
//! speaks of moves nothing; who is aboard, where the van stands, what was planned and what was
//! changed afterwards may reach from years ago to today.

use super::counts::{AROUND_H, is_fact_by_itself};
use super::entry::{Body, Entry, EntryId, Event};
use super::time::Moment;
use chrono::{DateTime, Duration, TimeZone};
use std::collections::HashSet;

/// Whether what happened `at` a moment, written down when it was `recorded`, is of before `since`
/// and, as far as it tells by itself, is of no matter for what was remembered from then on.
pub fn is_bygone((at, recorded): (Moment, Moment), body: &Body, since: Moment) -> bool {
    let is_plan = at > recorded;
    let old = recorded < since && !is_plan;
    old && match body {
        Body::Happened(Event::Crew(_) | Event::Camp(_)) => false,
        Body::Happened(Event::Outlook(row)) => row.date < since.date_naive(),
        Body::Happened(_) => true,
        Body::Correct { .. } | Body::Retract { .. } | Body::Restore { .. } => false,
    }
}

/// The stock that an entry says the level of, if any: the newest word of each is kept, however old.
pub fn stock_told(body: &Body) -> Option<&str> {
    match body {
        Body::Happened(event) => event.stock(),
        _ => None,
    }
}

/// What bygones the other entries rest on.
#[derive(Debug)]
pub struct Needed<'a> {
    /// Those that were changed later.
    pub changed: HashSet<&'a EntryId>,
    /// Spans of time, in order, in which what was written decides what a plan or an absence counts
    /// as: around every plan, and while nobody is aboard.
    spans: Vec<(Moment, Moment)>,
}

impl<'a> Needed<'a> {
    /// What `entries`, all that are no bygones, rest on.
    pub fn by(entries: impl Iterator<Item = &'a Entry> + Clone) -> Needed<'a> {
        let changed: HashSet<&EntryId> =
            entries.clone().filter_map(|entry| entry.body.of()).collect();
        let around = Duration::hours(AROUND_H);
        let plans = entries.clone().filter(|entry| entry.is_plan() && is_judged(entry));
        let mut spans: Vec<_> = plans.map(|plan| (plan.at - around, plan.at + around)).collect();
        let aboard = entries.filter_map(|entry| Some((people(entry)?, entry)));
        let (left, back): (Vec<_>, Vec<_>) = aboard.partition(|(people, _)| *people == 0);
        // A correction may itself not stand.
        let happened = |entry: &Entry| matches!(entry.body, Body::Happened(_)) && !entry.is_plan();
        let is_sure = |entry: &Entry| happened(entry) && !changed.contains(&entry.id);
        let mut back: Vec<Moment> =
            back.iter().filter(|(_, entry)| is_sure(entry)).map(|(_, entry)| entry.at).collect();
        back.sort();
        spans.extend(left.iter().map(|(_, left)| {
            let next = back.partition_point(|back| *back <= left.at);
            (left.at, back.get(next).copied().unwrap_or(Moment::MAX_UTC.into()))
        }));
        spans.sort();
        spans.dedup_by(|later, earlier| {
            let meet = later.0 <= earlier.1;
            earlier.1 = if meet { earlier.1.max(later.1) } else { earlier.1 };
            meet
        });
        Needed { changed, spans }
    }

    /// Whether what happened at `at` decides what another entry counts as.
    pub fn decides(&self, at: DateTime<impl TimeZone>) -> bool {
        let after = self.spans.partition_point(|(from, _)| *from <= at);
        after.checked_sub(1).is_some_and(|last| self.spans[last].1 >= at)
    }
}

/// Whether what was written around a plan decides what it counts as.
fn is_judged(plan: &Entry) -> bool {
    plan.body.event().is_some_and(|event| !is_fact_by_itself(event))
}

/// Thousandths of people that an entry says are aboard from then on.
fn people(entry: &Entry) -> Option<i64> {
    match entry.body.event() {
        Some(Event::Crew(aboard)) => Some(aboard.milli()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::tests::{at, crew, fill};

    fn entries(told: &[(i64, Event)]) -> Vec<Entry> {
        let entry = |(number, (hour, event)): (usize, &(i64, Event))| Entry {
            id: EntryId { device: "a".into(), sequence: number as u64, salt: 1 },
            at: at(*hour),
            recorded: at(*hour),
            note: None,
            body: Body::Happened(event.clone()),
        };
        told.iter().enumerate().map(entry).collect()
    }

    /// An absence lasts from when all left until somebody is back, not from an earlier return;
    /// one that has not ended decides for good. Counted by hand.
    #[test]
    fn what_happened_while_nobody_was_aboard_decides() {
        let told = entries(&[(5, crew(2)), (10, crew(0)), (20, crew(2)), (90, crew(0))]);
        let needed = Needed::by(told.iter());
        let decides = [4, 7, 10, 15, 20, 21, 60, 89, 90, 5000].map(|hour| needed.decides(at(hour)));
        assert_eq!(decides, [false, false, true, true, true, false, false, false, true, true]);
    }

    /// Counted by hand: a return that only a correction tells of may not stand, so it ends nothing.
    #[test]
    fn a_return_that_is_a_correction_is_not_sure() {
        let mut told = entries(&[(10, crew(0)), (20, crew(2))]);
        let of = EntryId { device: "b".into(), sequence: 9, salt: 1 };
        told[1].body = Body::Correct { of, event: crew(2) };
        assert!(Needed::by(told.iter()).decides(at(60)));
    }

    #[test]
    fn what_happened_near_a_plan_decides() {
        let mut plan = entries(&[(100, fill("fresh"))]);
        plan[0].recorded = at(50);
        let needed = Needed::by(plan.iter());
        let decides = [81, 82, 118, 119].map(|hour| needed.decides(at(hour)));
        assert_eq!(decides, [false, true, true, false]);
        // Who is aboard changes as planned, whatever is written around that time.
        plan[0].body = Body::Happened(crew(3));
        assert!(!Needed::by(plan.iter()).decides(at(99)));
    }
}
