//! A saved stop followed: ticked, left out, moved, made elsewhere; each is an entry, and undone alone.

use super::pressed;
use crate::domain::{Amount, Body, ChargeSource, Entry, Event, Plan, Quantity, Unit};
use crate::forecast::Evening;
use crate::tui::fixture::{Memory, entry, send};
use crate::tui::follow::Became;
use crate::tui::update::update;
use crate::tui::{Effect, Key, Message, State, Theme, fixture};
use chrono::Duration;
use std::sync::Arc;

/// Marks of the first stop's things, in their order, and what the status line says.
fn became(state: &State) -> String {
    let book = state.book.as_ref().unwrap();
    let mark = |became: &Option<Became>| match became {
        Some(Became::Left(_)) => '.',
        Some(Became::Done(_)) => 'x',
        Some(Became::Skipped(_)) => '-',
        None => '?',
    };
    let marks: String = state.follow.became(book).iter().map(|(_, became)| mark(became)).collect();
    let said = state.status.as_ref().map_or("", |status| status.text.as_str());
    format!("{marks} {said}")
}

/// The invented schedule's first stop is at Fonte do Sapal, with a drive there, four services and one back; Venda da
/// Moita sells food and diesel alone. Counted by hand.
#[test]
fn a_stop_is_ticked_thing_by_thing() {
    let rows = [
        ("", "...... "),
        (" ", "x..... done: drive 0.6 h (u takes it back)"),
        ("j ", ".x.... done: empty grey (u takes it back)"),
        ("j  ", ".x.... not done after all: empty grey? once more says so"),
        ("j   ", "...... not done yet: empty grey (u takes it back)"),
        (
            "j uu",
            "...... took back that it was done: emptied grey (planned stop: Fonte do Sapal) (U puts it back)",
        ),
        ("jnn", ".-.... left out: empty grey (u takes it back)"),
        ("jnn ", "...... planned again: empty grey (u takes it back)"),
        ("j xx", "-x---- left out: 5 things (u takes it back)"),
        // The first press asks.
        ("jn", "...... leave out: empty grey? n again does it"),
        ("jnzn", "...... leave out: empty grey? n again does it"),
        ("j x", ".x.... leave out: 5 things? x again does it"),
        ("j xxn", "-x---- nothing of it is left to be done"),
        ("wtomorrow 9:00<Enter>", "...... moved to Fri 4 Sep 09:00 (u takes it back)"),
        ("w8:00<Enter>", "...... moved to Fri 4 Sep 08:00 (u takes it back)"),
        ("wsunday<Enter>", "...... moved to Sun 6 Sep 11:02 (u takes it back)"),
        ("wtomorrow 9:00<Enter>uu", "...... took back your change to the plan (U puts it back)"),
        (
            "wyesterday<Enter>",
            "...... expected a day and an hour ahead: tomorrow 11:00, friday, 16:30",
        ),
        (
            "avenda<Tab><Enter>",
            ".----. at Venda da Moita instead; not to be had there: empty grey, empty liquids, \
             empty solids, fill fresh (u takes it back)",
        ),
        (
            "anowhere<Enter>",
            "...... expected a known place that offers something; Tab completes it",
        ),
        ("jc<ClearLine>2 shower<Enter>", ".x.... saved instead of the plan: 2 showers"),
    ];
    for (keys, expected) in rows {
        let (state, _) = pressed(&format!("pwy<Esc>t{keys}"));
        assert_eq!(became(&state), expected, "after {keys}");
    }
    let (state, _) = pressed("t");
    assert!(became(&state).contains("no stop is planned"));
}

/// The forecast is older than what was left out: it has six things, and one of them is gone.
#[test]
fn what_was_left_out_before_is_not_said_to_be_done() {
    let plan = pressed("pwy<Esc>").0.book.unwrap().plans[0].clone();
    let (mut state, _) = pressed("pwy<Esc>tjnn<Esc>");
    let plans = vec![Plan { is_open: true, ..plan }];
    state.evening.answer = Some(Arc::new(Evening { plans, ..fixture::evening() }));
    assert_eq!(state.open_plans()[0].entries.len(), 5);
    let mut yes = || update(&mut state, Message::Key(Key::Char('y')));
    assert!(yes().is_empty(), "the first press asks");
    let effects = yes();
    let [Effect::Append { purpose, drafts }] = &effects[..] else { panic!("{effects:?}") };
    assert_eq!(drafts.len(), 5);
    assert_eq!(purpose.done, "done: stop at Fonte do Sapal (5 things) (u takes it back)");
}

