//! Plans as people know them: one line that was written ahead, or one stop of a saved schedule;
//! and what is written down when somebody says what became of one. An answer is a record like any
//! other: a correction that says the words again, or other words, or a retraction. So the fold
//! needs no further kind of record, and every answer can be undone.

use super::counts::{AROUND_H, Counts, is_same_thing};
use super::entry::{Body, Draft, EntryId, Event, Happened, Spot};
use super::journal::{NOT_DONE, PLANNED_STOP, Standing};
use super::time::{Moment, after_hours};
use super::unit::Unit;
use chrono::Duration;

/// A stop takes no longer than that from the way there to the way on, in hours: a night or two on a
/// hook-up, and the drives.
const LONGEST_STOP_H: i64 = 72;

/// One plan that nobody has said a word about.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// When it was to happen.
    pub at: Moment,
    /// The place, where a schedule of stops planned it.
    pub place: Option<String>,
    /// Whether its time has passed, or the journal contradicts it; else it lies ahead.
    pub is_open: bool,
    /// Whether the van has camped elsewhere since the stop was planned, so that its drives are not those
    /// that are meant: unless that move was known when it was planned, or leads to its place.
    pub is_from_elsewhere: bool,
    /// Its entries, at least one, in the order in which they were written.
    pub entries: Vec<Standing>,
}

impl Plan {
    /// The same with those of its entries that are wanted; `None` where none is.
    pub fn only(&self, wanted: impl Fn(&Standing) -> bool) -> Option<Plan> {
        let entries: Vec<Standing> = self.entries.iter().filter(|e| wanted(e)).cloned().collect();
        (!entries.is_empty()).then(|| Plan { entries, place: self.place.clone(), ..*self })
    }

    /// Whether it holds no more of a stop than the way there.
    fn is_on_the_way(&self) -> bool {
        self.place.is_some() && self.entries.iter().all(|e| matches!(e.event, Event::Drive(_)))
    }

    /// Whether this is the way on from the stop: it sets out once the hook-up, which begins at its hour,
    /// has charged.
    fn is_left_by(&self, entry: &Standing) -> bool {
        let is_drive = matches!(entry.event, Event::Drive(_));
        let leaves = || after_hours(self.at, self.hours_charging());
        self.place.is_some() && is_drive && leaves() == Some(entry.at)
    }

    /// Hours on the hook-up, or that a generator runs.
    pub fn hours_charging(&self) -> f64 {
        let charging = |entry: &Standing| match &entry.event {
            Event::Charge { amount, .. } => {
                amount.unit.factor_to(&Unit::Hour, None).map(|by| by * amount.amount.value())
            }
            _ => None,
        };
        self.entries.iter().filter_map(charging).sum()
    }

    /// The record that stands for it, of several the first.
    pub fn id(&self) -> &EntryId {
        &self.entries[0].id
    }

    /// Whether this is one of its records.
    pub fn holds(&self, id: &EntryId) -> bool {
        self.entries.iter().any(|entry| entry.id == *id)
    }
}

/// The plans ahead and the open ones among what stands, in order of time. What was written in one
/// go for one moment is one plan; the way to a stop, which is driven before, belongs to the stop, and
/// so does the way on from it, which is driven after.
pub fn plans(standing: &[Standing]) -> Vec<Plan> {
    let mut plans: Vec<Plan> = Vec::new();
    for entry in standing {
        let is_open = match entry.counts {
            Counts::Open => true,
            Counts::Ahead => false,
            Counts::Fact | Counts::Superseded | Counts::Again => continue,
        };
        let belongs = |plan: &&mut Plan| {
            let first = &plan.entries[0];
            let since = entry.at - plan.at;
            (plan.is_open == is_open && since.is_zero()
                || plan.is_on_the_way() && since <= Duration::hours(AROUND_H)
                || plan.is_left_by(entry))
                && first.recorded == entry.recorded
                && first.id.device == entry.id.device
                && first.is_of_a_stop() == entry.is_of_a_stop()
                && (first.note == entry.note || !entry.is_of_a_stop())
        };
        let may_be = |plan: &&mut Plan| entry.at - plan.at <= Duration::hours(LONGEST_STOP_H);
        match plans.iter_mut().rev().take_while(may_be).find(belongs) {
            Some(plan) => {
                if plan.is_on_the_way() {
                    (plan.at, plan.is_open) = (entry.at, is_open);
                }
                plan.entries.push(entry.clone());
            }
            None => {
                let place = entry.note.as_deref().and_then(|note| note.strip_prefix(PLANNED_STOP));
                let place = place.map(String::from);
                let is_from_elsewhere =
                    place.is_some() && has_moved(standing, entry, place.as_deref());
                let entries = vec![entry.clone()];
                plans.push(Plan { at: entry.at, place, is_open, is_from_elsewhere, entries });
            }
        }
    }
    plans
}

