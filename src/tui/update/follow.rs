//! Following a stop: each tick is an entry, as is each thing that is left out, moved to another time
//! or done at another place.

use super::super::follow::{Became, Follow};
use super::line;
use super::saving::save;
use crate::domain::{
    Body, Draft, EntryId, Event, Moment, Plan, PlanOutcome, Standing, hours_between, plans,
};
use crate::logline;
use crate::plan::stops::saved::{REMARK, can_be_done};
use crate::text::plans::thing;
use crate::text::{Form, commas, counted, date_time, led};
use crate::tui::{Action, Context, Purpose, SavePurpose, Spends, State, follow};

/// Opens the stop that is planned next.
pub(super) fn open(state: &mut State) {
    let next = state.book.as_ref().and_then(|book| follow::next(book));
    let items = next.map(|plan| plan.entries.iter().map(|entry| entry.id.clone()).collect());
    match items {
        Some(items) => {
            state.follow = Follow { items, row: 0, before: state.evening.answer.clone() };
            state.open(Context::Follow);
        }
        None => state.say("no stop is planned; p looks for stops, w there saves them"),
    }
}

/// The chosen thing is done, as of now; or, where that is said twice, it is not.
pub(super) fn tick(state: &mut State) {
    let Some(book) = state.book.clone() else { return };
    let (follow, now, show) = (state.follow.clone(), state.now, state.units());
    let rows = follow.chosen_rows(&book);
    let entries = rows.iter().filter_map(|(_, became)| Some(became.as_ref()?.entry()));
    let what = commas(entries.map(|entry| thing(&entry.event, show)));
    let done = match rows.first() {
        Some((_, Some(Became::Left(entry)))) => {
            format!("done{}: {what}", done_at(state, entry).1)
        }
        Some((_, Some(Became::Done(entry)))) if entry.corrected_by.is_some() => {
            // One Enter too many, behind a line that was saved, takes nothing back.
            let ask = || format!("not done after all: {what}? once more says so");
            if !state.is_sure_once(Action::Tick, ask) {
                return;
            }
            format!("not done yet: {what}")
        }
        Some((_, Some(Became::Skipped(_)))) => format!("planned again: {what}"),
        _ => return state.say("something else was written for it; e shows it in the journal"),
    };
    let draft = |(id, became): &(&EntryId, Option<Became>)| {
        let of = (*id).clone();
        let (at, body) = match became.as_ref()? {
            Became::Left(entry) => {
                (done_at(state, entry).0, Body::Correct { of, event: entry.event.clone() })
            }
            Became::Done(entry) => {
                (now, Body::Retract { of: entry.corrected_by.clone().unwrap_or(of) })
            }
            Became::Skipped(_) => (now, Body::Restore { of }),
        };
        Some(Draft { at, note: None, body })
    };
    let drafts = rows.iter().filter_map(draft).collect();
    save(state, drafts, SavePurpose::key(&done));
}

/// A stop that is ticked so long after its plan's time was made as planned and is told of late, in
/// hours (1 to 4): a visit takes less. Common practice, no source.
const LATE_H: f64 = 2.0;

/// When what is ticked happened, and how that is said: just now while the stop is being made, as
/// planned where it is told of late. A hook-up that is ticked begins as planned: it is not over yet.
fn done_at(state: &State, entry: &Standing) -> (Moment, String) {
    let (planned, charges) = (entry.at, matches!(entry.event, Event::Charge { .. }));
    let late = hours_between(planned, state.now);
    match late > LATE_H || charges && late >= 0.0 {
        true => {
            let at = date_time(state.zone().here(planned), Form::Short);
            (planned, format!(" as planned, {at}"))
        }
        false => (state.now, String::new()),
    }
}

/// The chosen thing is not done, or, with [`Action::SkipStop`], nothing that is left.
pub(super) fn skip(state: &mut State, what: Action) {
    let plan = state.book.as_ref().and_then(|book| match what {
        Action::SkipStop => state.follow.left(book),
        _ => state.follow.chosen(book),
    });
    let Some(plan) = plan else { return nothing_left(state) };
    let drives = |entry: &Standing| matches!(entry.event, Event::Drive(_));
    let said = match &plan.entries[..] {
        [one] => thing(&one.event, state.units()),
        all if what != Action::SkipStop && all.iter().all(drives) => {
            commas(all.iter().map(|entry| thing(&entry.event, state.units())))
        }
        all => counted(all.len(), "thing"),
    };
    let key = if what == Action::SkipStop { 'x' } else { 'n' };
    if !state.is_sure_once(what, || format!("leave out: {said}? {key} again does it")) {
        return;
    }
    let drafts = plans::answer(&plan, PlanOutcome::NotDone, state.now);
    save(state, drafts, SavePurpose::key(&format!("left out: {said}")));
}

