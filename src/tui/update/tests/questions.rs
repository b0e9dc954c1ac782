//! Questions that take a while: stopped, asked again, told how far they are.

use super::*;
use crate::tui::asked::Question;

/// A search that is not answered yet.
fn searching(key: char) -> State {
    let mut state = fixture::state(Look::default());
    update(&mut state, Message::Key(Key::Char(key)));
    state
}

#[test]
fn esc_stops_a_long_question_first_and_leaves_then() {
    for (key, question) in [('p', Question::Stops), ('b', Question::Hindsight)] {
        let mut state = searching(key);
        let stopped = update(&mut state, Message::Key(Key::Esc));
        assert_eq!(stopped, vec![Effect::Cancel(question)]);
        assert_eq!(state.screens.len(), 1);
        assert!(!state.trip.asked.working && !state.lookback.asked.working);
        // What comes all the same is too late.
        let trip = pressed("p").0.trip.asked.answer.unwrap();
        update(&mut state, Message::Scheduled { generation: 1, answer: trip });
        assert!(state.trip.asked.answer.is_none());
        assert_eq!(update(&mut state, Message::Key(Key::Esc)), vec![]);
        assert!(state.screens.is_empty());
    }
    let mut state = searching('s');
    let left = update(&mut state, Message::Key(Key::Esc));
    assert_eq!(left, vec![Effect::Cancel(Question::Stretch)]);
    assert!(state.screens.is_empty());
}

#[test]
fn a_new_entry_asks_the_stops_again_but_only_marks_the_look_back() {
    let (mut state, _) = pressed("pb");
    let book = state.book.clone().unwrap();
    assert!(state.trip.asked.current && state.lookback.asked.current);
    let effects = update(&mut state, Message::Loaded(Ok(book.clone())));
    assert!(matches!(&effects[..], [Effect::Forecast { .. }, Effect::Stops { .. }]));
    assert!(!state.lookback.asked.current && state.lookback.asked.answer.is_some());
    // A person wants it anew.
    assert_eq!(update(&mut state, Message::Key(Key::Char('r'))), vec![Effect::Load]);
    let effects = update(&mut state, Message::Loaded(Ok(book)));
    assert!(effects.iter().any(|effect| matches!(effect, Effect::LookBack { .. })));
}

#[test]
fn an_answer_that_grew_old_is_asked_for_again_where_it_is_open() {
    let (mut state, _) = pressed("sp");
    let later = state.now + chrono::Duration::hours(1);
    let effects = update(&mut state, Message::Tick(later));
    assert!(matches!(
        &effects[..],
        [Effect::Forecast { .. }, Effect::Stretch { .. }, Effect::Stops { .. }]
    ));
}

#[test]
fn without_a_place_nothing_is_searched_for() {
    let mut state = fixture::state(Look::default());
    let mut loaded = fixture::loaded();
    loaded.rig.places.clear();
    state.book = Some(Arc::new(Book::new(loaded, fixture::now(), &Memory::new())));
    assert_eq!(update(&mut state, Message::Key(Key::Char('p'))), vec![]);
    assert!(!state.trip.asked.working);
}

#[test]
fn progress_is_that_of_the_newest_question() {
    let mut state = searching('b');
    let told = |generation, done| Message::Progressed {
        question: Question::Hindsight,
        generation,
        progress: (done, 40),
    };
    update(&mut state, told(1, 7));
    update(&mut state, told(9, 30));
    assert_eq!(state.lookback.asked.progress, Some((7, 40)));
}