/// Whether the van has moved since an entry of a stop was written, though not to its place, and nobody
/// had planned to.
fn has_moved(standing: &[Standing], stop: &Standing, place: Option<&str>) -> bool {
    let is_there = |spot: &Spot| matches!(spot, Spot::Named(name) if place.is_some_and(|p| p.eq_ignore_ascii_case(name)));
    let was_known = |move_: &Standing| {
        let before = standing.iter().filter(|other| other.recorded <= stop.recorded);
        before
            .filter(|other| other.counts == Counts::Superseded)
            .any(|other| is_same_thing(&other.event, &move_.event))
    };
    let since = standing.iter().filter(|entry| entry.is_fact() && entry.recorded > stop.recorded);
    since.filter(|entry| entry.at > stop.recorded).any(|entry| match &entry.event {
        Event::Camp(spot) => !is_there(spot) && !was_known(entry),
        _ => false,
    })
}

/// Places of one drive are hours apart at most.
pub const ONE_DRIVE_H: i64 = 6;

/// The stops of saved schedules that lie ahead, those at places of one drive together.
pub fn saved_drives(plans: &[Plan]) -> Vec<Vec<&Plan>> {
    let saved = plans.iter().filter(|plan| plan.place.is_some() && !plan.is_open);
    let saved: Vec<&Plan> = saved.collect();
    let leads_on = |one: &&Plan, next: &&Plan| {
        let last = &one.entries[one.entries.len() - 1];
        let same = last.recorded == next.entries[0].recorded && last.id.device == next.id().device;
        let goes_home = matches!(last.event, Event::Drive(_)) && last.at >= one.at;
        same && !goes_home && next.at - one.at <= Duration::hours(ONE_DRIVE_H)
    };
    saved.chunk_by(leads_on).map(<[&Plan]>::to_vec).collect()
}

/// The plans whose time has passed without a word, or that the journal contradicts.
pub fn open(standing: &[Standing]) -> Vec<Plan> {
    plans(standing).into_iter().filter(|plan| plan.is_open).collect()
}

/// What stands if every open plan was done as planned.
pub fn as_if_done(standing: &[Standing]) -> Vec<Standing> {
    let mut all = standing.to_vec();
    for entry in all.iter_mut().filter(|entry| entry.counts == Counts::Open) {
        entry.counts = Counts::Fact;
    }
    all
}

/// What became of a plan.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanOutcome {
    /// Done as planned.
    Done,
    /// This happened in its place.
    Otherwise(Vec<Happened>),
    /// Not done.
    NotDone,
}

