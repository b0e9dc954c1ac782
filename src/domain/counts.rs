//! What an entry counts as at a moment: a fact, a plan ahead, or a plan whose time has passed
//! without a word.
//!
//! A plan is not a fact. An entry that was written down before its time moves no level once that
//! time has passed, until somebody says that it was done: the words that stand were then written
//! at or after it. What people write of the same thing around that time stands in its place.
//! Only who is aboard changes as planned, as nobody writes down that guests left when they meant
//! to; unless uses were written while nobody was to be there.

use super::entry::{After, Event, Spot};
use super::time::Moment;
use chrono::Duration;

/// What an entry counts as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Counts {
    /// It happened: it was written down at its time or later.
    #[default]
    Fact,
    /// A plan whose time has not come.
    Ahead,
    /// A plan whose time has passed without a word, or that the journal contradicts. It moves
    /// nothing until somebody says whether it was done.
    Open,
    /// A plan in whose place stands what was written of the same thing around its time.
    Superseded,
    /// A camp that is written again where the van already stands: it is no arrival, and nights go
    /// on counting, as they do for wardens when somebody comes back from the shop.
    Again,
}

/// What stands of an entry, as far as it takes to judge it.
#[derive(Debug, Clone, Copy)]
pub struct Claim<'a> {
    /// When it happened, or is planned to.
    pub at: Moment,
    /// When the words that stand were written down.
    pub said: Moment,
    /// What they say.
    pub event: &'a Event,
    /// Whether it was a plan when it was first written. Once it was answered it tells of itself alone.
    pub planned: bool,
}

/// What is written so many hours after a plan's time is about the plan: a stop planned for the
/// morning is often written down late in the evening. Common practice, no source.
pub(super) const AROUND_H: i64 = 18;

/// The same before it: a stop is made some hours earlier than planned. What was done the evening before
/// is not the stop of the next noon. Common practice, no source.
const BEFORE_H: i64 = 8;

/// What each entry counts as at `now`. `entries` are in order of their `at`.
pub fn counts(entries: &[Claim], now: Moment) -> Vec<Counts> {
    let mut all: Vec<Counts> = (0..entries.len()).map(|index| of(entries, index, now)).collect();
    for (index, count) in contradicted(entries, now) {
        all[index] = count;
    }
    for index in still_there(entries, &all) {
        all[index] = Counts::Again;
    }
    all
}

/// Camps that name the place of the camp before.
fn still_there(entries: &[Claim], counts: &[Counts]) -> Vec<usize> {
    let (mut again, mut camp): (Vec<usize>, Option<&Event>) = (Vec::new(), None);
    let facts = entries.iter().enumerate().filter(|(index, _)| counts[*index] == Counts::Fact);
    for (index, entry) in facts {
        match entry.event {
            Event::Camp(_) if camp.is_some_and(|camp| is_same_thing(camp, entry.event)) => {
                again.push(index);
            }
            Event::Camp(_) => camp = Some(entry.event),
            _ => {}
        }
    }
    again
}

fn of(entries: &[Claim], index: usize, now: Moment) -> Counts {
    let entry = &entries[index];
    if entry.said >= entry.at {
        return Counts::Fact;
    }
    if entry.at > now {
        return Counts::Ahead;
    }
    match entry.event {
        event if is_fact_by_itself(event) => Counts::Fact,
        _ if was_told(entries, index) => Counts::Superseded,
        _ => Counts::Open,
    }
}

/// Whether a plan becomes a fact with its time: those that move no level, who is aboard as the
/// module says, the others never.
pub(super) fn is_fact_by_itself(event: &Event) -> bool {
    matches!(event, Event::Crew(_) | Event::Note(_) | Event::Outlook(_) | Event::DayClosed)
}

/// Whether something of the same kind was written down around a plan's time and after it.
fn was_told(entries: &[Claim], index: usize) -> bool {
    let plan = &entries[index];
    let soon_before = |other: &&Claim| plan.at - other.at <= Duration::hours(BEFORE_H);
    let soon_after = |other: &&Claim| other.at - plan.at <= Duration::hours(AROUND_H);
    let tells = |other: &Claim| {
        let after = other.said >= other.at && other.said > plan.said;
        after && !other.planned && is_same_thing(plan.event, other.event)
    };
    // A can that was poured in hours before is not the tank that is to be filled.
    let as_whole = |other: &&Claim| is_whole(other.event) || !is_whole(plan.event);
    let before = entries[..index].iter().rev().take_while(soon_before).filter(as_whole);
    let after = entries[index + 1..].iter().take_while(soon_after);
    before.chain(after).any(tells)
}