#[test]
fn another_place_is_written_and_the_rest_stays_planned() {
    let (state, folder) = pressed("pwy<Esc>t");
    let planned = state.follow.left(state.book.as_ref().unwrap()).unwrap();
    let (state, _) = pressed("pwy<Esc>tavenda<Tab><Enter>");
    let left = state.follow.left(state.book.as_ref().unwrap()).unwrap();
    assert_eq!((left.place.as_deref(), left.at), (Some("Venda da Moita"), planned.at));
    let written = folder.entries.lock().unwrap().len();
    let (state, folder) = pressed("pwy<Esc>tj ");
    let all = folder.entries.lock().unwrap();
    assert_eq!(all.len(), written + 1);
    let Body::Correct { of, .. } = &all[written].body else { panic!("{:?}", all[written]) };
    assert_eq!((of, all[written].at), (&state.follow.items[1], state.now));
}

/// While a stop is being made a tick is of now; hours later it is of the plan's time, and says so.
#[test]
fn a_tick_that_is_late_has_the_plans_time() {
    for (late_min, is_late) in [(90, false), (150, true)] {
        let (mut state, _) = pressed("pwy<Esc>tj");
        let planned = state.follow.left(state.book.as_ref().unwrap()).unwrap().at;
        let now = planned + chrono::Duration::minutes(late_min);
        update(&mut state, Message::Tick(now));
        let effects = update(&mut state, Message::Key(Key::Char(' ')));
        let [Effect::Append { purpose, drafts }] = &effects[..] else { panic!("{effects:?}") };
        assert_eq!(drafts[0].at, if is_late { planned } else { now });
        let said = purpose.done.starts_with("done as planned, Sat 5 Sep 11:02: ");
        assert_eq!(said, is_late, "{}", purpose.done);
    }
}

/// A hook-up is ticked when one has plugged in: it begins as planned, and does not lie behind whole.
#[test]
fn a_hook_up_that_is_ticked_begins_as_planned() {
    let (mut state, _) = pressed("pwy<Esc>t");
    let mut book = (**state.book.as_ref().unwrap()).clone();
    let hours = Quantity::new(Amount::from_f64(4.5).unwrap(), Unit::Hour);
    let plan = &mut book.plans[0];
    let event = Event::Charge { source: ChargeSource::Shore, amount: hours };
    plan.entries[1].event = event;
    let planned = plan.entries[1].at;
    state.book = Some(Arc::new(book));
    update(&mut state, Message::Key(Key::Char('j')));
    for (minutes, at) in [(30, planned), (-30, planned - Duration::minutes(30))] {
        let mut state = state.clone();
        update(&mut state, Message::Tick(planned + Duration::minutes(minutes)));
        let effects = update(&mut state, Message::Key(Key::Char(' ')));
        let [Effect::Append { drafts, .. }] = &effects[..] else { panic!("{effects:?}") };
        assert_eq!(drafts[0].at, at, "{minutes} min");
    }
}

/// A drive that is planned in hours and in km is one thing to do.
#[test]
fn a_drive_in_hours_and_km_is_one_tick() {
    let (mut state, _) = pressed("pwy<Esc>t");
    let mut book = (**state.book.as_ref().unwrap()).clone();
    let km = Quantity::new(Amount::from_f64(20.0).unwrap(), Unit::Kilometre);
    let entries = &mut book.plans[0].entries;
    (entries[1].event, entries[1].at) = (Event::Drive(km), entries[0].at);
    state.book = Some(Arc::new(book));
    for row in 0..2 {
        state.follow.row = row;
        let effects = update(&mut state.clone(), Message::Key(Key::Char(' ')));
        let [Effect::Append { purpose, drafts }] = &effects[..] else { panic!("{effects:?}") };
        assert_eq!(drafts.len(), 2, "{drafts:?}");
        assert!(purpose.done.starts_with("done: drive 0.6 h, drive 20 km"), "{}", purpose.done);
    }
    // What stands behind them is a thing of its own.
    state.follow.row = 2;
    let effects = update(&mut state, Message::Key(Key::Char(' ')));
    let [Effect::Append { drafts, .. }] = &effects[..] else { panic!("{effects:?}") };
    assert_eq!(drafts.len(), 1);
}

/// A plan made "in two hours" has seconds, which a line would tell as a timestamp.
#[test]
fn a_plan_that_was_done_otherwise_is_said_to_the_minute() {
    let folder = Memory::new();
    let done = entry("phone", 9, -2.002, Body::Happened(fixture::used("dishes", 1)));
    let planned = Entry { recorded: done.at - Duration::hours(5), ..done };
    folder.entries.lock().unwrap().push(planned);
    let mut state = fixture::state(Theme::default());
    send(&mut state, &folder, Message::FolderChanged);
    let lines = &state.book.unwrap().plan_lines;
    assert!(lines.iter().any(|(_, line)| line.ends_with("today 22:20")), "{lines:?}");
}