/// The records that say at `now` what became of a plan. What happened in its place takes the
/// place of its entry of the same stock, activity or kind; entries that have none are taken back.
pub fn answer(plan: &Plan, outcome: PlanOutcome, now: Moment) -> Vec<Draft> {
    let retract = |entry: &Standing| Draft {
        at: now,
        note: Some(NOT_DONE.to_string()),
        body: Body::Retract { of: entry.id.clone() },
    };
    let correct = |entry: &Standing, Happened { at, event, note }: Happened| Draft {
        at,
        note,
        body: Body::Correct { of: entry.id.clone(), event },
    };
    match outcome {
        PlanOutcome::NotDone => plan.entries.iter().map(retract).collect(),
        PlanOutcome::Done => {
            let same = |e: &Standing| Happened { at: e.at, note: None, event: e.event.clone() };
            plan.entries.iter().map(|entry| correct(entry, same(entry))).collect()
        }
        PlanOutcome::Otherwise(mut things) => {
            if let ([entry], 1) = (&plan.entries[..], things.len()) {
                return things.into_iter().map(|thing| correct(entry, thing)).collect();
            }
            let (mut gone, mut changed) = (Vec::new(), Vec::new());
            for entry in &plan.entries {
                match things.iter().position(|t| is_same_thing(&entry.event, &t.event)) {
                    Some(place) => changed.push(correct(entry, things.remove(place))),
                    None => gone.push(retract(entry)),
                }
            }
            gone.into_iter().chain(changed).chain(things.into_iter().map(Draft::from)).collect()
        }
    }
}