fn left(state: &State) -> Option<Plan> {
    state.book.as_ref().and_then(|book| state.follow.left(book))
}

fn nothing_left(state: &mut State) {
    state.say("nothing of it is left to be done")
}

/// Opens the line for what was done instead of the chosen thing.
pub(super) fn other_amount(state: &mut State) {
    let book = state.book.clone();
    let words = book.and_then(|book| {
        let plan = state.follow.chosen(&book)?;
        let row = book.rows.iter().find(|row| row.entry.id == *plan.id())?;
        Some((row.entry.id.clone(), row.words.clone()))
    });
    match words {
        Some((id, words)) => line::open_with(state, Purpose::Answer(id), &words),
        None => nothing_left(state),
    }
}

/// Opens the line for another time, or another place.
pub(super) fn ask(state: &mut State, purpose: Purpose) {
    match left(state) {
        Some(_) => line::open_with(state, purpose, ""),
        None => nothing_left(state),
    }
}

/// What can be typed as another time.
pub(in crate::tui) const TIMES: &str = "a day and an hour ahead: tomorrow 11:00, friday, 16:30";

/// The line was submitted with another time for what is left.
pub(super) fn moved(state: &mut State, text: &str) {
    let Some(plan) = left(state) else { return nothing_left(state) };
    let zone = state.zone();
    let known = state.vocabulary();
    let span = known.and_then(|known| logline::ahead(text.trim(), &known, state.now));
    // A day without an hour keeps the hour.
    let at = span.map(|(from, to)| match from == to {
        true => from,
        false => zone.moment(zone.date(from).and_time(zone.here(plan.at).time())),
    });
    let Some(at) = at.filter(|at| *at > state.now) else {
        return state.warn(format!("expected {TIMES}"));
    };
    let done = format!("moved to {}", date_time(zone.here(at), Form::Short));
    // The way there is as long before it as it was.
    let moved = |entry: &Standing| changed(entry, at + (entry.at - plan.at), None);
    let drafts = plan.entries.iter().map(moved).collect();
    save(state, drafts, SavePurpose { spends: Spends::Line, ..SavePurpose::key(&done) });
}

/// An entry of a plan anew, at another time or place.
fn changed(entry: &Standing, at: Moment, place: Option<&str>) -> Draft {
    let note = place.map(|place| format!("{REMARK}{place}"));
    let body = Body::Correct { of: entry.id.clone(), event: entry.event.clone() };
    Draft { at, note, body }
}

/// The line was submitted with another place for what is left; what cannot be done there is left out.
pub(super) fn elsewhere(state: &mut State, text: &str) {
    let Some(book) = state.book.clone() else { return };
    let Some(plan) = left(state) else { return nothing_left(state) };
    let rig = &book.loaded.rig;
    let place = rig.place_named(text.trim());
    let Some(place) = place.filter(|place| place.offers_anything()) else {
        return state.warn("expected a known place that offers something; Tab completes it");
    };
    let (can, cannot): (Vec<_>, Vec<_>) =
        plan.entries.iter().cloned().partition(|entry| can_be_done(rig, place, &entry.event));
    let gone = commas(cannot.iter().map(|entry| thing(&entry.event, rig.show)));
    let there = |entry: &Standing| changed(entry, entry.at, Some(&place.name));
    let mut drafts: Vec<Draft> = can.iter().map(there).collect();
    if !cannot.is_empty() {
        let plan = Plan { entries: cannot, ..plan };
        drafts.extend(plans::answer(&plan, PlanOutcome::NotDone, state.now));
    }
    let done = format!("at {} instead{}", place.name, led("; not to be had there: ", &gone));
    save(state, drafts, SavePurpose { spends: Spends::Line, ..SavePurpose::key(&done) });
}