/// Whether a stock is seen to all the way.
fn is_whole(event: &Event) -> bool {
    match event {
        Event::Fill { amount, after, .. } => *after == Some(After::Full) || amount.is_none(),
        Event::Empty { amount, after, .. } => amount.is_none() && after.is_none(),
        _ => false,
    }
}

/// Whether two events are about the same stock, activity or place.
pub(super) fn is_same_thing(one: &Event, other: &Event) -> bool {
    match (one, other) {
        (Event::Use { activity: one, .. }, Event::Use { activity: other, .. }) => one == other,
        (Event::Drive(one), Event::Drive(other)) => one.unit.converts_to(&other.unit),
        (Event::Charge { source: one, .. }, Event::Charge { source: other, .. }) => one == other,
        (Event::Camp(Spot::Named(one)), Event::Camp(Spot::Named(other))) => {
            one.eq_ignore_ascii_case(other)
        }
        (Event::Camp(one), Event::Camp(other)) => one == other,
        _ => one.kind() == other.kind() && one.stock().is_some() && one.stock() == other.stock(),
    }
}

/// Plans of who is aboard that uses contradict: the one by which nobody was to be aboard when a
/// use was written on a later day; and, where that is a fact, the planned return after it, which
/// was earlier then.
fn contradicted(entries: &[Claim], now: Moment) -> Vec<(usize, Counts)> {
    let mut open = Vec::new();
    // The entry by which nobody was aboard, and when a use was last written for a later day.
    let mut left: Option<(usize, Option<Moment>)> = None;
    for (index, entry) in entries.iter().enumerate() {
        match entry.event {
            Event::Crew(aboard) => {
                if let Some((_, Some(used))) = left
                    && entry.said < entry.at.min(used)
                    && entry.at > now
                {
                    open.push((index, Counts::Open));
                }
                left = (aboard.milli() == 0 && entry.at <= now).then_some((index, None));
            }
            Event::Use { .. } if entry.said >= entry.at => {
                let Some((away, used)) = &mut left else { continue };
                let leaving = &entries[*away];
                if entry.at.date_naive() <= leaving.at.date_naive() {
                    continue;
                }
                match leaving.said < leaving.at {
                    true => {
                        open.push((*away, Counts::Open));
                        left = None;
                    }
                    false => *used = Some(entry.said),
                }
            }
            _ => {}
        }
    }
    open
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::{Amount, Quantity};
    use crate::domain::tests::{at, crew, fill};
    use crate::domain::unit::Unit;

    fn once(activity: &str) -> Event {
        let count = Quantity::new(Amount::from_milli(1000).unwrap(), Unit::Time);
        Event::Use { activity: activity.into(), count }
    }

    fn claim(at: Moment, said: Moment, event: &Event) -> Claim<'_> {
        Claim { at, said, event, planned: said < at }
    }

    /// Two stops on one day, each with its drives: the first was done as planned, which says nothing of
    /// the drives of the second. A drive that was written by itself does.
    #[test]
    fn a_plan_that_was_answered_tells_of_itself_alone() {
        let quantity = Quantity::new(Amount::from_milli(10_000).unwrap(), Unit::Kilometre);
        let drive = Event::Drive(quantity);
        let second = claim(at(11), at(0), &drive);
        let first = Claim { planned: true, ..claim(at(9), at(20), &drive) };
        let written = claim(at(9), at(20), &drive);
        assert_eq!(counts(&[first, second], at(21)), [Counts::Fact, Counts::Open]);
        assert_eq!(counts(&[written, second], at(21)), [Counts::Fact, Counts::Superseded]);
    }

    /// `(hour of, hour said, event)` in order of time, what each counts as at an hour.
    fn check(rows: &[(i64, i64, Event)], now: i64, expected: &[Counts]) {
        let said = |(of, said, event): &'_ (i64, i64, Event)| (at(*of), at(*said), event.clone());
        let rows: Vec<(Moment, Moment, Event)> = rows.iter().map(said).collect();
        let entries: Vec<Claim> =
            rows.iter().map(|(at, said, event)| claim(*at, *said, event)).collect();
        assert_eq!(counts(&entries, at(now)), expected, "{rows:?} at {now}");
    }

    /// By the contract: `at` after `recorded` is a plan. What follows from it is the rule here.
    #[test]
    fn a_plan_is_ahead_then_open_until_a_word_is_said() {
        use Counts::{Ahead, Fact, Open, Superseded};
        let plan = || (30, 0, fill("fresh"));
        check(&[plan()], 29, &[Ahead]);
        check(&[plan()], 30, &[Open]);
        // The same words, written again when it was done.
        check(&[(30, 33, fill("fresh"))], 34, &[Fact]);
        // Another stock tells nothing of it; the same stock does, before and after.
        check(&[plan(), (31, 31, fill("diesel"))], 34, &[Open, Fact]);
        check(&[plan(), (31, 31, fill("fresh"))], 34, &[Superseded, Fact]);
        check(&[(28, 28, fill("fresh")), plan()], 34, &[Fact, Superseded]);
        // The evening before the noon of a plan is another emptying; the late evening of it tells of it.
        check(&[(15, 15, fill("fresh")), plan()], 34, &[Fact, Open]);
        check(&[plan(), (46, 46, fill("fresh"))], 47, &[Superseded, Fact]);
        // Ten litres from a can before it are not the stop's; after it they may be all that was got there.
        let can = || match fill("fresh") {
            Event::Fill { stock, .. } => {
                let amount = Quantity::new(Amount::from_milli(10_000).unwrap(), Unit::Litre);
                Event::Fill { stock, amount: Some(amount), after: None }
            }
            other => other,
        };
        check(&[(28, 28, can()), plan()], 34, &[Fact, Open]);
        check(&[plan(), (31, 31, can())], 34, &[Superseded, Fact]);
        // Two days later is another fill, and what was written before the plan is not about it.
        check(&[plan(), (80, 80, fill("fresh"))], 81, &[Open, Fact]);
        check(&[(-1, -1, fill("fresh")), (10, 0, fill("fresh"))], 11, &[Fact, Open]);
        check(&[(30, 0, Event::Note("dentist".into()))], 31, &[Fact]);
    }

    /// Counted by hand: who says each evening where the van stands has not arrived each evening.
    #[test]
    fn a_camp_said_again_is_no_arrival() {
        use Counts::{Again, Fact, Open};
        let camp = |at: i64, name: &str| (at, at, Event::Camp(Spot::Named(name.into())));
        check(&[camp(0, "Reed Cove"), camp(24, "reed cove")], 30, &[Fact, Again]);
        let elsewhere = [camp(0, "Reed Cove"), camp(10, "Tarn"), camp(24, "Reed Cove")];
        check(&elsewhere, 30, &[Fact, Fact, Fact]);
        // A plan that nobody has confirmed moved nobody.
        let planned = (10, 0, Event::Camp(Spot::Named("Tarn".into())));
        check(&[camp(0, "Reed Cove"), planned, camp(60, "Reed Cove")], 70, &[Fact, Open, Again]);
    }

    #[test]
    fn people_come_and_go_as_planned_unless_uses_say_otherwise() {
        use Counts::{Ahead, Fact, Open};
        let (away, back) = ((18, 0, crew(0)), (90, 0, crew(2)));
        check(&[away.clone(), back.clone()], 40, &[Fact, Ahead]);
        // A use on the day of leaving was before it, whenever it was written.
        check(&[away.clone(), (21, 21, once("shower")), back.clone()], 40, &[Fact, Fact, Ahead]);
        check(&[away.clone(), (45, 45, once("shower")), back.clone()], 50, &[Open, Fact, Ahead]);
        // Guests who came as planned are no absence, so that uses say nothing against them.
        check(&[(18, 0, crew(3)), (45, 45, once("shower"))], 50, &[Fact, Fact]);
        // Away as a fact: they were back before the day that was planned.
        let left = (18, 18, crew(0));
        check(&[left, (45, 45, once("shower")), back], 50, &[Fact, Fact, Open]);
    }
}