/// What of `plan` these records of an answer say was not done.
pub fn left_out<'p>(plan: &'p Plan, records: &[Draft]) -> Vec<&'p Event> {
    let takes_back = |record: &Draft, entry: &Standing| matches!(&record.body, Body::Retract { of } if *of == entry.id);
    let gone = plan.entries.iter().filter(|entry| records.iter().any(|r| takes_back(r, entry)));
    gone.map(|entry| &entry.event).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::entry::Entry;
    use crate::domain::journal::standing;
    use crate::domain::lines::{line_to_redo, line_to_undo};
    use crate::domain::quantity::{Amount, Quantity};
    use crate::domain::tests::{at, empty, fill};

    /// A journal of one device that writes records at an hour.
    #[derive(Default)]
    struct Journal(Vec<Entry>);

    impl Journal {
        fn write(&mut self, hour: i64, records: Vec<Draft>) {
            for Draft { at: of, note, body } in records {
                let sequence = self.0.len() as u64 + 1;
                let id = EntryId { device: "a".into(), sequence, salt: hour as u32 };
                self.0.push(Entry { id, at: of, recorded: at(hour), note, body });
            }
        }

        fn plan(&mut self, hour: i64, of: i64, note: Option<&str>, events: Vec<Event>) {
            let records = events.into_iter().map(|event| Draft {
                at: at(of),
                note: note.map(String::from),
                body: Body::Happened(event),
            });
            self.write(hour, records.collect());
        }

        fn open(&self, hour: i64) -> Vec<Plan> {
            open(&standing(&self.0, at(hour)))
        }

        fn facts(&self, hour: i64) -> Vec<Event> {
            let all = standing(&self.0, at(hour));
            all.into_iter().filter(Standing::is_fact).map(|s| s.event).collect()
        }

        fn undo(&mut self, hour: i64) {
            let all: Vec<EntryId> =
                line_to_undo(&self.0, "a").iter().map(|entry| entry.id.clone()).collect();
            self.change(hour, all.into_iter().map(|of| Body::Retract { of }));
        }

        fn redo(&mut self, hour: i64) {
            let all: Vec<EntryId> = line_to_redo(&self.0, "a").into_iter().cloned().collect();
            self.change(hour, all.into_iter().map(|of| Body::Restore { of }));
        }

        fn change(&mut self, hour: i64, bodies: impl Iterator<Item = Body>) {
            let records = bodies.map(|body| Draft { at: at(hour), note: None, body });
            self.write(hour, records.collect());
        }
    }

    /// A schedule of two stops, written in the evening of the first day.
    fn schedule() -> Journal {
        let mut journal = Journal::default();
        journal.plan(20, 35, Some("planned stop: Quay"), vec![fill("fresh"), empty("grey")]);
        journal.plan(20, 80, Some("planned stop: Yard"), vec![fill("fresh")]);
        journal
    }

    #[test]
    fn one_stop_is_one_plan_and_is_open_after_its_time() {
        let journal = schedule();
        let all = plans(&standing(&journal.0, at(30)));
        assert_eq!(all.iter().map(|p| p.entries.len()).collect::<Vec<_>>(), [2, 1]);
        assert_eq!(all[0].place.as_deref(), Some("Quay"));
        assert!(journal.open(30).is_empty());
        assert_eq!(
            journal.open(40),
            vec![Plan { is_open: true, ..all[0].clone() }]
                .into_iter()
                .map(|mut plan| {
                    plan.entries.iter_mut().for_each(|e| e.counts = Counts::Open);
                    plan
                })
                .collect::<Vec<_>>()
        );
        assert!(journal.facts(100).is_empty());
    }

    #[test]
    fn done_as_planned_is_a_fact_until_it_is_undone() {
        let mut journal = schedule();
        let plan = journal.open(40).remove(0);
        journal.write(40, answer(&plan, PlanOutcome::Done, at(40)));
        assert_eq!(journal.facts(41), [fill("fresh"), empty("grey")]);
        assert!(journal.open(41).is_empty());
        journal.undo(42);
        assert!(journal.facts(43).is_empty());
        assert_eq!(journal.open(43), [plan]);
        // What was known before anybody answered.
        assert!(journal.facts(39).is_empty());
    }

    #[test]
    fn done_otherwise_says_what_happened_in_its_place() {
        let mut journal = schedule();
        let plan = journal.open(40).remove(0);
        let things = [empty("grey"), fill("diesel")];
        let things = things.map(|event| Happened { at: at(37), note: None, event }).to_vec();
        journal.write(40, answer(&plan, PlanOutcome::Otherwise(things), at(40)));
        assert_eq!(journal.facts(41), [empty("grey"), fill("diesel")]);
        assert!(journal.open(41).is_empty());
    }

    /// Each undo takes one answer back and leaves the schedule and the other answer as they are;
    /// each redo says one again. Counted by hand.
    #[test]
    fn not_done_is_undone_alone() {
        let mut journal = schedule();
        let plan = journal.open(40).remove(0);
        journal.write(40, answer(&plan, PlanOutcome::NotDone, at(40)));
        assert!(journal.open(41).is_empty() && journal.facts(41).is_empty());
        let second = journal.open(90).remove(0);
        journal.write(90, answer(&second, PlanOutcome::NotDone, at(90)));
        assert!(line_to_redo(&journal.0, "a").is_empty());
        journal.undo(91);
        assert_eq!(journal.open(91), std::slice::from_ref(&second));
        journal.undo(92);
        assert_eq!(journal.open(92), [plan.clone(), second.clone()]);
        journal.redo(93);
        assert_eq!(journal.open(93), [second]);
        journal.redo(94);
        assert!(journal.open(94).is_empty());
        journal.undo(95);
        journal.undo(96);
        // What is before the answers is the schedule, all of it.
        assert_eq!(line_to_undo(&journal.0, "a").len(), 3);
    }

    /// The part that the words leave out comes back with the rest.
    #[test]
    fn an_answer_with_a_part_left_out_is_undone_in_one() {
        let mut journal = schedule();
        let plan = journal.open(40).remove(0);
        let instead = Happened { at: plan.at, note: None, event: empty("grey") };
        let records = answer(&plan, PlanOutcome::Otherwise(vec![instead]), at(40));
        assert_eq!(left_out(&plan, &records), [&fill("fresh")]);
        journal.write(40, records);
        assert_eq!(journal.facts(41), [empty("grey")]);
        journal.undo(42);
        assert_eq!(journal.open(42), [plan]);
        journal.redo(43);
        assert_eq!(journal.facts(43), [empty("grey")]);
        assert!(journal.open(43).is_empty());
    }

    #[test]
    fn a_line_written_ahead_is_one_plan_and_an_answer_may_move_it() {
        let mut journal = Journal::default();
        journal.plan(8, 30, None, vec![fill("fresh"), empty("grey")]);
        let plan = journal.open(31).remove(0);
        assert_eq!(plan.entries.len(), 2);
        let later = [fill("fresh"), empty("grey")];
        let later = later.map(|event| Happened { at: at(60), note: None, event }).to_vec();
        journal.write(31, answer(&plan, PlanOutcome::Otherwise(later), at(31)));
        assert!(journal.open(59).is_empty() && journal.facts(59).is_empty());
        assert_eq!(journal.open(61).len(), 1);
    }

    /// Its drives are from where the van stood; by hand: a move to the place itself, and one that was
    /// planned before the stops were, change nothing.
    #[test]
    fn a_move_that_the_schedule_did_not_know_is_told_of_its_stops() {
        let camp = |place: &str| Event::Camp(Spot::Named(place.into()));
        let elsewhere = |before: Option<&str>, moves: &str| {
            let mut journal = Journal::default();
            if let Some(place) = before {
                journal.plan(10, 24, None, vec![camp(place)]);
            }
            journal.plan(20, 35, Some("planned stop: Quay"), vec![fill("fresh")]);
            journal.plan(20, 80, Some("planned stop: Yard"), vec![fill("fresh")]);
            journal.plan(25, 25, None, vec![camp(moves)]);
            let all = plans(&standing(&journal.0, at(26)));
            let stops = all.iter().filter(|plan| plan.place.is_some());
            stops.map(|plan| plan.is_from_elsewhere).collect::<Vec<_>>()
        };
        assert_eq!(elsewhere(None, "Moor"), [true, true]);
        assert_eq!(elsewhere(None, "Quay"), [false, true]);
        assert_eq!(elsewhere(Some("Moor"), "Moor"), [false, false]);
        assert_eq!(elsewhere(Some("Moor"), "Fell"), [true, true]);
    }

    /// Two places of one village, then home, and another place two days later: two drives.
    #[test]
    fn places_of_one_drive_are_told_together() {
        let hours = Quantity::new(Amount::from_milli(1000).unwrap(), Unit::Hour);
        let mut journal = Journal::default();
        let plans_of = [
            (35, "Quay", vec![fill("fresh")]),
            (36, "Shop", vec![fill("food"), Event::Drive(hours)]),
            (38, "Yard", vec![fill("gas")]),
        ];
        let records = plans_of.into_iter().flat_map(|(of, place, events)| {
            events.into_iter().map(move |event| Draft {
                at: at(of),
                note: Some(format!("planned stop: {place}")),
                body: Body::Happened(event),
            })
        });
        journal.write(20, records.collect());
        let all = plans(&standing(&journal.0, at(22)));
        let places = |drive: Vec<&Plan>| -> Vec<String> {
            drive.iter().filter_map(|plan| plan.place.clone()).collect()
        };
        let drives: Vec<Vec<String>> = saved_drives(&all).into_iter().map(places).collect();
        assert_eq!(drives, [vec!["Quay", "Shop"], vec!["Yard"]]);
    }

    /// Two lines for the same moment are two plans: each may be answered alone.
    #[test]
    fn lines_written_at_different_times_are_plans_of_their_own() {
        let mut journal = Journal::default();
        journal.plan(8, 30, None, vec![fill("fresh")]);
        journal.plan(9, 30, None, vec![empty("grey"), fill("gas")]);
        let all = plans(&standing(&journal.0, at(10)));
        assert_eq!(all.iter().map(|plan| plan.entries.len()).collect::<Vec<_>>(), [1, 2]);
    }

    /// The rule for dates: a line written ahead counts at its time, a stop of a schedule does not
    /// count until somebody says that it was made.
    #[test]
    fn a_stop_ahead_counts_for_no_date() {
        let mut journal = schedule();
        journal.plan(20, 50, None, vec![fill("gas")]);
        let counting = |hour: i64| {
            let all = standing(&journal.0, at(hour));
            let counting = all.into_iter().filter(Standing::counts_for_dates);
            counting.map(|standing| standing.event).collect::<Vec<_>>()
        };
        assert_eq!(counting(30), [fill("gas")]);
        assert_eq!(counting(100), []);
    }
}
