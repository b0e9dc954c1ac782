//! Questions that take a while: stopped, asked again, told how far they are.

use super::*;
use crate::plan::stops::Phase;
use crate::plan::{Progress, Trip};
use crate::tui::asking::News;
use crate::tui::fixture::questions;
use crate::tui::stops::SoFar;
use crate::tui::values::Field;

fn stops_found(generation: u64, trip: Arc<Trip>) -> Message {
    Message::Answered { generation, news: News::Stops(trip) }
}

fn so_far_told(generation: u64, so_far: SoFar) -> Message {
    Message::Answered { generation, news: News::SoFar(so_far) }
}

/// A search that is not answered yet.
fn searching(key: char) -> State {
    let mut state = fixture::state(Theme::default());
    update(&mut state, Message::Key(Key::Char(key)));
    state
}

#[test]
fn esc_stops_a_long_question_first_and_leaves_then() {
    for (key, question) in [('p', Context::Stops), ('b', Context::LookBack)] {
        let mut state = searching(key);
        let stopped = update(&mut state, Message::Key(Key::Esc));
        assert_eq!(stopped, vec![Effect::Cancel(question)]);
        assert_eq!(state.screens.len(), 1);
        assert!(!state.trip.asked.working && !state.lookback.asked.working);
        // What comes all the same is too late.
        let trip = pressed("p").0.trip.asked.answer.unwrap();
        update(&mut state, stops_found(1, trip));
        assert!(state.trip.asked.answer.is_none());
        assert_eq!(update(&mut state, Message::Key(Key::Esc)), vec![]);
        assert!(state.screens.is_empty());
    }
    let mut state = searching('s');
    let left = update(&mut state, Message::Key(Key::Esc));
    assert_eq!(left, vec![Effect::Cancel(Context::Stretch)]);
    assert!(state.screens.is_empty());
}

#[test]
fn a_new_entry_asks_the_stops_again_but_only_marks_the_look_back() {
    let (mut state, _) = pressed("pb");
    let book = state.book.clone().unwrap();
    assert!(state.trip.asked.current && state.lookback.asked.current);
    let effects = update(&mut state, Message::Loaded(Ok(book.clone())));
    assert_eq!(questions(&effects), [Context::Horizon, Context::Stops]);
    assert!(!state.lookback.asked.current && state.lookback.asked.answer.is_some());
    // A person wants it anew.
    assert_eq!(update(&mut state, Message::Key(Key::Char('r'))), vec![Effect::Load]);
    let effects = update(&mut state, Message::Loaded(Ok(book)));
    assert!(questions(&effects).contains(&Context::LookBack));
}

#[test]
fn an_answer_that_grew_old_is_asked_for_again_where_it_is_open() {
    let (mut state, _) = pressed("sp");
    let later = state.now + chrono::Duration::hours(1);
    let effects = update(&mut state, Message::Tick(later));
    assert_eq!(questions(&effects), [Context::Horizon, Context::Stretch, Context::Stops]);
}

#[test]
fn without_a_place_nothing_is_searched_for() {
    let mut state = fixture::state(Theme::default());
    let mut loaded = fixture::loaded();
    loaded.rig.places.clear();
    state.book = Some(Arc::new(JournalView::new(loaded, fixture::now())));
    assert_eq!(update(&mut state, Message::Key(Key::Char('p'))), vec![]);
    assert!(!state.trip.asked.working);
}

#[test]
fn progress_is_that_of_the_newest_question() {
    let mut state = searching('b');
    let told =
        |generation, done| Message::Answered { generation, news: News::Evenings((done, 40)) };
    update(&mut state, told(1, 7));
    update(&mut state, told(9, 30));
    assert_eq!(state.lookback.asked.progress, Some((7, 40)));
}

#[test]
fn how_far_a_search_is_shows_until_it_is_over() {
    let mut state = searching('p');
    let progress = Progress { step: Phase::Choosing, found: Some(9), least: Some(7), beside: None };
    let so_far = |seconds| SoFar { seconds, progress };
    update(&mut state, so_far_told(1, so_far(3)));
    update(&mut state, so_far_told(8, so_far(99)));
    assert_eq!(state.trip.so_far, Some(so_far(3)));
    // Given up, what was found is taken, and only that.
    update(&mut state, Message::Key(Key::Esc));
    let found = pressed("p").0.trip.asked.answer.unwrap();
    update(&mut state, stops_found(9, found.clone()));
    assert!(state.trip.asked.answer.is_none());
    let stopped = Arc::new(Trip { stopped: true, ..(*found).clone() });
    update(&mut state, stops_found(1, stopped));
    assert!(state.trip.asked.answer.is_some() && state.trip.asked.current);
    assert!(state.status.as_ref().unwrap().text.contains("the best found until then"));
    // Over at the very moment at which it was given up, it is whole.
    let mut state = searching('p');
    update(&mut state, so_far_told(1, so_far(3)));
    update(&mut state, Message::Key(Key::Esc));
    update(&mut state, stops_found(1, found));
    assert!(state.trip.asked.current && !state.trip.asked.answer.as_ref().unwrap().stopped);
    // Another question drops it.
    update(&mut state, Message::Key(Key::Char('9')));
    assert_eq!(state.trip.so_far, None);
}

#[test]
fn a_schedule_for_a_later_day_is_saved_with_what_it_counts_on() {
    // Today is a Thursday.
    let (state, _) = pressed("pjttomorrow<Enter>w");
    assert_eq!(state.trip.values.value(Field::From), 1.0);
    let proposal = state.proposal.unwrap();
    assert!(proposal.lines[0].contains("Fri 4 Sep 10:00  setting out"), "{:?}", proposal.lines);
    let stocks = state.book.unwrap().loaded.rig.parts.stocks.clone();
    let serviced = stocks.iter().filter(|stock| !stock.reset_by_camp).count();
    let on_leaving = proposal
        .drafts
        .iter()
        .filter(|draft| draft.note.as_deref() == Some("planned stop: setting out"));
    assert_eq!(on_leaving.count(), serviced);
    let plain = pressed("pw").0.proposal.unwrap().drafts.len();
    assert_eq!(proposal.drafts.len(), serviced + plain);
    // A weekday does as well; a day out of reach is refused in words.
    assert_eq!(pressed("pjtmonday<Enter>").0.trip.values.value(Field::From), 4.0);
    let (state, _) = pressed("pjt2027-06-01<Enter>");
    let said = state.status.unwrap().text;
    assert!(said.starts_with("expected a weekday, tomorrow, 2026-06-20, or days"), "{said}");
    assert_eq!(pressed("sjtmonday<Enter>").0.planner.values.value(Field::From), 4.0);
}

#[test]
fn a_number_out_of_range_is_said_with_what_is_set_instead() {
    for (keys, said) in
        [("p99", "99: at most 45"), ("s999", "999: at most 30"), ("s0", "0: at least 1")]
    {
        let (state, _) = pressed(keys);
        assert_eq!(state.status.unwrap().text, said, "{keys}");
    }
    assert_eq!(pressed("p45").0.status, None);
}

/// A page of a text is what is in sight of it, as drawn last.
#[test]
fn a_page_down_goes_on_where_the_text_was_left() {
    let (mut state, folder) = pressed("s");
    state.page = 4;
    press(&mut state, &folder, "]]");
    assert_eq!(state.scroll, 8);
    press(&mut state, &folder, "[");
    assert_eq!(state.scroll, 4);
}

#[test]
fn the_journal_opens_on_what_happened_last() {
    let (state, _) = pressed("pwy<Esc>e");
    let chosen = state.chosen_row().unwrap();
    assert!(!chosen.entry.is_plan() && chosen.entry.at <= state.now, "{chosen:?}");
    assert!(state.listed.len() > state.row + 1, "plans stand below it");
}
